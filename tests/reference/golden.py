"""What the scripts share: tables of random scores, many of them broken in some way, and the form of the golden files.

A golden file names its libraries and holds a line for each set. Scores stand in it as "57 6-": a row for each taster, a
digit for each tea, - for a missing score; where digits are not enough they are lists. `null` stands for what can't be had.
"""
import json
import math
import pathlib

import numpy
import scipy
import statsmodels

# Chances and sums are held to each other to 8 digits.
DIGITS = 10
# Chances of the studentized range are held to each other to 8 places.
PLACES = 9


def digits(value, count):
    """Numbers with so many significant digits, throughout."""
    if isinstance(value, dict):
        return {name: digits(inner, count) for name, inner in value.items()}
    if isinstance(value, (list, tuple, numpy.ndarray)):
        return [digits(inner, count) for inner in value]
    if isinstance(value, (bool, numpy.bool_)):
        return bool(value)
    if isinstance(value, (int, str)) or value is None:
        return value
    value = float(value)
    assert math.isfinite(value), value
    return int(value) if value == int(value) and abs(value) < 1e15 else float(f"{value:.{count}g}")


def place(p):
    """A chance of the studentized range."""
    return round(float(p), PLACES)


def packed(rows):
    """The rows as text if all cells are digits or missing."""
    cells = [cell for row in rows for cell in row]
    if all(cell is None or (cell == int(cell) and 0 <= cell <= 9) for cell in cells):
        return " ".join("".join("-" if cell is None else str(int(cell)) for cell in row) for row in rows)
    return rows


def write(script, count=DIGITS, **parts):
    """Writes the golden file beside a script; parts are lists of sets, figures have so many digits."""
    versions = f"numpy {numpy.__version__}, scipy {scipy.__version__}, statsmodels {statsmodels.__version__}"
    lines = [f'"library": "{versions}"']
    for name, sets in parts.items():
        rows = ",\n".join(json.dumps(digits(one, count), separators=(",", ":"), allow_nan=False) for one in sets)
        lines.append(f'"{name}": [\n{rows}\n]')
    pathlib.Path(script).with_suffix(".json").write_text("{" + ",\n".join(lines) + "}\n")


def is_nothing(squares, values):
    """A sum of squares that is rounding alone."""
    return squares <= 1e-20 * max(1.0, max(abs(v) for v in values)) ** 2


KINDS = ["scores"] * 6 + ["fine"] * 2 + ["gaps"] * 4 + ["gaps and constant columns"] * 3 + ["constant columns"] * 3 \
    + ["constant rows"] * 2 + ["constant", "additive", "apart", "tied"]
TEAS = [2, 2, 3, 3, 3, 3, 4, 4, 4, 5, 5, 6, 7, 8]


def table(rng, kind, n, k):
    """Rows are tasters, columns are teas."""
    quality = [rng.choice([0, 0, 0, 1, 2]) for _ in range(k)]
    lean = [rng.choice([-1, 0, 0, 1]) for _ in range(n)]

    def score(i, j):
        return min(9, max(1, round(rng.gauss(5 + quality[j] + lean[i], 1.4))))

    rows = [[score(i, j) for j in range(k)] for i in range(n)]
    if kind == "fine":
        rows = [[round(rng.gauss(5 + quality[j], 1.4), 2) for j in range(k)] for _ in range(n)]
    if kind == "tied":
        rows = [[rng.choice([4, 5, 5]) for _ in range(k)] for _ in range(n)]
    if kind == "constant":
        rows = [[rng.randint(1, 9)] * k] * n
    if kind == "additive":
        rows = [[quality[j] + lean[i] + 3 for j in range(k)] for i in range(n)]
    if kind == "constant rows":
        for i in rng.sample(range(n), rng.randint(1, n)):
            rows[i] = [rng.randint(1, 9)] * k
    if "constant columns" in kind:
        for j in rng.sample(range(k), rng.randint(1, k - 1 if "gaps" in kind else k)):
            level = rng.randint(1, 9)
            for row in rows:
                row[j] = level
    if "gaps" in kind:
        share = rng.choice([0.05, 0.1, 0.2, 0.5])
        rows = [[None if rng.random() < share else cell for cell in row] for row in rows]
    if kind == "apart":
        cut = rng.randint(1, k - 1)
        rows = [[cell if (j < cut) == (i % 2 == 0) else None for j, cell in enumerate(row)]
                for i, row in enumerate(rows)]
    return rows


def tables(rng, count, kinds=KINDS, most=24):
    """So many tables, the kinds in turn; half of them of small classes."""
    for number in range(count):
        n = rng.randint(3, 8 if number % 2 else most)
        yield table(rng, kinds[number % len(kinds)], n, rng.choice(TEAS))
