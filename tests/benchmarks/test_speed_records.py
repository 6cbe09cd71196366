"""What the speed benchmark writes down, and that it measures what it says."""

from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from benchmarks import bare, made_exports, measured, record, scanning, speed_page
from benchmarks.record import Figure, Run
from sevenppb.detect.fleet import read_fleet

ROOT = Path(__file__).parents[2]


def run_of(commit: str, ratio: float, seconds: float, cores: int = 2) -> Run:
    figures = {
        "over reading": Figure(ratio, "", 2.0),
        "rate": Figure(30.0, "M points/s", 20.0, least=True),
        "time": Figure(seconds, "s", steady=False),
    }
    return Run(commit, "3.11", cores, figures, {"vessels": [{"vessels": 10, "cpu": 1.5}]})


def test_a_run_comes_back_from_its_file(tmp_path: Path) -> None:
    run = run_of("abc", 2.5, 10.0)
    assert record.read(record.write(tmp_path, run)) == run


def test_the_table_says_which_goals_are_met() -> None:
    lines = record.table(run_of("abc", 2.5, 10.0)).splitlines()
    assert lines[2] == "| over reading | 2.5 | ≤ 2 | no |"
    assert lines[3].endswith("| ≥ 20 M points/s | yes |")
    assert lines[4].endswith("|  |  |") or lines[4].endswith("| | |")


def test_two_runs_compare_and_seconds_only_on_as_many_cores() -> None:
    same = record.compared(run_of("old", 4.0, 10.0), run_of("new", 2.0, 5.0))
    assert "| over reading | 4 | 2 | 0.50 |" in same
    assert "| time | 10 | 5 s | 0.50 |" in same
    other = record.compared(run_of("old", 4.0, 10.0, cores=8), run_of("new", 2.0, 5.0))
    assert "over reading" in other
    assert "| time" not in other


def test_memory_and_time_count_the_children_too() -> None:
    child = "import time; held = bytearray(b'x') * 200_000_000; time.sleep(0.6)"
    cost = measured.run(
        measured.python(f"import subprocess, sys; subprocess.run([sys.executable, '-c', {child!r}])")
    )
    assert 200e6 < cost.peak < 300e6
    assert 0.0 < cost.cpu < cost.wall + 1.0


def test_made_exports_are_many_files_none_alike(tmp_path: Path) -> None:
    path = made_exports.write(tmp_path, vessels=6, days=3)
    assert [v.id for v in read_fleet(path).vessels] == [f"V-{n:04d}" for n in range(1, 7)]
    first, fifth = (pd.read_parquet(made_exports.exports(path)[n]) for n in (0, 4))
    assert first.shape == (3 * 1440, 1 + len(made_exports.ROLES))
    tags = first.columns[1:]
    alike = (first[tags] == fifth[tags]).mean()
    assert (alike < 0.1).sum() >= 6  # noise of its own, but for tags that mostly stand
    assert (abs(first[tags].median() / fifth[tags].median() - 1.0) < 0.01).all()  # and the same vessel


@pytest.mark.parametrize("engine", bare.ENGINES)
def test_a_bare_engine_takes_each_hours_median(engine: str, tmp_path: Path) -> None:
    path = made_exports.write(tmp_path, vessels=1, days=2)
    assert scanning.reading_alone(engine, path, workers=2).cpu > 0.0
    (export,) = made_exports.exports(path)
    found = bare.ENGINES[engine](1)(str(export))
    taken = pd.DataFrame(
        {name: found[name] for name in (found if engine == "duckdb" else found.column_names)}
    )
    frame = pd.read_parquet(export).set_index("time")
    known = frame.groupby(frame.index.floor("h")).median()
    hours = pd.DatetimeIndex(pd.to_datetime(taken.pop("hour"), utc=True))
    pd.testing.assert_frame_equal(
        taken.set_index(hours).sort_index(),
        known,
        check_names=False,
        check_index_type=False,
        check_freq=False,
    )


def test_the_page_takes_figures_curves_and_their_drawing(tmp_path: Path) -> None:
    points = [{"cpu": 4.0, "wall": 3.0, "peak_MB": 400.0}, {"cpu": 22.0, "wall": 13.0, "peak_MB": 500.0}]
    curves = {
        what: [{what: at, **point} for at, point in zip((10.0, 100.0), points, strict=True)]
        for what in ("vessels", "years")
    }
    (tmp_path / "images").mkdir()
    page = tmp_path / "performance.md"
    page.write_text((ROOT / "docs" / "performance.md").read_text(encoding="utf-8"), encoding="utf-8")
    speed_page.write(tmp_path, replace(run_of("abc", 2.5, 10.0), curves=curves))
    written = page.read_text(encoding="utf-8")
    assert "Commit abc, Python 3.11, 2 cores." in written
    assert "| over reading | 2.5 | ≤ 2 | no |" in written
    assert "| 100 | 22.0 s | 0.20 s | 13.0 s | 500 MB |" in written
    svg = (tmp_path / "images" / "performance.svg").read_text(encoding="utf-8")
    assert all(f"time against {what}" in svg for what in curves)
    with pytest.raises(ValueError, match="run with --curve"):
        speed_page.write(tmp_path, replace(run_of("abc", 2.5, 10.0), curves={}))
