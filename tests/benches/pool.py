"""The figures of tests/benches/pool.rs by a general data-frame library, one per process.

    pool.py LIBRARY TABLE OUT     figures of TABLE (.csv or .parquet) to OUT, comma-separated
    pool.py LIBRARY --version     the library's version
    pool.py LIBRARY --parquet TABLE OUT     the comma-separated TABLE as Parquet

n, mean, standard deviation (n - 1), median and quartiles (interpolated) by way, steep and attribute, of all classes
(class 0) and of each class.
"""

import sys

KEYS = ["way", "steep", "attribute"]


def by_polars(path, out):
    import polars as pl

    table = pl.scan_parquet(path) if path.endswith(".parquet") else pl.scan_csv(path)
    value = pl.col("value")
    figures = [
        value.len().alias("n"),
        value.mean().alias("mean"),
        value.std().alias("sd"),
        value.median().alias("median"),
        value.quantile(0.25, "linear").alias("q1"),
        value.quantile(0.75, "linear").alias("q3"),
    ]
    pooled = table.group_by(KEYS).agg(figures).with_columns(pl.lit(0, pl.Int64).alias("class"))
    each = table.group_by(["class", *KEYS]).agg(figures)
    columns = ["class", *KEYS, "n", "mean", "sd", "median", "q1", "q3"]
    frames = pl.collect_all([pooled.select(columns), each.select(columns)])
    pl.concat(frames).write_csv(out)


def by_pandas(path, out):
    import pandas as pd

    table = pd.read_parquet(path) if path.endswith(".parquet") else pd.read_csv(path)

    def figures(keys):
        groups = table.groupby(keys, sort=False, observed=True)["value"]
        found = groups.agg(n="count", mean="mean", sd="std", median="median")
        found["q1"] = groups.quantile(0.25)
        found["q3"] = groups.quantile(0.75)
        return found.reset_index()

    pooled = figures(KEYS)
    pooled.insert(0, "class", 0)
    pd.concat([pooled, figures(["class", *KEYS])]).to_csv(out, index=False)


def by_duckdb(path, out):
    import duckdb

    read = "read_parquet" if path.endswith(".parquet") else "read_csv"
    figures = """count(*) AS n, avg(value) AS mean, stddev_samp(value) AS sd, median(value) AS median,
        quantile_cont(value, 0.25) AS q1, quantile_cont(value, 0.75) AS q3"""
    db = duckdb.connect()
    db.execute(f"CREATE TEMP TABLE t AS SELECT * FROM {read}('{path}')")
    db.execute(
        f"""COPY (SELECT 0 AS class, way, steep, attribute, {figures} FROM t GROUP BY way, steep, attribute
        UNION ALL SELECT class, way, steep, attribute, {figures} FROM t GROUP BY class, way, steep, attribute)
        TO '{out}' (HEADER)"""
    )


def to_parquet(library, path, out):
    if library == "polars":
        import polars

        polars.read_csv(path).write_parquet(out)
    elif library == "pandas":
        import pandas

        pandas.read_csv(path).to_parquet(out)
    else:
        import duckdb

        duckdb.sql(f"COPY (SELECT * FROM read_csv('{path}')) TO '{out}' (FORMAT parquet)")


if __name__ == "__main__":
    library, *rest = sys.argv[1:]
    if rest == ["--version"]:
        print(__import__(library).__version__)
    elif rest[0] == "--parquet":
        to_parquet(library, *rest[1:])
    else:
        {"polars": by_polars, "pandas": by_pandas, "duckdb": by_duckdb}[library](*rest)
