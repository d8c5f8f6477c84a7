#!/usr/bin/env python3
"""Writes describe.json: random scores described by NumPy, their means' t intervals by SciPy, means over groups by the
least squares of statsmodels (general reference libraries), and totals from weights by NumPy.

Run with NumPy, pandas, SciPy and statsmodels installed: python3 tests/reference/describe.py
"""
import random
import warnings

import numpy
import pandas
import statsmodels.formula.api as smf
from scipy import stats

from golden import is_nothing, write

rng = random.Random(20261128)
warnings.filterwarnings("ignore")
sets = []


def add(values):
    a = numpy.array(values, dtype=float)
    interval = None
    if len(values) > 1 and len(set(values)) > 1:
        limits = stats.ttest_1samp(a, 0.0).confidence_interval(0.95)
        interval = [stats.sem(a), limits.low, limits.high]
    sets.append({
        "values": values,
        "mean": float(numpy.mean(a)) if values else None,
        "median": float(numpy.median(a)) if values else None,
        "sd": float(numpy.std(a, ddof=1)) if len(values) > 1 else None,
        "min": float(numpy.min(a)) if values else None,
        "max": float(numpy.max(a)) if values else None,
        # The method "linear" is definition 7 of Hyndman and Fan.
        "quartiles": list(numpy.quantile(a, [0.25, 0.75], method="linear")) if values else None,
        "interval": interval,
    })


add([])
for value in (1, 5, 9):
    add([value])
    add([value] * 6)
add([1, 9])
for _ in range(30):
    add([rng.choice([1, 3.5, 9, -4])] * rng.randint(1, 24))
for _ in range(280):
    add([rng.randint(1, 9) for _ in range(rng.randint(1, 24))])
for _ in range(60):
    add([rng.randint(-100, 100) for _ in range(rng.randint(2, 60))])
for _ in range(60):
    add([round(rng.gauss(5, 1.5), 2) for _ in range(rng.randint(1, 24))])
while len(sets) < 500:
    base = rng.choice([1e3, 1e6, 1e9])
    add([base + rng.randint(0, 9) for _ in range(rng.randint(2, 12))])


def strata(groups):
    """The mean over blocks, each weighted by its size: mean, its error, df, limits, p."""
    lines = [(value, block) for block, group in enumerate(groups) for value in group]
    filled = [group for group in groups if group]
    if len(lines) - len(filled) < 1:
        return None
    if is_nothing(sum(((numpy.array(g) - numpy.mean(g)) ** 2).sum() for g in filled), [value for value, _ in lines]):
        return None
    long = pandas.DataFrame(lines, columns=["value", "block"])
    fit = smf.ols("value ~ C(block)" if len(filled) > 1 else "value ~ 1", long).fit()
    test = fit.t_test(numpy.array([[1.0, *[len(group) / len(lines) for group in filled[1:]]]]))
    low, high = test.conf_int(0.05).ravel()
    return [test.effect.item(), test.sd.item(), int(fit.df_resid), low, high, float(test.pvalue)]


grouped = []
for number in range(500):
    shift = rng.choice([0, 0, 1, 3])

    def value():
        return rng.randint(-4, 4) + shift if number % 4 else round(rng.gauss(shift, 1.5), 2)

    groups = [[value() + rng.choice([0, 2]) for _ in range(rng.randint(0 if number % 3 == 0 else 1, 9))]
              for _ in range(rng.randint(1, 7))]
    if number % 10 == 0:
        groups = [[group[0]] * len(group) if group else group for group in groups]
    if number % 10 == 1:
        groups = [group[:1] for group in groups]
    if number % 10 == 2:
        groups[0] = [3] * 5
    grouped.append({"rows": groups, "mean": strata(groups)})

totals = []
for number in range(500):
    parts = rng.randint(1, 8)
    cuts = sorted(rng.sample(range(1, 1000 if number % 2 else 100), parts - 1))
    whole = 1000 if number % 2 else 100
    weights = [(high - low) * 100 / whole for low, high in zip([0, *cuts], [*cuts, whole])]
    scores = [90] * parts if number % 20 == 0 else [rng.choice([0, 100, rng.randint(0, 200) / 2, rng.randint(60, 99)])
                                                    for _ in range(parts)]
    if number % 7 == 0:
        scores[rng.randrange(parts)] = None
    points = None if None in scores else [numpy.dot(weights, scores) / 100]
    totals.append({"rows": [weights, scores], "points": points})
write(__file__, count=15, sets=sets, groups=grouped, totals=totals)
