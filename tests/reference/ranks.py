#!/usr/bin/env python3
"""Writes ranks.json: what the ranks of random tables say, by SciPy, a general reference library. Friedman's exact p is
counted in whole numbers over all orders of every taster's ranks, ties kept; Skillings and Mack's test, for which the
libraries have no function, is taken straight from its definition with a pseudo-inverse.

Run with NumPy, SciPy and statsmodels installed: python3 tests/reference/ranks.py
"""
import functools
import itertools
import math
import random
import warnings
from collections import Counter
from fractions import Fraction
from operator import add

import numpy
from scipy import stats

from golden import packed, place, table, tables, write

rng = random.Random(20261130)
warnings.filterwarnings("ignore")


def squares(sums):
    return sum(s * s for s in sums)


def exact(ranks):
    """The share of orders with a sum of squares as large; twice a rank is whole. Sums are sorted, as teas have no names."""
    doubled = [[round(2 * rank) for rank in row] for row in ranks]
    ways = Counter({(0,) * len(doubled[0]): 1})
    for row in doubled:
        orders, after = Counter(itertools.permutations(row)), Counter()
        for sums, count in ways.items():
            for order, times in orders.items():
                after[tuple(sorted(map(add, sums, order)))] += count * times
        ways = after
    seen = squares(map(sum, zip(*doubled)))
    p = Fraction(sum(count for sums, count in ways.items() if squares(sums) >= seen), sum(ways.values()))
    if math.factorial(len(doubled[0])) ** len(doubled) < 50_000:
        every = itertools.product(*[list(itertools.permutations(row)) for row in doubled])
        reached = [squares(map(sum, zip(*orders))) >= seen for orders in every]
        assert p == Fraction(sum(reached), len(reached)), ranks
    return float(p)


def friedman(rows):
    n, k = rows.shape
    ranks = numpy.array([stats.rankdata(row) for row in rows])
    if numpy.all(ranks == (k + 1) / 2):
        return None
    # SciPy wants three columns at least; with two the tie-corrected sign test is the same.
    if k > 2:
        found = stats.friedmanchisquare(*rows.T)
        s, p = found.statistic, found.pvalue
    else:
        ups, downs = sum(rows[:, 0] > rows[:, 1]), sum(rows[:, 0] < rows[:, 1])
        s = (ups - downs) ** 2 / (ups + downs)
        p = stats.chi2.sf(s, 1)
    room = n * (k - 1) - s
    f = (n - 1) * s / room if room > 1e-9 else None
    p_f = None if f is None else stats.f.sf(f, k - 1, (k - 1) * (n - 1))
    return [s, p, s / (n * (k - 1)), f, p_f, *ranks.sum(axis=0)]


@functools.cache
def q_critical(k):
    return stats.studentized_range.ppf(0.95, k, math.inf)


@functools.cache
def range_p(k, q):
    return place(stats.studentized_range.sf(q, k, math.inf))


def pairs(rows):
    """The two differences at 5 %, then each pair's p by itself and in the family."""
    n, k = rows.shape
    sums = numpy.array([stats.rankdata(row) for row in rows]).sum(axis=0)
    found = [stats.norm.ppf(0.975) * math.sqrt(n * k * (k + 1) / 6), q_critical(k) * math.sqrt(n * k * (k + 1) / 12)]
    for a, b in itertools.combinations(sums, 2):
        apart = abs(float(a - b))
        found.append(2 * stats.norm.sf(apart / math.sqrt(n * k * (k + 1) / 6)))
        found.append(range_p(k, apart / math.sqrt(n * k * (k + 1) / 12)))
    return found


def page(rows, order):
    n, k = rows.shape
    ranks = numpy.array([stats.rankdata(row) for row in rows])
    if numpy.all(ranks == (k + 1) / 2):
        return None
    expected = [order.index(tea) + 1 for tea in range(k)]
    # SciPy wants three columns at least; with two the same normal approximation is written out.
    if k > 2:
        found = stats.page_trend_test(rows, predicted_ranks=expected, method="asymptotic")
        return [found.statistic, found.pvalue]
    level = ranks.sum(axis=0) @ expected
    return [level, stats.norm.sf((level - n * k * (k + 1) ** 2 / 4) / (k * (k + 1) * math.sqrt(n * (k - 1)) / 12))]


def skillings_mack(rows):
    """Straight from the definition, with a pseudo-inverse of the whole covariance: the weighted sums last."""
    k = len(rows[0])
    blocks = [row for row in rows if sum(cell is not None for cell in row) > 1]
    sums, covariance, apart = numpy.zeros(k), numpy.zeros((k, k)), False
    for row in blocks:
        there = [j for j in range(k) if row[j] is not None]
        ranks = stats.rankdata([row[j] for j in there])
        apart = apart or len(set(ranks)) > 1
        for j, rank in zip(there, ranks):
            sums[j] += math.sqrt(12 / (len(there) + 1)) * (rank - (len(there) + 1) / 2)
        for a, b in itertools.permutations(there, 2):
            covariance[a][b] -= 1
            covariance[a][a] += 1
    if len(blocks) < 2 or not apart or numpy.linalg.matrix_rank(covariance) < k - 1:
        return None
    statistic = float(sums @ numpy.linalg.pinv(covariance) @ sums)
    # What is rounding alone is nothing.
    statistic = statistic if statistic > 1e-13 else 0.0
    return [statistic, stats.chi2.sf(statistic, k - 1), *[0 if abs(s) < 1e-13 else s for s in sums]]


sets = []
for rows in tables(rng, 500):
    full = numpy.array([row for row in rows if None not in row], dtype=float)
    k = len(rows[0])
    order = rng.sample(range(k), k)
    found = friedman(full) if len(full) > 1 else None
    sets.append({
        "rows": packed(rows), "friedman": found,
        "pairs": pairs(full) if found else None, "order": order,
        "page": page(full, order) if len(full) > 1 else None, "skillings_mack": skillings_mack(rows),
    })

# Classes small enough for every order to be counted.
small = []
for number in range(500):
    k = rng.choice([2, 3, 3, 3, 4])
    kind = rng.choice(["scores"] * 4 + ["tied", "constant columns", "constant rows", "fine", "constant"])
    rows = table(rng, kind, rng.randint(2, 4 if k == 4 else rng.choice([6, 14])), k)
    ranks = [stats.rankdata(row) for row in rows]
    apart = any(len(set(row)) > 1 for row in rows)
    small.append({"rows": packed(rows), "exact": [exact(ranks)] if apart else None})
write(__file__, sets=sets, small=small)
