#!/usr/bin/env python3
"""Writes pairs.json: two ways of steeping scored by the same tasters, and many chances adjusted at once, by SciPy and
statsmodels, general reference libraries.

Wilcoxon's p is exact everywhere, with ties and zeros too: twice a mean rank is whole, so that the ways in which the signs
could fall are counted in whole numbers, sum by sum (the convolution of the doubled mean ranks). Where SciPy has an exact
p, and where all ways can be gone through one by one, the script holds the count to it.
Run with NumPy, SciPy and statsmodels installed: python3 tests/reference/pairs.py
"""
import itertools
import math
import random
import warnings
from collections import Counter
from fractions import Fraction

import numpy
from scipy import stats
from scipy.optimize import brentq
from statsmodels.stats.multitest import multipletests

from golden import is_nothing, write

rng = random.Random(20261201)
warnings.filterwarnings("ignore")
# Above this t SciPy's noncentral t has too few digits to search with.
KNOWN_T = 30
checked = Counter()


def wilcoxon(differences):
    left = [d for d in differences if d != 0]
    if not left:
        return None
    sizes = [abs(d) for d in left]
    ranks = stats.rankdata(sizes)
    up = sum(r for d, r in zip(left, ranks) if d > 0)
    doubled, ways = [round(2 * r) for r in ranks], Counter({0: 1})
    for rank in doubled:
        after = Counter(ways)
        for total, count in ways.items():
            after[total + rank] += count
        ways = after
    least = min(round(2 * up), sum(doubled) - round(2 * up))
    as_far = sum(count for total, count in ways.items() if total <= least)
    p = min(1.0, float(Fraction(2 * as_far, 2 ** len(left))))
    if len(set(sizes)) == len(sizes) and len(left) == len(differences):
        assert math.isclose(p, stats.wilcoxon(differences, method="exact").pvalue, rel_tol=1e-12)
        checked["scipy"] += 1
    if len(left) <= 12:
        each = [sum(itertools.compress(doubled, signs)) <= least for signs in itertools.product([0, 1], repeat=len(left))]
        assert sum(each) == as_far
        checked["one by one"] += 1
    return [len(left), up, sum(ranks) - up, p, (2 * up - sum(ranks)) / sum(ranks)]


def paired(differences):
    """t, p, limits, d_z, its limits (none for a large t)."""
    a = numpy.array(differences)
    n = len(a)
    if n < 2 or is_nothing(((a - a.mean()) ** 2).sum(), a):
        return None
    found = stats.ttest_1samp(a, 0.0)
    ends = found.confidence_interval(0.95)
    t = float(found.statistic)

    def chance_below(delta):
        # Far out in the tails SciPy gives no number.
        chance = stats.nct.cdf(t, n - 1, delta)
        return chance if math.isfinite(chance) else float(delta < t)

    def noncentrality(chance):
        far = 6 + 4 * abs(t)
        return brentq(lambda delta: chance_below(delta) - chance, t - far, t + far, xtol=1e-13, rtol=1e-13)

    effect = [noncentrality(chance) / math.sqrt(n) for chance in (0.975, 0.025)] if abs(t) < KNOWN_T else [None, None]
    return [t, found.pvalue, ends.low, ends.high, a.mean() / a.std(ddof=1), *effect]


def drawn(number):
    n = rng.randint(1, 24) if number % 10 else rng.randint(25, 60)
    mean = rng.choice([0, 0, 0.5, 1, 2])
    kind = ["points"] * 6 + ["halves", "fine", "zeros", "alike", "constant", "one way"]
    kind = kind[number % len(kind)]
    if kind == "fine":
        return [round(rng.gauss(mean, 1.5), 4) for _ in range(n)]
    if kind == "halves":
        return [rng.randint(-6, 9) / 2 for _ in range(n)]
    if kind == "zeros":
        return [rng.choice([0, 0, 0, 1, -1, 2]) for _ in range(n)]
    if kind == "alike":
        return [0] * n
    if kind == "constant":
        return [rng.choice([-2, 1, 3])] * n
    if kind == "one way":
        return [rng.randint(1, 4) for _ in range(n)]
    return [max(-8, min(8, round(rng.gauss(mean, 2)))) for _ in range(n)]


sets = []
for number in range(500):
    differences = drawn(number)
    sets.append({"rows": [differences], "wilcoxon": wilcoxon(differences), "paired": paired(differences)})
assert checked["scipy"] > 30 and checked["one by one"] > 150, checked

many = []
for number in range(500):
    p = [rng.choice([0, 1]) if rng.random() < 0.03 else round(rng.random() ** rng.choice([1, 3, 6]), 4)
         for _ in range(rng.randint(1, 28))]
    if number % 4 == 0:
        # Some of them the same.
        p = [rng.choice(p) for _ in p]
    many.append({"rows": [p], "holm": multipletests(p, method="holm")[1]})
write(__file__, sets=sets, many=many)
