#!/usr/bin/env python3
"""Writes permuted.json: how rare an F of tea + taster is among all orders of each taster's scores, with NumPy's least
squares, and the F itself by statsmodels. Gaps stay where they are.

Run with NumPy, pandas, SciPy and statsmodels installed: python3 tests/reference/permuted.py
"""
import itertools
import math
import random

import numpy
import statsmodels.api as sm

from golden import packed, table, write

rng = random.Random(20261129)
# As many orders as are counted.
COUNTED = 20_000
KINDS = ["scores"] * 4 + ["gaps"] * 5 + ["fine", "tied", "constant rows", "additive", "apart"]


def columns(rows):
    """Scores, their tasters and teas; only tasters with two teas."""
    kept = [row for row in rows if sum(cell is not None for cell in row) > 1]
    cells = [(i, j, cell) for i, row in enumerate(kept) for j, cell in enumerate(row) if cell is not None]
    n, k = len(kept), len(rows[0])
    tasters = numpy.array([[float(a == i) for a in range(n)] for i, _, _ in cells])
    teas = numpy.array([[float(b == j) for b in range(1, k)] for _, j, _ in cells])
    return numpy.array([cell for _, _, cell in cells], dtype=float), tasters, teas, n, k


def orders(rows):
    return math.prod(math.factorial(sum(cell is not None for cell in row)) for row in rows
                     if sum(cell is not None for cell in row) > 1)


def permuted(rows):
    y, tasters, teas, n, k = columns(rows)
    if n < 2 or any(all(row[j] is None for row in rows) for j in range(k)):
        return None
    both = numpy.hstack([tasters, teas])
    if numpy.linalg.matrix_rank(both) < n + k - 1:
        return None
    own = [y[tasters[:, i] == 1] for i in range(n)]
    if all(len(set(scores)) == 1 for scores in own):
        return None
    # Squares of the teas, tasters taken out: y'(H - H_tasters)y.
    hat = both @ numpy.linalg.pinv(both) - tasters @ numpy.linalg.pinv(tasters)
    drawn = numpy.array([numpy.concatenate(order) for order in itertools.product(
        *[list(itertools.permutations(scores)) for scores in own])])
    squares = ((drawn @ hat) * drawn).sum(axis=1)
    seen = y @ hat @ y
    p = float((squares >= seen * (1 - 1e-9) - 1e-12).mean())
    # The same orders are as far apart by F; checked on the F of statsmodels for some of them.
    free = len(y) - n - k + 1
    if free > 0 and len(drawn) > 3:
        some = drawn[:: max(1, len(drawn) // 5)]
        fits = [(sm.OLS(one, both).fit(), sm.OLS(one, tasters).fit()) for one in some]
        f = [full.compare_f_test(less)[0] if full.ssr > 1e-9 else math.inf for full, less in fits]
        by_squares = [float(one @ hat @ one) for one in some]
        for (a, b), (c, d) in itertools.combinations(list(zip(f, by_squares)), 2):
            assert abs(b - d) < 1e-6 or (a < c) == (b < d), (rows, a, b, c, d)
    return [len(drawn), p]


sets = []
while len(sets) < 500:
    kind = KINDS[len(sets) % len(KINDS)]
    rows = table(rng, kind, rng.randint(2, 7), rng.choice([2, 2, 3, 3, 3, 4]))
    if orders(rows) <= COUNTED:
        sets.append({"rows": packed(rows), "permuted": permuted(rows)})
write(__file__, sets=sets)
