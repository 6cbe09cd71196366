"""What `sevenppb check` prints of many files."""

from pathlib import Path

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
