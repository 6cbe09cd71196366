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


def test_the_last_line_names_the_vessels_that_ask_for_something(tmp_path: Path) -> None:
    hours = [f"2025-01-01 {h:02d}:00,{60 + h},{112 + h / 10}" for h in range(24)]
    (tmp_path / "good.csv").write_text("\n".join(["Time,PT-101,TT-103", *hours]))
    hot = [f"2025-01-01 {h:02d}:00,{60 + h},{234 + h / 10}" for h in range(24)]
    (tmp_path / "hot.csv").write_text("\n".join(["Time,PT-101,TT-103", *hot]))
    vessel = (
        '[[vessel]]\nid = "{id}"\nexports = ["{file}"]\n[vessel.tags]\n'
        'shell_pressure = {{ tag = "PT-101", unit = "kPa gauge" }}\n'
        'storage_temperature = {{ tag = "TT-103", unit = "degC" }}\n'
    )
    named = [("DA-1", "good.csv"), ("DA-2", "hot.csv"), ("DA-3", "none.csv")]

    def last(vessels: list[tuple[str, str]]) -> str:
        text = "".join(vessel.format(id=name, file=file) for name, file in vessels)
        (tmp_path / "fleet.toml").write_text(f'[fleet]\nname = "Northmere"\n{text}')
        return CliRunner().invoke(main, ["check", str(tmp_path / "fleet.toml")]).output.splitlines()[-1]

    assert last(named[:1]) == "1 vessel checked; nothing to put right."
    assert last(named) == "3 vessels checked; to put right: DA-2; not read: DA-3."
