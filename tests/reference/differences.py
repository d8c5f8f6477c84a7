#!/usr/bin/env python3
"""Writes differences.json: what differs in random tables of scores, by NumPy, SciPy and statsmodels, general reference
libraries, and by plain counting or textbook matrices where these have no function for it.

Run with all three installed: python3 tests/reference/differences.py
"""
import itertools
import json
import math
import pathlib
import random
import warnings

import numpy
import pandas
import scipy
import statsmodels
import statsmodels.api as sm
import statsmodels.formula.api as smf
from scipy import stats
from scipy.optimize import brentq
from statsmodels.stats.anova import anova_lm
from statsmodels.stats.multitest import multipletests

SETS = 500
rng = random.Random(20261128)
warnings.filterwarnings("ignore")


def digits(value):
    """Numbers with 12 significant digits, throughout."""
    if isinstance(value, dict):
        return {name: digits(inner) for name, inner in value.items()}
    if isinstance(value, (list, tuple, numpy.ndarray)):
        return [digits(inner) for inner in value]
    if isinstance(value, (bool, int, str)) or value is None:
        return value
    value = float(value)
    assert math.isfinite(value), value
    return int(value) if value == int(value) and abs(value) < 1e15 else float(f"{value:.12g}")


def is_nothing(squares, values):
    """A sum of squares that is rounding alone."""
    return squares <= 1e-20 * max(1.0, max(abs(v) for v in values)) ** 2


def friedman(table):
    n, k = table.shape
    ranks = numpy.array([stats.rankdata(row) for row in table])
    if numpy.all(ranks == (k + 1) / 2):
        return None
    # SciPy wants three columns at least; with two the tie-corrected sign test is the same.
    if k > 2:
        found = stats.friedmanchisquare(*table.T)
        s, p = found.statistic, found.pvalue
    else:
        ups, downs = sum(table[:, 0] > table[:, 1]), sum(table[:, 0] < table[:, 1])
        s = (ups - downs) ** 2 / (ups + downs)
        p = stats.chi2.sf(s, 1)
    room = n * (k - 1) - s
    f = (n - 1) * s / room if room > 1e-9 else None
    return {
        "chi_squared": s, "p": p, "f": f, "p_f": None if f is None else stats.f.sf(f, k - 1, (k - 1) * (n - 1)),
        "rank_sums": ranks.sum(axis=0), "kendall_w": s / (n * (k - 1)),
    }


def wilcoxon(differences):
    left = [d for d in differences if d != 0]
    if not left:
        return None
    sizes = [abs(d) for d in left]
    exact = len(set(sizes)) == len(sizes) and len(left) == len(differences)
    ranks = stats.rankdata(sizes)
    up = sum(r for d, r in zip(left, ranks) if d > 0)
    if exact:
        by, p = "scipy", stats.wilcoxon(differences, method="exact").pvalue
    elif len(left) <= 12:
        least = min(up, sum(ranks) - up)
        ways = [sum(r for r, taken in zip(ranks, signs) if taken) <= least
                for signs in itertools.product([False, True], repeat=len(left))]
        by, p = "counting", min(1.0, 2 * sum(ways) / len(ways))
    else:
        by, p = "nothing", None
    return {"by": by, "n": len(left), "ranks_for_first": up, "p": p}


def paired(differences):
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

    known = abs(t) < 30
    effect = [noncentrality(chance) / math.sqrt(n) for chance in (0.975, 0.025)] if known else None
    return {"t": t, "p": found.pvalue, "low": ends.low, "high": ends.high, "d_z": a.mean() / a.std(ddof=1),
            "d_z_interval": effect}


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
        return None
    if numpy.all(y == y[0]):
        return None
    full, less = sm.OLS(y, both).fit(), sm.OLS(y, tasters).fit()
    if is_nothing(full.ssr, y):
        return None
    f, p, df = full.compare_f_test(less)
    levels = [[1 / n] * n + [1.0 if b == j else 0.0 for b in range(1, k)] for j in range(k)]
    means = full.t_test(numpy.array(levels))
    pairs = [(i, j) for i in range(k) for j in range(i + 1, k)]
    apart = full.t_test(numpy.array([numpy.array(levels[i]) - numpy.array(levels[j]) for i, j in pairs]))
    q = numpy.abs(apart.tvalue.ravel()) * math.sqrt(2)
    return {
        "f": f, "p": p, "df_residual": int(full.df_resid), "residual_squares": full.ssr,
        "means": means.effect.ravel(), "standard_errors": means.sd.ravel(),
        "pair_standard_errors": apart.sd.ravel(),
        "pair_p": [stats.studentized_range.sf(one, k, full.df_resid) for one in q],
        "holm": multipletests(apart.pvalue.ravel(), method="holm")[1], "single_p": apart.pvalue.ravel(),
    }


def two_way(table):
    n, k = table.shape
    flat = table.ravel()
    if numpy.all(flat == flat[0]):
        return None
    long = pandas.DataFrame({
        "score": flat, "taster": numpy.repeat(numpy.arange(n), k), "tea": numpy.tile(numpy.arange(k), n),
    })
    fit = smf.ols("score ~ C(taster) + C(tea)", long).fit()
    if is_nothing(fit.ssr, flat):
        return None
    found = anova_lm(fit, typ=2)
    mean_square = fit.ssr / fit.df_resid
    means = table.mean(axis=0)
    tukey = [
        stats.studentized_range.sf(abs(means[i] - means[j]) / math.sqrt(mean_square / n), k, fit.df_resid)
        for i in range(k) for j in range(i + 1, k)
    ]
    return {
        "teas": {"squares": found.loc["C(tea)", "sum_sq"], "f": found.loc["C(tea)", "F"],
                 "p": found.loc["C(tea)", "PR(>F)"]},
        "tasters": {"squares": found.loc["C(taster)", "sum_sq"], "f": found.loc["C(taster)", "F"],
                    "p": found.loc["C(taster)", "PR(>F)"]},
        "residual_squares": fit.ssr, "tukey": tukey,
        "q_critical": stats.studentized_range.ppf(0.95, k, fit.df_resid),
    }


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
    # Where all means are equal SciPy may find a squares' sum just below 0, and no p.
    return {"f": found.statistic, "p": found.pvalue} if found.statistic >= 0 else {"f": 0, "p": 1}


def skillings_mack(rows):
    """Straight from the definition, with a pseudo-inverse of the whole covariance."""
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
    return {"chi_squared": statistic, "p": stats.chi2.sf(statistic, k - 1)}


def table_of(kind, n, k):
    """Rows are tasters, columns are teas."""
    quality = [rng.choice([0, 0, 0, 1, 2]) for _ in range(k)]
    lean = [rng.choice([-1, 0, 0, 1]) for _ in range(n)]

    def score(i, j):
        return min(9, max(1, round(rng.gauss(5 + quality[j] + lean[i], 1.4))))

    rows = [[score(i, j) for j in range(k)] for i in range(n)]
    if kind == "fine":
        rows = [[round(rng.gauss(5 + quality[j], 1.4), 4) for j in range(k)] for _ in range(n)]
    if kind == "constant columns":
        for j in rng.sample(range(k), rng.randint(1, k)):
            level = rng.randint(1, 9)
            for row in rows:
                row[j] = level
    if kind == "constant":
        level = rng.randint(1, 9)
        rows = [[level] * k for _ in range(n)]
    if kind == "additive":
        rows = [[quality[j] + lean[i] + 3 for j in range(k)] for i in range(n)]
    if kind == "constant rows":
        rows = [[rng.randint(1, 9)] * k for _ in range(n)]
    if kind == "gaps":
        share = rng.choice([0.1, 0.3, 0.5])
        rows = [[None if rng.random() < share else cell for cell in row] for row in rows]
    if kind == "apart":
        cut = rng.randint(1, k - 1)
        rows = [[cell if (j < cut) == (i % 2 == 0) else None for j, cell in enumerate(row)]
                for i, row in enumerate(rows)]
    return rows


KINDS = ["scores"] * 8 + ["fine"] * 3 + ["gaps"] * 6 + ["constant columns"] * 2 + ["constant", "additive"] \
    + ["constant rows", "apart"]
sets = []
for number in range(SETS):
    kind = KINDS[number % len(KINDS)]
    n, k = rng.randint(3, 24), rng.randint(2, 8)
    rows = table_of(kind, n, k)
    one = {"kind": kind, "rows": rows}
    full = [row for row in rows if None not in row]
    table = numpy.array(full, dtype=float)
    enough = len(full) > 1
    one["friedman"] = friedman(table) if enough else None
    one["two_way"] = two_way(table) if enough else None
    both = [(row[0], row[1]) for row in rows if row[0] is not None and row[1] is not None]
    # Rounded, so that both sides see the same ties.
    differences = [round(a - b, 6) for a, b in both]
    one["differences"] = differences
    one["wilcoxon"] = wilcoxon(differences)
    one["paired"] = paired(differences)
    one["one_way"] = one_way(list(zip(*rows)))
    one["additive"] = additive(rows)
    one["skillings_mack"] = skillings_mack(rows)
    sets.append(json.dumps(digits(one), separators=(",", ":")))

versions = f"numpy {numpy.__version__}, scipy {scipy.__version__}, statsmodels {statsmodels.__version__}"
out = pathlib.Path(__file__).with_name("differences.json")
out.write_text(f'{{"library": "{versions}", "sets": [\n' + ",\n".join(sets) + "\n]}\n")
