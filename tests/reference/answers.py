#!/usr/bin/env python3
"""Writes answers.json: penalties of random strength votes and forced choices, by SciPy and statsmodels, general reference
libraries. Means and drops are counted in fractions.

Votes stand in the file as two rows, the strength from 0 (much too thin) to 4, and the score.
Run with NumPy, SciPy and statsmodels installed: python3 tests/reference/answers.py
"""
import random
from fractions import Fraction as Fr

from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from golden import packed, write

rng = random.Random(20261204)
ALPHA = 0.05


def mean(values):
    return Fr(sum(values), len(values))


def t_test(a, b, equal):
    if min(len(a), len(b)) < 2 or len(set(a)) == len(set(b)) == 1:
        return None
    test = stats.ttest_ind(a, b, equal_var=equal)
    limits = test.confidence_interval(1 - ALPHA)
    return [test.statistic, test.df, test.pvalue, limits.low, limits.high]


def side(right, group, n):
    """Drop, weighted drop, whether it is large enough; Student's t, Welch's t."""
    if not right or not group:
        return [None, None, None]
    drop, share = mean(right) - mean(group), Fr(len(group), n)
    costs = [float(drop), float(drop * share), int(5 * len(group) >= n)]
    return [costs, t_test(right, group, True), t_test(right, group, False)]


LIKELY = [[1, 2, 3, 2, 1], [1, 2, 3, 2, 1], [0, 0, 1, 4, 3], [4, 4, 2, 0, 0], [1, 1, 9, 1, 1], [1, 1, 0, 1, 1], [0, 0, 1, 0, 0]]
votes = []
for number in range(500):
    n, likely = rng.randint(2, 24), rng.choice(LIKELY)
    steps = rng.choices(range(5), likely, k=n)
    scores = [5 if number % 9 == 0 else rng.randint(1, 9) for _ in range(n)]
    if number % 9 == 1:
        # A whole side of one mind.
        scores = [7 if step == 2 else 4 if step < 2 else score for step, score in zip(steps, scores)]
    thin, right, strong = [[s for v, s in zip(steps, scores) if wanted(v)]
                           for wanted in (lambda v: v < 2, lambda v: v == 2, lambda v: v > 2)]
    whole, wrong = None, thin + strong
    if right:
        drop = float(mean(right) - mean(wrong)) if wrong else None
        whole = [float(mean(scores)), float(mean(right)), drop, float(mean(right) - mean(scores))]
    sign = stats.binomtest(len(thin), len(wrong), 0.5).pvalue if wrong else 1
    majority = stats.binomtest(len(right), n, 0.5, alternative="greater").pvalue
    votes.append({"rows": packed([steps, scores]), "whole": whole, "thin": side(right, thin, n),
                  "strong": side(right, strong, n), "hint": [sign, majority]})

TESTS = {"triangle": 1 / 3, "duo-trio": 0.5, "paired one-sided": 0.5, "paired two-sided": 0.5}
# A chance of exactly 1/2 counts as 1/2.
ROUNDING = 1e-12
LEVELS = [0.2, 0.1, 0.05, 0.05, 0.01, 0.001]


def smallest(test, n, level):
    level = level / 2 if test == "paired two-sided" else level
    x = max(0, int(stats.binom.isf(level, n, TESTS[test])) - 2)
    while stats.binom.sf(x - 1, n, TESTS[test]) > level * (1 + ROUNDING):
        x += 1
    return x if x <= n else None


def power(test, n, x, share):
    pc = share + (1 - share) * TESTS[test]
    other = stats.binom.cdf(n - x, n, pc) if test == "paired two-sided" else 0
    return min(1, stats.binom.sf(x - 1, n, pc) + other)


choices = []
for number in range(500):
    test = rng.choice(list(TESTS))
    n = rng.randint(1, 40) if number % 5 else rng.randint(50, 400)
    correct, level, share = rng.randint(0, n), rng.choice(LEVELS), rng.choice([0, 0.1, 0.3, 0.5, 0.9, 1])
    two_sided = test == "paired two-sided"
    p = stats.binomtest(correct, n, TESTS[test], alternative="two-sided" if two_sided else "greater").pvalue
    ends = [end for kind in ("wilson", "beta") for end in proportion_confint(correct, n, ALPHA, method=kind)]
    # What is beyond guessing; in a two-sided test nothing is correct.
    beyond = [None if two_sided else max(0, (c - TESTS[test]) / (1 - TESTS[test])) for c in [correct / n, *ends]]
    x = smallest(test, n, level)
    found = None if x is None else [x, power(test, n, x, 0), power(test, n, x, share)]
    choices.append({"asked": [test, correct, n, level, share], "outcome": [p, *ends, *beyond], "power": found})

sizes = []
for number in range(500):
    test, level = rng.choice(list(TESTS)), rng.choice(LEVELS[1:])
    share, wanted = rng.choice([0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1]), rng.choice([0.5, 0.7, 0.8, 0.9, 0.95])
    for n in range(1, 1001):
        x = smallest(test, n, level)
        if x is not None and power(test, n, x, share) >= wanted * (1 - ROUNDING):
            sizes.append({"asked": [test, level, share, wanted], "size": [n, x, power(test, n, x, share)]})
            break
    else:
        sizes.append({"asked": [test, level, share, wanted], "size": None})
write(__file__, votes=votes, choices=choices, sizes=sizes)
