#!/usr/bin/env python3
"""Writes tasters.json: habits and performance of tasters, and teas by tasters with repeated scores, by SciPy and
statsmodels, general reference libraries. What can be counted in fractions is.

The scores of a panel stand in the file as "57,6, 44,3,5": a taster's teas apart by commas, tasters by spaces. Where every
tea is served as often as any other, a row is a taster, with the servings of a tea side by side.
Run with NumPy, pandas, SciPy and statsmodels installed: python3 tests/reference/tasters.py
"""
import random
import warnings
from fractions import Fraction as Fr

import numpy
import pandas
import statsmodels.formula.api as smf
from scipy import stats
from statsmodels.stats.anova import anova_lm

from golden import KINDS, TEAS, is_nothing, packed, tables, write

rng = random.Random(20261202)
warnings.filterwarnings("ignore")
ALPHA = 0.05


def mean(values):
    return sum(values, Fr(0)) / len(values)


def squares(values):
    middle = mean(values)
    return sum(((v - middle) ** 2 for v in values), Fr(0))


def sd(values):
    """Of two scores or more, the spread as NumPy has it."""
    return None if len(values) < 2 else 0.0 if len(set(values)) == 1 else float(numpy.std(values, ddof=1))


def spread(rows, i):
    given = [[v for v in row if v is not None] for row in rows]
    others = [sd(row) for x, row in enumerate(given) if x != i and len(row) > 1]
    own = sd(given[i])
    return None if own is None else [own, sum(others) / len(others) if others else None]


def habits(rows, i):
    """A taster's bias, its t, p and limits; r with the others, its p and limits."""
    shared = []
    for tea, score in enumerate(rows[i]):
        others = [Fr(row[tea]) for x, row in enumerate(rows) if x != i and row[tea] is not None]
        if score is not None and others:
            shared.append((Fr(score), mean(others), mean(others + [Fr(score)])))
    bias = correlation = None
    if shared:
        differences = [own - whole for own, _, whole in shared]
        bias = [float(mean(differences)), None, None, None, None]
        if len(shared) > 1 and float(squares(differences)) > 1e-20:
            test = stats.ttest_1samp([float(d) for d in differences], 0.0)
            limits = test.confidence_interval(1 - ALPHA)
            bias[1:] = [test.statistic, test.pvalue, limits.low, limits.high]
    x, y = [s[0] for s in shared], [s[1] for s in shared]
    if len(shared) > 2 and squares(x) != 0 and squares(y) != 0:
        together = sum(((a - mean(x)) * (b - mean(y)) for a, b in zip(x, y)), Fr(0))
        if together ** 2 == squares(x) * squares(y):
            correlation = [1 if together > 0 else -1, 0, None, None]
        else:
            r = stats.pearsonr([float(v) for v in x], [float(v) for v in y])
            limits = r.confidence_interval(1 - ALPHA) if len(shared) > 3 else [None, None]
            correlation = [r.statistic, r.pvalue, *limits]
    return [bias, spread(rows, i), correlation]


# Means of scores with decimals differ by rounding alone where fractions do not: whole points only.
sets = []
for rows in tables(rng, 500, [kind for kind in KINDS if kind != "fine"]):
    who = rng.randrange(len(rows))
    sets.append({"rows": packed(rows), "taster": who, "habits": habits(rows, who)})


def text(tasters):
    return " ".join(",".join("".join(map(str, tea)) for tea in teas) for teas in tasters)


def performance(tasters):
    """Of each taster: F, p, share of squares between; residual SD; ratio to the others' variance, its p."""
    parts = []
    for teas in tasters:
        groups = [[Fr(v) for v in tea] for tea in teas if tea]
        parts.append((groups, sum((squares(g) for g in groups), Fr(0)), sum(len(g) - 1 for g in groups)))
    found = []
    for i, (groups, within, df) in enumerate(parts):
        apart = repeats = beside = None
        if df > 0:
            repeats = [float(within / df) ** 0.5]
        if df > 0 and within != 0 and len(groups) > 1:
            test = stats.f_oneway(*[[float(v) for v in g] for g in groups])
            whole = squares([v for g in groups for v in g])
            f, p = (0, 1) if whole == within else (test.statistic, test.pvalue)
            apart = [f, p, float((whole - within) / whole)]
        others = [part for x, part in enumerate(parts) if x != i]
        other_within, other_df = sum((o[1] for o in others), Fr(0)), sum(o[2] for o in others)
        if df > 0 and other_within != 0:
            ratio = float((within / df) / (other_within / other_df))
            beside = [ratio, stats.f.sf(ratio, df, other_df)]
        found.append([apart, repeats, beside])
    return found


def repeated(m, n, servings, uneven):
    top, constant = rng.choice([1, 3, 9, 9]), rng.choice([None, None, rng.randrange(n)])
    teas, noise = [rng.uniform(1, top) for _ in range(n)], [rng.choice([0.0, 0.5, 1.0, 2.5]) for _ in range(m)]

    def score(s, tea):
        return 5 if tea == constant else min(9, max(1, round(rng.gauss(teas[tea], noise[s]))))

    return [[[score(s, tea) for _ in range(rng.randint(0, servings) if uneven else servings)] for tea in range(n)]
            for s in range(m)]


panels = []
for number in range(500):
    tasters = repeated(rng.randint(1, 5), rng.choice(TEAS), rng.choice([2, 2, 3, 4]), number % 5 < 2)
    panels.append({"text": text(tasters), "tasters": performance(tasters)})


def interaction(tasters):
    """Squares of error; squares, F and p of teas, tasters and both; F and p of teas against both."""
    lines = [(score, i, j) for i, teas in enumerate(tasters) for j, tea in enumerate(teas) for score in tea]
    long = pandas.DataFrame(lines, columns=["score", "taster", "tea"])
    if long["score"].nunique() == 1:
        return None
    fit = smf.ols("score ~ C(tea) * C(taster)", long).fit()
    if is_nothing(fit.ssr, long["score"]):
        return None
    table, found = anova_lm(fit, typ=2), [fit.ssr]
    for name in ("C(tea)", "C(taster)", "C(tea):C(taster)"):
        line = table.loc[name]
        nothing = is_nothing(line["sum_sq"], long["score"])
        found += [0, 0, 1] if nothing else [line["sum_sq"], line["F"], line["PR(>F)"]]
    if nothing:
        return found + [None, None]
    df, df_below = table.loc["C(tea)", "df"], line["df"]
    f = found[1] / df / (line["sum_sq"] / df_below)
    return found + [f, stats.f.sf(f, df, df_below)]


replicates = []
for number in range(500):
    m, n, servings = rng.randint(2, 5), rng.choice(TEAS), rng.choice([2, 2, 3, 4])
    tasters = repeated(m, n, servings, False)
    if number % 10 == 0:
        # Tasters who see the teas alike.
        lean, steps = [rng.randint(0, 2) for _ in range(m)], [[rng.randint(1, 3) for _ in range(servings)] for _ in range(n)]
        tasters = [[[lean[s] + step for step in steps[tea]] for tea in range(n)] for s in range(m)]
    rows = packed([[score for tea in teas for score in tea] for teas in tasters])
    replicates.append({"rows": rows, "servings": servings, "interaction": interaction(tasters)})
write(__file__, sets=sets, panels=panels, replicates=replicates)
