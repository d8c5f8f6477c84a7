#!/usr/bin/env python3
"""Writes agreement.json: agreement, performance, penalties, words and forced choices of random data, by general libraries.

What can be counted in whole numbers and fractions is; the distributions are SciPy's, Cochran's Q, McNemar's test and the
intervals of shares are those of statsmodels. `null` stands for what can't be computed.
Run with NumPy, SciPy and statsmodels installed: python3 tests/reference/agreement.py
"""
import json
import pathlib
import random
from fractions import Fraction as Fr

import numpy as np
import scipy
import statsmodels
from scipy import stats
from statsmodels.stats.contingency_tables import cochrans_q, mcnemar
from statsmodels.stats.proportion import proportion_confint

rng = random.Random(20261129)
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


# --- whole tables -------------------------------------------------------------------------------------------------

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
    return float(Fr(k, k - 1) * (1 - sum(squares(row) for row in rows) / whole))


def habits(rows):
    """For each taster: bias, t, p, lower, upper; r, p, lower, upper."""
    found = []
    for i, own in enumerate(rows):
        shared = []
        for tea, score in enumerate(own):
            others = [row[tea] for x, row in enumerate(rows) if x != i and row[tea] is not None]
            if score is not None and others:
                shared.append((Fr(score), mean([Fr(o) for o in others]), mean([Fr(o) for o in others + [score]])))
        bias = correlation = None
        if shared:
            differences = [own - whole for own, _, whole in shared]
            bias = [float(mean(differences)), None, None, None, None]
            if len(shared) > 1 and squares(differences) != 0:
                test = stats.ttest_1samp([float(d) for d in differences], 0.0)
                limits = test.confidence_interval(1 - ALPHA)
                bias[1:] = [float(test.statistic), float(test.pvalue), float(limits.low), float(limits.high)]
        if len(shared) > 2:
            x, y = [s[0] for s in shared], [s[1] for s in shared]
            if squares(x) != 0 and squares(y) != 0:
                mx, my = mean(x), mean(y)
                together = sum(((a - mx) * (b - my) for a, b in zip(x, y)), Fr(0))
                if together ** 2 == squares(x) * squares(y):
                    correlation = [1.0 if together > 0 else -1.0, 0.0, None, None]
                else:
                    r = stats.pearsonr([float(v) for v in x], [float(v) for v in y])
                    limits = [None, None]
                    if len(shared) > 3:
                        limits = [float(v) for v in r.confidence_interval(1 - ALPHA)]
                    correlation = [float(r.statistic), float(r.pvalue), *limits]
        found.append([bias, correlation])
    return found


def shape():
    return rng.randint(3, 24), rng.randint(2, 8)


def scores(kind):
    m, n = shape()
    top = rng.choice([3, 5, 9])
    if kind == "additive":
        teas, tasters = [rng.randint(1, 5) for _ in range(n)], [rng.randint(0, 4) for _ in range(m)]
        return [[t + s for t in teas] for s in tasters]
    if kind == "constant":
        return [[rng.choice([1, 5, 9])] * n] * m
    if kind == "flat":
        return [[rng.randint(1, 9)] * n for _ in range(m)]
    if kind == "agreeing":
        teas = [rng.uniform(1, 9) for _ in range(n)]
        noise = rng.choice([0.4, 1.0, 2.0])
        return [[min(9, max(1, round(rng.gauss(t, noise)))) for t in teas] for _ in range(m)]
    if kind == "halves":
        return [[rng.randint(2, 18) / 2 for _ in range(n)] for _ in range(m)]
    rows = [[rng.randint(1, top) for _ in range(n)] for _ in range(m)]
    if kind == "columns":
        for j in rng.sample(range(n), rng.randint(1, n - 1)):
            for row in rows:
                row[j] = 5
    if kind == "rows":
        for i in rng.sample(range(m), rng.randint(1, m - 1)):
            rows[i] = [rng.randint(1, 9)] * n
    return rows


KINDS = ["random"] * 6 + ["agreeing"] * 6 + ["halves"] * 2 + ["columns"] * 3 + ["rows"] * 2 + ["additive", "flat"]
tables = []
for i in range(240):
    rows = scores("constant" if i % 24 == 0 else rng.choice(KINDS))
    tables.append({"scores": rows, "concordance": concordance(rows), "icc": iccs(rows), "alpha": alpha(rows)})

missing = []
for _ in range(60):
    gaps = rng.choice([0.0, 0.1, 0.4, 0.8])
    rows = [[None if rng.random() < gaps else v for v in row] for row in scores(rng.choice(KINDS + ["constant"]))]
    missing.append({"scores": rows, "habits": habits(rows)})


# --- repeated scores ----------------------------------------------------------------------------------------------

def panel(tasters):
    """For each taster: F, p, residual SD; ratio to the others' variance and its p."""
    parts = []
    for teas in tasters:
        groups = [[Fr(v) for v in tea] for tea in teas if tea]
        within = sum((squares(g) for g in groups), Fr(0))
        parts.append((groups, within, sum(len(g) - 1 for g in groups)))
    found = []
    for i, (groups, within, df) in enumerate(parts):
        f = p = sd = ratio = beside = None
        if df > 0:
            sd = float(within / df) ** 0.5
        if df > 0 and within != 0 and len(groups) > 1:
            test = stats.f_oneway(*[[float(v) for v in g] for g in groups])
            f, p = float(test.statistic), float(test.pvalue)
        others = [part for x, part in enumerate(parts) if x != i]
        other_within, other_df = sum((o[1] for o in others), Fr(0)), sum(o[2] for o in others)
        if df > 0 and other_within != 0:
            ratio = float((within / df) / (other_within / other_df))
            beside = float(stats.f.sf(ratio, df, other_df))
        found.append([f, p, sd, ratio, beside])
    return found


panels = []
for i in range(80):
    m, n = rng.randint(1, 12), rng.randint(2, 8)
    again, top = rng.randint(2, 4), rng.choice([1, 3, 9])
    uneven = rng.random() < 0.4
    teas = [rng.uniform(1, top) for _ in range(n)]
    noise = [rng.choice([0.0, 0.5, 1.0, 2.5]) for _ in range(m)]
    data = [[[min(9, max(1, round(rng.gauss(tea, noise[s])))) for _ in range(rng.randint(0, again) if uneven else again)]
             for tea in teas] for s in range(m)]
    panels.append({"scores": data, "tasters": panel(data)})


# --- words --------------------------------------------------------------------------------------------------------

ticks = []
for i in range(70):
    m, n = shape()
    often = [rng.choice([0.0, 0.1, 0.5, 0.9, 1.0]) if rng.random() < 0.5 else rng.random() for _ in range(n)]
    if i % 10 == 0:
        often = [rng.choice([0.0, 1.0])] * n
    rows = [[int(rng.random() < p) for p in often] for _ in range(m)]
    q = None
    if any(0 < sum(row) < n for row in rows):
        test = cochrans_q(np.array(rows))
        q = [float(test.statistic), float(test.pvalue)]
    pairs = []
    for a in range(n):
        for b in range(a + 1, n):
            count = [[sum(row[a] == x and row[b] == y for row in rows) for y in (1, 0)] for x in (1, 0)]
            pairs.append([count[0][1], count[1][0], float(mcnemar(count, exact=True).pvalue)])
    ticks.append({"ticks": rows, "q": q, "pairs": pairs})


# --- strength -----------------------------------------------------------------------------------------------------

def t_test(a, b, equal):
    if min(len(a), len(b)) < 2 or squares([Fr(v) for v in a]) + squares([Fr(v) for v in b]) == 0:
        return None
    test = stats.ttest_ind(a, b, equal_var=equal)
    limits = test.confidence_interval(1 - ALPHA)
    return [float(v) for v in (test.statistic, test.df, test.pvalue, limits.low, limits.high)]


votes = []
for i in range(50):
    n = rng.randint(3, 24)
    likely = rng.choice([[1, 2, 3, 2, 1], [0, 0, 1, 4, 3], [4, 4, 2, 0, 0], [1, 1, 9, 1, 1], [1, 1, 0, 1, 1], [0, 0, 1, 0, 0]])
    rows = [[rng.choices([-2, -1, 0, 1, 2], likely)[0], rng.randint(1, 9) if i % 9 else 5] for _ in range(n)]
    thin, right, strong = [[s for v, s in rows if wanted(v)] for wanted in (lambda v: v < 0, lambda v: v == 0, lambda v: v > 0)]
    penalties = None
    if right:
        jar = mean([Fr(s) for s in right])
        penalties = []
        for group in (thin, strong):
            if group:
                drop = jar - mean([Fr(s) for s in group])
                weighted = float(drop * Fr(len(group), n))
                penalties.append([float(drop), weighted, 5 * len(group) >= n, t_test(right, group, True), t_test(right, group, False)])
            else:
                penalties.append(None)
    unhappy = len(thin) + len(strong)
    sign = float(stats.binomtest(len(thin), unhappy, 0.5).pvalue) if unhappy else 1.0
    majority = float(stats.binomtest(len(right), n, 0.5, alternative="greater").pvalue)
    votes.append({"votes": rows, "penalties": penalties, "sign_p": sign, "majority_p": majority})


# --- forced choices -----------------------------------------------------------------------------------------------

TESTS = {"triangle": 1 / 3, "duo-trio": 0.5, "paired one-sided": 0.5, "paired two-sided": 0.5}


def smallest(test, n, level):
    level = level / 2 if test == "paired two-sided" else level
    return next((x for x in range(n + 1) if stats.binom.sf(x - 1, n, TESTS[test]) <= level), None)


def power(test, n, x, pd):
    pc = pd + (1 - pd) * TESTS[test]
    other = stats.binom.cdf(n - x, n, pc) if test == "paired two-sided" else 0.0
    return float(stats.binom.sf(x - 1, n, pc) + other)


choices = []
for i in range(300):
    test = rng.choice(list(TESTS))
    n = rng.randint(1, 40) if i % 5 else rng.randint(50, 400)
    correct, level, pd = rng.randint(0, n), rng.choice([0.2, 0.1, 0.05, 0.01, 0.001]), rng.choice([0.0, 0.1, 0.3, 0.5, 0.9, 1.0])
    side = "two-sided" if test == "paired two-sided" else "greater"
    p = float(stats.binomtest(correct, n, TESTS[test], alternative=side).pvalue)
    x = smallest(test, n, level)
    shares = [float(v) for kind in ("wilson", "beta") for v in proportion_confint(correct, n, ALPHA, method=kind)]
    choices.append([test, correct, n, level, pd, p, x, None if x is None else power(test, n, x, pd), shares])

sizes = []
for test in TESTS:
    for pd, wanted in ((0.2, 0.8), (0.3, 0.9), (0.5, 0.8), (0.7, 0.95), (1.0, 0.8)):
        for n in range(1, 1001):
            x = smallest(test, n, ALPHA)
            if x is not None and power(test, n, x, pd) >= wanted:
                sizes.append([test, ALPHA, pd, wanted, n, x])
                break


# --- out ----------------------------------------------------------------------------------------------------------

def short(value):
    """Figures to twelve significant digits; whole numbers and texts as they are."""
    if isinstance(value, float):
        if not np.isfinite(value):
            raise ValueError("a reference figure is not finite")
        return int(value) if value.is_integer() and abs(value) < 1e6 else float(f"{value:.12g}")
    if isinstance(value, dict):
        return {key: short(v) for key, v in value.items()}
    return [short(v) for v in value] if isinstance(value, (list, tuple)) else value


kinds = {"tables": tables, "missing": missing, "panels": panels, "ticks": ticks, "votes": votes, "choices": choices, "sizes": sizes}
library = f"numpy {np.__version__}, scipy {scipy.__version__}, statsmodels {statsmodels.__version__}"
parts = [f'"library": {json.dumps(library)}']
for name, sets in kinds.items():
    rows = ",\n".join(json.dumps(short(s), separators=(",", ":"), allow_nan=False) for s in sets)
    parts.append(f'"{name}": [\n{rows}\n]')
out = pathlib.Path(__file__).with_name("agreement.json")
out.write_text("{" + ",\n".join(parts) + "}\n")
