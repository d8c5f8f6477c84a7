#!/usr/bin/env python3
"""Writes classes.json: tables of tasters in several classes, their additive model taster + tea against what is left over
within the classes, tea × class, and row means with the gaps made up, all by the least squares of statsmodels.

Run with NumPy, pandas, SciPy and statsmodels installed: python3 tests/reference/classes.py
"""
import math
import random
import warnings

import numpy
import pandas
import statsmodels.formula.api as smf
from scipy import stats

from golden import is_nothing, packed, place, table, write

rng = random.Random(20261129)
warnings.filterwarnings("ignore")
KINDS = ["scores"] * 4 + ["fine"] * 2 + ["gaps"] * 5 + ["gaps and constant columns"] * 2 + ["constant columns"] * 2 \
    + ["additive", "apart", "tied", "constant"]


def long(rows, number):
    cells = [(i, j, number[i], cell) for i, row in enumerate(rows) for j, cell in enumerate(row) if cell is not None]
    return pandas.DataFrame(cells, columns=["taster", "tea", "klass", "value"])


def linked(lines):
    """Whether the teas hang together through tasters."""
    teas = {tea: tea for tea in lines.tea}
    for _, own in lines.groupby("taster"):
        first = teas[own.tea.iloc[0]]
        for tea in own.tea:
            gone = teas[tea]
            teas = {t: first if group == gone else group for t, group in teas.items()}
    return len(set(teas.values())) == 1


def model(lines):
    """The additive model: the fit, and what is left over with its degrees of freedom."""
    fit = smf.ols("value ~ C(taster) + C(tea)", lines).fit()
    df = len(lines) - lines.taster.nunique() - lines.tea.nunique() + 1
    return fit, fit.ssr, df


def in_classes(rows, number):
    """[F, p, df below] of the teas, p of the first pair, [F, p] of tea × class; None where it can't be had."""
    lines = long(rows, number)
    k = len(rows[0])
    if lines.taster.nunique() < 2 or k < 2 or lines.tea.nunique() < k or not linked(lines) or lines.value.nunique() == 1:
        return None, None
    fit, whole, whole_df = model(lines)
    if whole_df < 1 or is_nothing(whole, lines.value):
        return None, None
    squares, df = 0.0, 0
    for _, own in lines.groupby("klass"):
        if own.taster.nunique() < 2 or own.tea.nunique() < 2:
            continue
        if not linked(own):
            return None, None
        own_df = len(own) - own.taster.nunique() - own.tea.nunique() + 1
        if own_df > 0 and own.value.nunique() > 1:
            squares, df = squares + model(own)[1], df + own_df
    moves = None
    left, left_df = whole, whole_df
    if lines.klass.nunique() > 1 and 0 < df < whole_df and not is_nothing(squares, lines.value):
        f = max(whole - squares, 0.0) / (whole_df - df) / (squares / df)
        moves = [f, stats.f.sf(f, whole_df - df, df)]
        left, left_df = squares, df
    tasters_alone = smf.ols("value ~ C(taster)", lines).fit().ssr
    f = max(tasters_alone - whole, 0.0) / (k - 1) / (left / left_df)
    contrast = numpy.zeros(len(fit.params))
    contrast[list(fit.params.index).index("C(tea)[T.1]")] = 1.0
    test = fit.t_test(contrast)
    se = test.sd.item() * math.sqrt((left / left_df) / (whole / whole_df))
    q = abs(test.effect.item()) / se * math.sqrt(2.0)
    pair = place(stats.studentized_range.sf(q, k, left_df))
    return [f, stats.f.sf(f, k - 1, left_df), left_df, pair], moves


def row_means(rows):
    """Each row's mean over all columns that anybody scored."""
    lines = long(rows, [0] * len(rows))
    plain = [float(numpy.mean([c for c in row if c is not None])) if any(c is not None for c in row) else None
             for row in rows]
    columns = lines.tea.nunique()
    if lines.taster.nunique() < 2 or columns < 2 or not linked(lines):
        return plain
    fit = smf.ols("value ~ C(taster) + C(tea)", lines).fit()
    means = []
    for i, mean in enumerate(plain):
        scored = (lines.taster == i).sum()
        if 0 < scored < columns:
            mean = float(fit.predict(pandas.DataFrame({"taster": i, "tea": sorted(set(lines.tea))})).mean())
        means.append(mean)
    return means


sets = []
for index in range(500):
    kind = KINDS[index % len(KINDS)]
    rows = table(rng, kind, rng.randint(3, 14), rng.choice([2, 3, 3, 4, 5]))
    classes = rng.choice([1, 2, 2, 3, 4])
    number = sorted(rng.randrange(classes) for _ in rows)
    lift = [[rng.choice([0, 0, 1]) for _ in rows[0]] for _ in range(classes)]
    if kind == "scores" and index % 2:
        rows = [[min(9, cell + lift[number[i]][j]) for j, cell in enumerate(row)] for i, row in enumerate(rows)]
    ways, moves = in_classes(rows, number)
    sets.append({"rows": packed(rows), "classes": number, "ways": ways, "moves": moves, "means": row_means(rows)})
write(__file__, count=11, sets=sets)
