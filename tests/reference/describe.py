#!/usr/bin/env python3
"""Writes describe.json: mean, median and standard deviation of random score sets by NumPy, a general reference library.

Run with NumPy installed: python3 tests/reference/describe.py
"""
import json
import pathlib
import random

import numpy

rng = random.Random(20261128)
sets = []


def add(values):
    a = numpy.array(values, dtype=float)
    many = len(values) > 1
    sets.append({
        "values": values,
        "mean": float(numpy.mean(a)) if values else None,
        "median": float(numpy.median(a)) if values else None,
        "sd": float(numpy.std(a, ddof=1)) if many else None,
        "min": float(numpy.min(a)) if values else None,
        "max": float(numpy.max(a)) if values else None,
    })


add([])
for value in (1, 5, 9):
    add([value])
    add([value] * 6)
add([1, 9])
for _ in range(150):
    add([rng.randint(1, 9) for _ in range(rng.randint(1, 24))])
for _ in range(30):
    add([rng.randint(-100, 100) for _ in range(rng.randint(2, 60))])
for _ in range(30):
    base = rng.choice([1e3, 1e6, 1e9])
    add([base + rng.randint(0, 9) for _ in range(rng.randint(2, 12))])

out = pathlib.Path(__file__).with_name("describe.json")
rows = ",\n".join(json.dumps(s) for s in sets)
out.write_text(f'{{"library": "numpy {numpy.__version__}", "sets": [\n{rows}\n]}}\n')
