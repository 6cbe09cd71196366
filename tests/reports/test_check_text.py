"""What `sevenppb check` prints of many files."""

from pathlib import Path

import numpy as np
import pandas as pd
from click.testing import CliRunner

from sevenppb.reports.cli import main


def test_many_files_read_alike_are_one_line_with_the_least_and_the_most(tmp_path: Path) -> None:
    for day in range(1, 7):
        rows = [f"2025-01-0{day} {h:02d}:00,{60 + h},{112 + h}" for h in range(24 if day != 4 else 5)]
        (tmp_path / f"day-{day}.csv").write_text("\n".join(["Time,PT-101,TT-103", *rows]))
    (tmp_path / "fleet.toml").write_text(
        '[fleet]\nname = "Northmere"\n[[vessel]]\nid = "DA-1"\nexports = ["day-*.csv"]\n[vessel.tags]\n'
        'shell_pressure = { tag = "PT-101", unit = "kPa gauge" }\n'
        'storage_temperature = { tag = "TT-103", unit = "degC" }\n'
    )
    shown = " ".join(CliRunner().invoke(main, ["check", str(tmp_path / "fleet.toml")]).output.split())
    assert f"6 files, {tmp_path}/day-1.csv to {tmp_path}/day-6.csv: 125 rows" in shown
    assert f"from 5 ({tmp_path}/day-4.csv) to 24 ({tmp_path}/day-1.csv)" in shown
    assert shown.count("time: year-month-day") == 1


PLANT = np.random.default_rng(5)
DAYS = 40


def vessel(folder: Path, name: str, superheated: float = 0.0, every: int = 1) -> str:
    """A made-up vessel's export of hours, as the fleet file names it; its pressure stands once in `every` hours."""
    rows = ["Time,PT-101,TT-103"]
    for hour in range(DAYS * 24):
        time = pd.Timestamp("2025-01-01") + pd.Timedelta(hours=hour)
        noise = PLANT.standard_normal()
        pressure = f"{60 + noise:.2f}" if hour % every == 0 else ""
        rows.append(f"{time:%Y-%m-%d %H:%M},{pressure},{113 + superheated + 0.2 * noise:.2f}")
    (folder / f"{name}.csv").write_text("\n".join(rows))
    return (
        f'[[vessel]]\nid = "{name}"\nexports = ["{name}.csv"]\n[vessel.tags]\n'
        'shell_pressure = { tag = "PT-101", unit = "kPa gauge" }\n'
        'storage_temperature = { tag = "TT-103", unit = "degC" }\n'
    )


def checked(folder: Path, *vessels: str) -> tuple[int, list[str]]:
    (folder / "fleet.toml").write_text(f'[fleet]\nname = "Northmere"\n{"".join(vessels)}')
    found = CliRunner().invoke(main, ["check", str(folder / "fleet.toml")])
    return found.exit_code, found.output.splitlines()


def test_the_last_line_names_the_vessels_that_ask_for_something(tmp_path: Path) -> None:
    good, hot = vessel(tmp_path, "DA-1"), vessel(tmp_path, "DA-2", superheated=122.0)
    code, lines = checked(tmp_path, good)
    assert (code, lines[-1]) == (0, "1 vessel checked; nothing to put right.")
    code, lines = checked(tmp_path, good, hot, good.replace("DA-1", "DA-3"))
    assert (code, lines[-1]) == (
        1,
        "3 vessels checked; to put right: DA-2; can't be scanned: DA-2; not read: DA-3.",
    )


def test_a_vessel_that_cant_be_scanned_is_told_at_the_end_with_the_tag_at_fault(tmp_path: Path) -> None:
    code, lines = checked(tmp_path, vessel(tmp_path, "DA-1"), vessel(tmp_path, "DA-4", every=12))
    assert (code, lines[-1]) == (1, "2 vessels checked; can't be scanned: DA-4.")
    told = " ".join(" ".join(lines).split())
    assert (
        "DA-4: too little data: 0 days of steady running; too seldom stored: shell pressure (PT-101)" in told
    )
    assert "once in 12 hours; export them at even times, every 30 minutes or more often" in told
    assert "storage temperature (TT-103)" not in told
