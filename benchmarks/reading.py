"""Exports → hourly readings, beside the bare engine doing nothing but read and take hourly medians.

python benchmarks/reading.py [days]                          time and ratio for every form, in one run
python benchmarks/reading.py --large "long csv" --years 4    peak memory of 12 tags every 10 s, 5 GB

The ratio counts: both sides read the same file with the same threads, in turn, the best of a few rounds.
"""

import argparse
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from sevenppb.detect.exports.read import read_vessel
from sevenppb.detect.fleet import Fleet, TagRef, Vessel

ROUNDS = 9
DAYS = 365
FORMS = ("wide parquet", "wide csv", "long parquet", "long csv")
ROLES = {
    "shell_pressure": "kPa gauge", "storage_temperature": "degC", "steam_pressure": "kPa gauge",
    "steam_flow": "t/h",
    "steam_valve": "%", "inlet_temperature": "degC", "inlet_flow": "t/h", "outlet_flow": "t/h",
    "outlet_oxygen": "ppb",
    "vent_temperature": "degC", "level": "%", "makeup_flow": "t/h",
}  # fmt: skip
TAGS = [f"TAG-{i:02d}" for i in range(len(ROLES))]


def readings(days: int) -> pd.DataFrame:
    """Minutes of twelve tags that wander and are noisy, three decimals."""
    rng = np.random.default_rng(1)
    n = days * 1440
    time_us = pd.date_range("2025-01-01", periods=n, freq="min")
    wander = np.cumsum(rng.normal(0.0, 0.002, (n, len(TAGS))), axis=0)
    values = np.round(60.0 + 10.0 * np.tanh(wander) + rng.normal(0.0, 0.3, (n, len(TAGS))), 3)
    return pd.DataFrame(values, columns=TAGS).assign(timestamp=time_us)[["timestamp", *TAGS]]


def written(folder: Path, days: int) -> dict[str, Path]:
    """The readings in each form, and as a CSV a day."""
    wide = readings(days)
    long = melted(wide)
    paths = {}
    for form in FORMS:
        paths[form] = path = folder / form.replace(" ", ".")
        relation = duckdb.from_df(wide if form.startswith("wide") else long)
        (relation.write_parquet if form.endswith("parquet") else relation.write_csv)(str(path))
    paths["wide csv a day"] = folder / "day-*.csv"
    for day, part in wide.groupby(wide["timestamp"].dt.date):
        duckdb.from_df(part).write_csv(str(folder / f"day-{day}.csv"))
    return paths


def vessel(path: Path) -> Vessel:
    tags = {role: TagRef(tag, unit) for (role, unit), tag in zip(ROLES.items(), TAGS, strict=True)}
    return Vessel("DA-1", (str(path),), "auto", tags, None, None, 101325.0, None, {}, ())


def here(path: Path) -> int:
    fleet = Fleet("benchmark", path, "UTC", "si", None, (vessel(path),))
    return len(read_vessel(vessel(path), fleet, None, None).hourly)


def bare(path: Path, layout: str) -> int:
    if layout == "wide":
        medians = ", ".join(f'median("{tag}")' for tag in TAGS)
        sql = f"SELECT time_bucket(INTERVAL 1 hour, timestamp) AS h, {medians} FROM '{path}' GROUP BY h"
        return len(duckdb.sql(sql).fetchnumpy()["h"])
    hour = "time_bucket(INTERVAL 1 hour, timestamp)"
    sql = f"SELECT {hour} AS h, tag, median(value) FROM '{path}' GROUP BY h, tag"
    return len(duckdb.sql(sql).fetchnumpy()["h"]) // len(TAGS)


@dataclass(frozen=True)
class Seconds:
    """The best of a few rounds: by the wall's clock, and of all processors together."""

    wall: float
    cpu: float


def best(work: Callable[[], int], other: Callable[[], int]) -> tuple[Seconds, Seconds]:
    """Of each of two, run in turn so that a busy machine hits both."""
    walls, cpus = [np.inf, np.inf], [np.inf, np.inf]
    for _ in range(ROUNDS):
        for i, run in enumerate((work, other)):
            start, spent = time.perf_counter(), time.process_time()
            run()
            walls[i] = min(walls[i], time.perf_counter() - start)
            cpus[i] = min(cpus[i], time.process_time() - spent)
    return Seconds(walls[0], cpus[0]), Seconds(walls[1], cpus[1])


def compare(days: int) -> list[tuple[str, Seconds, Seconds]]:
    """(form, here, the bare engine)."""
    with tempfile.TemporaryDirectory() as folder:
        rows = []
        for form, path in written(Path(folder), days).items():
            layout = form.split()[0]
            if here(path) != bare(path, layout):
                raise AssertionError(f"{form}: not the same hours")
            rows.append((form, *best(lambda p=path: here(p), lambda p=path, a=layout: bare(p, a))))
        return rows


def parts(years: int) -> Iterator[pd.DataFrame]:
    """Twelve tags every 10 seconds, five days at a time."""
    days = 5
    wide = readings(days * 6)  # as many as minutes
    for k in range(DAYS * years // days):
        start = pd.Timestamp("2015-01-01") + pd.Timedelta(days=days * k)
        wide["timestamp"] = pd.date_range(start, periods=len(wide), freq="10s")
        yield wide


def melted(wide: pd.DataFrame) -> pd.DataFrame:
    return wide.melt("timestamp", var_name="tag").sort_values("timestamp", kind="stable")


def written_large(path: Path, form: str, years: int) -> None:
    """A large export, written part by part."""
    shaped = (melted(part) if form.startswith("long") else part for part in parts(years))
    if form.endswith("parquet"):
        first = pa.Table.from_pandas(next(shaped), preserve_index=False)
        with pq.ParquetWriter(path, first.schema, compression="none", use_dictionary=False) as out:
            out.write_table(first)
            for part in shaped:
                out.write_table(pa.Table.from_pandas(part, first.schema, preserve_index=False))
        return
    piece = path.with_name("piece.csv")
    with path.open("wb") as file:
        for k, part in enumerate(shaped):
            duckdb.from_df(part).write_csv(str(piece), header=k == 0)
            file.write(piece.read_bytes())


def peak(form: str, years: int) -> tuple[float, float, float]:
    """(export [GB], peak memory of a process that reads it [GB], its seconds)."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"large.{form.split()[1]}"
        written_large(path, form, years)
        code = (
            f"import resource, pathlib, reading; reading.here(pathlib.Path({str(path)!r})); "
            "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
        )
        begun = time.perf_counter()
        done = subprocess.run(
            [sys.executable, "-c", code],
            cwd=Path(__file__).parent,
            check=True,
            capture_output=True,
            text=True,
        )
        return path.stat().st_size / 1e9, int(done.stdout) * 1024 / 1e9, time.perf_counter() - begun


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("days", nargs="?", type=int, default=DAYS)
    parser.add_argument("--large", choices=FORMS)
    parser.add_argument("--years", type=int, default=4)
    asked = parser.parse_args()
    if asked.large:
        size, memory, seconds = peak(asked.large, asked.years)
        print(f"{asked.large} of {size:.2f} GB: peak memory {memory:.3f} GB, {seconds:.0f} s")
        return
    print(f"{'':16}{'here, s':>10}{'bare, s':>10}{'ratio':>8}{'of processor time':>20}")
    for form, ours, theirs in compare(asked.days):
        seconds = f"{form:16}{ours.wall:10.3f}{theirs.wall:10.3f}"
        print(f"{seconds}{ours.wall / theirs.wall:8.2f}{ours.cpu / theirs.cpu:20.2f}")


if __name__ == "__main__":
    main()
