#!/usr/bin/env python3
"""Writes words.json: Cochran's Q and McNemar's exact test of random ticks, by statsmodels, a general reference library.

Run with NumPy, SciPy and statsmodels installed: python3 tests/reference/words.py
"""
import itertools
import random

import numpy
from statsmodels.stats.contingency_tables import cochrans_q, mcnemar

from golden import TEAS, packed, write

rng = random.Random(20261203)


def pairs(rows):
    """Of every two teas: ticked for the first only, for the second only, p."""
    found = []
    for a, b in itertools.combinations(range(len(rows[0])), 2):
        count = [[sum(row[a] == x and row[b] == y for row in rows) for y in (1, 0)] for x in (1, 0)]
        found += [count[0][1], count[1][0], mcnemar(count, exact=True).pvalue]
    return found


sets = []
for number in range(500):
    m, n = rng.randint(3, 24), rng.choice(TEAS)
    often = [rng.choice([0.0, 0.1, 0.5, 0.9, 1.0]) if rng.random() < 0.5 else rng.random() for _ in range(n)]
    if number % 12 == 0:
        often = [rng.choice([0.0, 1.0])] * n
    rows = [[int(rng.random() < p) for p in often] for _ in range(m)]
    q = None
    if any(0 < sum(row) < n for row in rows):
        test = cochrans_q(numpy.array(rows))
        q = [test.statistic, test.pvalue]
    sets.append({"rows": packed(rows), "q": q, "pairs": pairs(rows)})
write(__file__, sets=sets)
