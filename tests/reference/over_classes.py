#!/usr/bin/env python3
"""Writes over_classes.json: tasters in several classes that stand for many. Without gaps and with as many tasters in each class,
the F of the ways against way × class of the whole table with tasters within classes (a mixed model with classes and tasters drawn
at random); with gaps, least squares of the classes' means, each mean with its gaps made up. All by statsmodels.

Run with NumPy, pandas, SciPy and statsmodels installed: python3 tests/reference/over_classes.py
"""
import random
import warnings

import pandas
import statsmodels.formula.api as smf
from scipy import stats

from golden import is_nothing, packed, write

rng = random.Random(20261126)
warnings.filterwarnings("ignore")


def long(rows, number):
    cells = [(i, j, number[i], cell) for i, row in enumerate(rows) for j, cell in enumerate(row) if cell is not None]
    return pandas.DataFrame(cells, columns=["taster", "way", "klass", "value"])


def balanced(lines):
    """[F, p, df, df below] of way over way × class, from the sums of squares of the whole table; None if nothing is left."""
    # Which taster says which class, so that the class is in no formula by itself.
    left = [smf.ols(f"value ~ C(taster){more}", lines).fit().ssr for more in ["", " + C(way)", " + C(way):C(klass)"]]
    way, moves = left[0] - left[1], left[1] - left[2]
    df, below = lines.way.nunique() - 1, (lines.way.nunique() - 1) * (lines.klass.nunique() - 1)
    if is_nothing(moves, lines.value):
        return None
    f = (way / df) / (moves / below)
    return [f, stats.f.sf(f, df, below), df, below]


def of_means(lines):
    """The same from the classes' means, each way's mean over all tasters of the class as least squares have it."""
    cells = []
    for klass, own in lines.groupby("klass"):
        fit = smf.ols("value ~ C(taster) + C(way)", own).fit()
        tasters = sorted(set(own.taster))
        for way in sorted(set(own.way)):
            mean = fit.predict(pandas.DataFrame({"taster": tasters, "way": way})).mean()
            cells.append((klass, way, float(mean)))
    means = pandas.DataFrame(cells, columns=["klass", "way", "value"])
    fit = smf.ols("value ~ C(klass) + C(way)", means).fit()
    if is_nothing(fit.ssr, means.value):
        return None
    without = smf.ols("value ~ C(klass)", means).fit()
    df, below = means.way.nunique() - 1, int(fit.df_resid)
    f = (without.ssr - fit.ssr) / df / (fit.ssr / below)
    return [f, stats.f.sf(f, df, below), df, below]


sets = []
while len(sets) < 500:
    gaps = len(sets) % 2 == 1
    classes, ways = rng.choice([3, 3, 4, 6]), rng.choice([2, 3, 3, 4])
    size = rng.randint(3, 8)
    moved = [[rng.gauss(0, 0.8) for _ in range(ways)] for _ in range(classes)]
    rows, number = [], []
    for klass in range(classes):
        for _ in range(rng.randint(3, 8) if gaps else size):
            level = rng.gauss(0, 1)
            row = [min(9, max(1, round(5 + level + moved[klass][way] + rng.gauss(0, 1.2)))) for way in range(ways)]
            if gaps and rng.random() < 0.3:
                row[rng.randrange(ways)] = None
            rows.append(row)
            number.append(klass)
    lines = long(rows, number)
    complete = all(own.way.nunique() == ways for _, own in lines.groupby("klass"))
    linked = all((own.groupby("taster").way.nunique() == ways).any() for _, own in lines.groupby("klass"))
    if not (complete and linked):
        continue
    found = of_means(lines) if gaps else balanced(lines)
    sets.append({"rows": packed(rows), "classes": number, "over": found})
write(__file__, sets=sets)
