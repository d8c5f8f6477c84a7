"""A plain least-squares fit of the liking for tests/benches/spot.rs by a general data-frame library.

    spot.py TABLE         of each leaf: a level for each class, and the slope from its long to its short way
    spot.py --version     the library's version
"""

import sys

import numpy as np
import polars as pl


def fits(path):
    liking = pl.scan_csv(path).filter(pl.col("attribute") == "liking").collect()
    parts = liking["way"].str.split_exact(", ", 1).struct.unnest()
    table = liking.with_columns(parts["field_0"].alias("leaf"), (parts["field_1"] == "short").alias("short"))
    for (leaf,), own in table.group_by("leaf", maintain_order=True):
        classes = own["class"].to_numpy()
        rows = np.zeros((len(own), classes.max() + 1))
        rows[np.arange(len(own)), classes - 1] = 1.0
        rows[:, -1] = own["short"].to_numpy()
        normal = rows.T @ rows
        found = np.linalg.solve(normal, rows.T @ own["value"].to_numpy())
        print(leaf, found[-1])


if __name__ == "__main__":
    print(pl.__version__) if sys.argv[1] == "--version" else fits(sys.argv[1])
