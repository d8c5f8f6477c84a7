"""A plain least-squares fit of the liking for tests/benches/spot.rs by a general data-frame library.

    spot.py TABLE         of each leaf: the surface of the second order over dose, temperature and time, each class's
                          level taken out
    spot.py --version     the library's version
"""

import os
import sys

import numpy as np
import polars as pl

STEPS = (np.log(1.5), 10.0, np.log(1.5))


def fits(path):
    ways = pl.read_csv(os.path.join(os.path.dirname(path), "ways.csv"))
    liking = pl.scan_csv(path).filter(pl.col("attribute") == "liking").collect().join(ways, on=["class", "way"])
    for (leaf,), own in liking.group_by("leaf", maintain_order=True):
        classes = own["class"].to_numpy()
        places = (own["leaf_g"].log(), own["temp_c"], own["steep_s"].cast(pl.Float64).log())
        x = [(place.to_numpy() - place.mean()) / step for place, step in zip(places, STEPS)]
        terms = [*x, *(x[i] * x[j] for i in range(3) for j in range(i, 3))]
        rows = np.zeros((len(own), classes.max() + len(terms)))
        rows[np.arange(len(own)), classes - 1] = 1.0
        rows[:, -len(terms) :] = np.stack(terms, axis=1)
        found = np.linalg.solve(rows.T @ rows, rows.T @ own["value"].to_numpy())
        print(leaf, *found[-len(terms) :])


if __name__ == "__main__":
    print(pl.__version__) if sys.argv[1] == "--version" else fits(sys.argv[1])
