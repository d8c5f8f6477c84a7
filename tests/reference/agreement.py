#!/usr/bin/env python3
"""Writes agreement.json: Kendall's W, Cronbach's alpha and the intraclass correlations of random tables.

W is SciPy's Friedman statistic over its greatest value. The libraries have no intraclass correlation: the mean squares
are counted in fractions and held to statsmodels' analysis of variance, the formulas are those of McGraw and Wong (1996),
tables 4, 5 and 7, and the distributions are SciPy's.
Run with NumPy, pandas, SciPy and statsmodels installed: python3 tests/reference/agreement.py
"""
import math
import random
import warnings
from fractions import Fraction as Fr

import numpy as np
import pandas
import statsmodels.formula.api as smf
from scipy import stats
from statsmodels.stats.anova import anova_lm

from golden import packed, tables, write

rng = random.Random(20261129)
warnings.filterwarnings("ignore")
ALPHA = 0.05
# With fewer degrees of freedom the approximate interval of ICC(2,.) is not given.
LEAST_DF = 1 - 1e-9


def mean(values):
    return sum(values, Fr(0)) / len(values)


def squares(values):
    middle = mean(values)
    return sum(((v - middle) ** 2 for v in values), Fr(0))


def exact(rows):
    return [[Fr(v) for v in row] for row in rows]


def concordance(rows):
    m, n = len(rows), len(rows[0])
    ranks = np.array([stats.rankdata(row) for row in rows])
    ties = sum(t ** 3 - t for row in rows for t in np.unique(row, return_counts=True)[1].tolist())
    most = m * (n ** 3 - n) - ties
    if most == 0:
        return None
    if n > 2 and m > 1:
        chi = float(stats.friedmanchisquare(*np.array(rows).T).statistic)
        w = chi / (m * (n - 1))
    else:
        sums = ranks.sum(axis=0)
        w = 12 * float(((sums - sums.mean()) ** 2).sum()) / (m * most)
        chi = m * (n - 1) * w
    ordered = ranks[[len(set(row)) > 1 for row in rows]]
    spearman = None
    if len(ordered) > 1:
        matrix = np.corrcoef(ordered)
        spearman = float(matrix[np.triu_indices(len(ordered), 1)].mean())
    return [w, chi, float(stats.chi2.sf(chi, n - 1)), spearman]


def mean_squares(rows):
    """Between teas, within teas, between tasters, residual; as fractions."""
    k, n = len(rows), len(rows[0])
    cells = [(i, j) for i in range(k) for j in range(n)]
    tea = [mean([row[j] for row in rows]) for j in range(n)]
    taster = [mean(row) for row in rows]
    grand = mean(tea)
    b = k * sum(((t - grand) ** 2 for t in tea), Fr(0)) / (n - 1)
    w = sum(((rows[i][j] - tea[j]) ** 2 for i, j in cells), Fr(0)) / (n * (k - 1))
    j_ = n * sum(((t - grand) ** 2 for t in taster), Fr(0)) / (k - 1)
    e = sum(((rows[i][j] - tea[j] - taster[i] + grand) ** 2 for i, j in cells), Fr(0)) / ((n - 1) * (k - 1))
    return b, w, j_, e


def held_to_the_analysis_of_variance(rows, b, j, e):
    """That the fractions are statsmodels' mean squares of the two-way model."""
    k, n = len(rows), len(rows[0])
    long = pandas.DataFrame({"score": [float(v) for row in rows for v in row], "taster": [i for i in range(k) for _ in range(n)],
                             "tea": list(range(n)) * k})
    squares = anova_lm(smf.ols("score ~ C(tea) + C(taster)", long).fit())["sum_sq"]
    for known, fraction, df in zip(squares, (b, j, e), (n - 1, k - 1, (n - 1) * (k - 1))):
        assert math.isclose(known, float(fraction * df), rel_tol=1e-9, abs_tol=1e-9), rows


def one_way_or_fixed(b, error, k, df1, df2):
    if error == 0:
        return None, None
    f = float(b / error)
    low = f / stats.f.ppf(1 - ALPHA / 2, df1, df2)
    high = f * stats.f.ppf(1 - ALPHA / 2, df2, df1)
    p = float(stats.f.sf(f, df1, df2))
    single = [float((b - error) / (b + (k - 1) * error)), f, p, (low - 1) / (low + k - 1), (high - 1) / (high + k - 1)]
    if b == 0:
        return single, None
    return single, [float((b - error) / b), f, p, 1 - 1 / low, 1 - 1 / high]


def iccs(rows):
    """The six forms; each value, F, p, lower, upper (McGraw and Wong 1996, tables 4, 5, 7)."""
    k, n = len(rows), len(rows[0])
    b, w, j, e = mean_squares(exact(rows))
    held_to_the_analysis_of_variance(rows, b, j, e)
    if b == 0 and w == 0:
        return None
    one, one_mean = one_way_or_fixed(b, w, k, n - 1, n * (k - 1))
    fixed, fixed_mean = one_way_or_fixed(b, e, k, n - 1, (n - 1) * (k - 1))
    random_single = random_mean = None
    if e != 0:
        f = float(b / e)
        p = float(stats.f.sf(f, n - 1, (n - 1) * (k - 1)))
        rho = (b - e) / (b + (k - 1) * e + Fr(k, n) * (j - e))
        a_ = k * rho / (n * (1 - rho))
        b_ = 1 + k * rho * (n - 1) / (n * (1 - rho))
        below = (a_ * j) ** 2 / (k - 1) + (b_ * e) ** 2 / ((n - 1) * (k - 1))
        v = float((a_ * j + b_ * e) ** 2 / below) if below else 0.0
        limits = mean_limits = [None, None]
        B, J, E = float(b), float(j), float(e)
        if v >= LEAST_DF:
            low, high = stats.f.ppf(1 - ALPHA / 2, n - 1, v), stats.f.ppf(1 - ALPHA / 2, v, n - 1)
            spread = k * J + (k * n - k - n) * E
            limits = [n * (B - low * E) / (low * spread + n * B), n * (high * B - E) / (spread + n * high * B)]
            below_low, below_high = low * (J - E) + n * B, J - E + n * high * B
            if below_low > 0 and below_high > 0:
                mean_limits = [n * (B - low * E) / below_low, n * (high * B - E) / below_high]
        random_single = [float(rho), f, p, *limits]
        if b + (j - e) / n > 0:
            random_mean = [float((b - e) / (b + (j - e) / n)), f, p, *mean_limits]
    return [one, random_single, fixed, one_mean, random_mean, fixed_mean]


def alpha(rows):
    rows = exact(rows)
    k = len(rows)
    whole = squares([sum(column) for column in zip(*rows)])
    if whole == 0:
        return None
    return [float(Fr(k, k - 1) * (1 - sum(squares(row) for row in rows) / whole))]


KINDS = ["scores"] * 9 + ["fine"] * 2 + ["constant columns"] * 4 + ["constant rows"] * 3 \
    + ["tied"] * 2 + ["constant", "additive"]
sets = [{"rows": packed(rows), "concordance": concordance(rows), "icc": iccs(rows), "alpha": alpha(rows)}
        for rows in tables(rng, 500, KINDS)]
write(__file__, sets=sets)
