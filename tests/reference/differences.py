#!/usr/bin/env python3
"""Writes differences.json: how far the means of random tables of scores lie apart, by SciPy and statsmodels, general
reference libraries.

Run with NumPy, pandas, SciPy and statsmodels installed: python3 tests/reference/differences.py
"""
import itertools
import math
import random
import warnings

import numpy
import pandas
import statsmodels.api as sm
import statsmodels.formula.api as smf
from scipy import stats
from statsmodels.stats.anova import anova_lm

from golden import is_nothing, packed, place, tables, write

rng = random.Random(20261128)
warnings.filterwarnings("ignore")


def f_and_p(f, p):
    """Of equal means, whose F is rounding alone and may even be below 0."""
    return [f, p] if f > 1e-20 else [0, 1]


def squares(found, values):
    return 0 if is_nothing(found, values) else found


def additive(rows):
    """Type II F of teas, tasters taken out, and adjusted means, by statsmodels OLS with plain dummy columns."""
    rows = [row for row in rows if any(cell is not None for cell in row)]
    n, k = len(rows), len(rows[0])
    y, tasters, both = [], [], []
    for i, row in enumerate(rows):
        for j, cell in enumerate(row):
            if cell is not None:
                own = [1.0 if a == i else 0.0 for a in range(n)]
                y.append(cell)
                tasters.append(own)
                both.append(own + [1.0 if b == j else 0.0 for b in range(1, k)])
    y, tasters, both = numpy.array(y), numpy.array(tasters), numpy.array(both)
    if n < 2 or numpy.linalg.matrix_rank(both) < n + k - 1 or len(y) <= n + k - 1:
        return None, None
    if numpy.all(y == y[0]):
        return None, None
    full, less = sm.OLS(y, both).fit(), sm.OLS(y, tasters).fit()
    if is_nothing(full.ssr, y):
        return None, None
    f, p, _ = full.compare_f_test(less)
    levels = numpy.array([[1 / n] * n + [1.0 if b == j else 0.0 for b in range(1, k)] for j in range(k)])
    means = full.t_test(levels)
    apart = full.t_test(numpy.array([a - b for a, b in itertools.combinations(levels, 2)]))
    q = numpy.abs(apart.tvalue.ravel()) * math.sqrt(2)
    chances = [place(stats.studentized_range.sf(one, k, full.df_resid)) for one in q]
    whole = [*f_and_p(f, p), int(full.df_resid), full.ssr, *means.effect.ravel(), *means.sd.ravel()]
    return whole, [figure for pair in zip(apart.sd.ravel(), chances) for figure in pair]


def two_way(table):
    n, k = table.shape
    flat = table.ravel()
    if numpy.all(flat == flat[0]):
        return None, None
    long = pandas.DataFrame({
        "score": flat, "taster": numpy.repeat(numpy.arange(n), k), "tea": numpy.tile(numpy.arange(k), n),
    })
    fit = smf.ols("score ~ C(taster) + C(tea)", long).fit()
    if is_nothing(fit.ssr, flat):
        return None, None
    found = anova_lm(fit, typ=2)
    whole = [fit.ssr]
    for name in ("C(tea)", "C(taster)"):
        line = found.loc[name]
        whole += [squares(line["sum_sq"], flat), *f_and_p(line["F"], line["PR(>F)"])]
    one, means = math.sqrt(fit.ssr / fit.df_resid / n), table.mean(axis=0)
    tukey = [place(stats.studentized_range.sf(abs(a - b) / one, k, fit.df_resid))
             for a, b in itertools.combinations(means, 2)]
    return whole, [stats.studentized_range.ppf(0.95, k, fit.df_resid), *tukey]


def one_way(columns):
    """Teas as groups, each taster's level left in."""
    columns = [[cell for cell in column if cell is not None] for column in columns]
    flat = [cell for column in columns for cell in column]
    if any(not column for column in columns) or len(flat) == len(columns):
        return None
    within = sum(((numpy.array(c) - numpy.mean(c)) ** 2).sum() for c in columns)
    if len(set(flat)) == 1 or is_nothing(within, flat):
        return None
    found = stats.f_oneway(*columns)
    return f_and_p(found.statistic, found.pvalue)


sets = []
for rows in tables(rng, 500):
    full = numpy.array([row for row in rows if None not in row], dtype=float)
    both, tukey = two_way(full) if len(full) > 1 else (None, None)
    model, pairs = additive(rows)
    sets.append({"rows": packed(rows), "one_way": one_way(list(zip(*rows))), "two_way": both, "tukey": tukey,
                 "additive": model, "pairs": pairs})
write(__file__, sets=sets)
