#!/usr/bin/env python3
"""Writes serving.json: tables of tasters and teas with which cup came first, and the least squares of tea, taster and first cup by
statsmodels: the first cup's slope with its standard error and p, the teas' F beside it, and their adjusted means.

Run with NumPy, pandas, SciPy and statsmodels installed: python3 tests/reference/serving.py
"""
import random
import warnings

import numpy
import pandas
import statsmodels.formula.api as smf
from scipy import stats

from golden import is_nothing, packed, table, write

rng = random.Random(20261127)
warnings.filterwarnings("ignore")
KINDS = ["scores"] * 4 + ["fine"] * 2 + ["gaps"] * 4


def model(rows, first):
    """[slope, its error, p, F of the teas, p] and the adjusted means; None where it can't be had."""
    cells = [(i, j, int(first[i] == j), cell) for i, row in enumerate(rows) for j, cell in enumerate(row) if cell is not None]
    lines = pandas.DataFrame(cells, columns=["taster", "tea", "first", "value"])
    k = len(rows[0])
    if lines.tea.nunique() < k or lines.taster.nunique() < 2:
        return None
    fit = smf.ols("value ~ C(taster) + C(tea) + first", lines).fit()
    unknowns = lines.taster.nunique() + k
    if numpy.linalg.matrix_rank(fit.model.exog) < unknowns or len(lines) <= unknowns or is_nothing(fit.ssr, lines.value):
        return None
    without = smf.ols("value ~ C(taster) + first", lines).fit()
    f = (without.ssr - fit.ssr) / (k - 1) / (fit.ssr / fit.df_resid)
    at = lines["first"].mean()
    tasters = sorted(set(lines.taster))
    means = [float(fit.predict(pandas.DataFrame({"taster": tasters, "tea": tea, "first": at})).mean()) for tea in range(k)]
    return [fit.params["first"], fit.bse["first"], fit.pvalues["first"], f, stats.f.sf(f, k - 1, fit.df_resid)] + means


sets = []
for index in range(500):
    rows = table(rng, KINDS[index % len(KINDS)], rng.randint(3, 14), rng.choice([2, 3, 3, 4, 5, 6]))
    first = [rng.randrange(len(rows[0])) for _ in rows]
    sets.append({"rows": packed(rows), "first": first, "model": model(rows, first)})
write(__file__, sets=sets)
