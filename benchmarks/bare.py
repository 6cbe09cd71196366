"""Reading alone: a bare engine reads exports and takes hourly medians.

python benchmarks/bare.py ENGINE THREADS EXPORT...   with as many exports at once as there are threads
"""

import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

Hourly = Callable[[str], Any]  # an export's path → its medians by hour


def with_duckdb(threads: int) -> Hourly:
    import duckdb

    database = duckdb.connect(config={"threads": str(threads)})

    def hourly(path: str) -> Any:
        own = database.cursor()
        time, *tags = [row[0] for row in own.execute(f"DESCRIBE SELECT * FROM '{path}'").fetchall()]
        medians = ", ".join(f'median("{tag}") AS "{tag}"' for tag in tags)
        sql = f"SELECT time_bucket(INTERVAL 1 hour, {time}) AS hour, {medians} FROM '{path}' GROUP BY hour"
        return own.execute(sql).fetchnumpy()

    return hourly


def with_pyarrow(threads: int) -> Hourly:
    """By pyarrow's only median of groups: an approximate one, exact for as few values as an hour holds."""
    import pyarrow as pa
    import pyarrow.compute as pc
    import pyarrow.parquet as pq

    pa.set_cpu_count(threads)

    def hourly(path: str) -> Any:
        table = pq.read_table(path)
        time, *tags = table.column_names
        table = table.append_column("hour", pc.floor_temporal(table[time], unit="hour"))
        medians = table.group_by("hour").aggregate([(tag, "approximate_median") for tag in tags])
        return medians.rename_columns(["hour", *tags])

    return hourly


ENGINES = {"duckdb": with_duckdb, "pyarrow": with_pyarrow}


def main(engine: str, threads: int, exports: list[str]) -> None:
    """Nothing is kept of an export once it is counted."""
    hourly = ENGINES[engine](threads)
    with ThreadPoolExecutor(threads) as pool:
        for _ in pool.map(hourly, exports):
            pass


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), sys.argv[3:])
