"""Every form of export read back with plain tools gives the simulated readings; the fleet file and the truth
agree with them."""

import io
import json
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from sevenppb.synthetic.demo import SCENES, demo_plan
from sevenppb.synthetic.faults import CAUSES, Fault
from sevenppb.synthetic.fleet import write_fleet
from sevenppb.synthetic.forms import BAD_WORDS, FORMS, Form, Written, write_vessel
from sevenppb.synthetic.sensors import INSTRUMENTS
from sevenppb.synthetic.simulation import (
    FleetPlan,
    PlannedFault,
    Simulated,
    assumed_barometer,
    drawn_specs,
    simulate,
)
from sevenppb.synthetic.tuning import tuned

ZONE = "Europe/Oslo"
# over the end of daylight saving, 2023-10-29
DRAWN = FleetPlan(seed=6, vessels=2, faults=(), roles="all", days=8, step_minutes=20, start="2023-10-25")
PLAN = replace(DRAWN, specs=tuple(tuned(drawn_specs(DRAWN))))

# unit → (factor, offset) to Pa, °C, kg/s, fractions of one, ppb; exact by definition
BACK = {
    "kPa": (1e3, 0.0), "bar": (1e5, 0.0), "mbar": (1e2, 0.0), "hPa": (1e2, 0.0),
    "psi": (6894.757293168361, 0.0),
    "degC": (1.0, 0.0), "degF": (5 / 9, -160 / 9), "t/h": (1 / 3.6, 0.0), "kg/h": (1 / 3600, 0.0),
    "kg/s": (1.0, 0.0), "lb/h": (0.45359237 / 3600, 0.0), "percent": (0.01, 0.0), "ppb": (1.0, 0.0),
}  # fmt: skip


@pytest.fixture(scope="module")
def made() -> list[Simulated]:
    return simulate(PLAN)


def _table(path: Path, form: Form) -> tuple[pd.DataFrame, dict[str, str]]:
    """A file as text or numbers with its time in UTC under "at", and the units that it says itself."""
    if form.container == "parquet":
        table = pd.read_parquet(path)
        return table.rename(columns={table.columns[0]: "at"}), {}
    table = pd.read_csv(
        path,
        sep=form.delimiter,
        dtype=str,
        keep_default_na=False,
        encoding=form.encoding,
        comment="#" if form.comment else None,
    )
    said: dict[str, str] = {}
    if form.units_row:
        said = {str(k): str(v) for k, v in table.iloc[0].items()}
        table = table.iloc[1:].reset_index(drop=True)
    stamps = table.pop(table.columns[0])
    if form.stamps == "epoch":
        at = pd.to_datetime(stamps.astype("int64"), unit="s", utc=True)
    elif form.stamps == "utc":
        at = pd.to_datetime(stamps, format="%Y-%m-%dT%H:%M:%SZ", utc=True)
    else:
        local = pd.DatetimeIndex(pd.to_datetime(stamps, format=form.stamps))
        # the repeated hour: the first pass is summer time; a long export repeats each stamp a tag, so the
        # pass is told by whether the clock has gone back before
        back = np.flatnonzero(np.diff(local.asi8) < 0)
        summer = np.arange(len(local)) <= (back[0] if len(back) else len(local))
        at = pd.Series(local.tz_localize(ZONE, ambiguous=summer).tz_convert("UTC"))
    return table.assign(at=at.to_numpy()), said


def _number(text: pd.Series, form: Form) -> pd.Series:
    if form.container == "parquet":
        return text.astype(float)
    good = text.mask(text.isin(BAD_WORDS))
    return pd.to_numeric(good.str.replace(",", ".") if form.comma else good).astype(float)


def _read_back(folder: Path, written: Written, form: Form) -> dict[str, tuple[pd.Series, str]]:
    paths = sorted(path for pattern in written.exports for path in folder.glob(pattern))
    parts = [_table(path, form) for path in paths]
    table, said = pd.concat([part for part, _ in parts], ignore_index=True), parts[0][1]
    out = {}
    for role, (tag, unit) in written.tags.items():
        rows = table if form.layout == "wide" else table[table["tag"] == tag]
        column = rows[tag] if form.layout == "wide" else rows["value"]
        index = pd.DatetimeIndex(rows["at"]).tz_localize("UTC") if rows["at"].dt.tz is None else rows["at"]
        out[role] = (pd.Series(_number(column, form).to_numpy(), pd.DatetimeIndex(index)), unit or said[tag])
    return out


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.name)
@pytest.mark.parametrize("number", [0, 1])
def test_a_form_read_back_gives_the_readings(
    tmp_path: Path, made: list[Simulated], form: Form, number: int
) -> None:
    vessel = made[number]
    written = write_vessel(tmp_path, number + 1, vessel, form, ZONE)
    assert written.layout == form.layout
    assert set(written.tags) == set(vessel.readings)
    assumed = pd.Series(assumed_barometer(vessel.spec, vessel.readings), vessel.readings.index)
    for role, (shown, unit) in _read_back(tmp_path, written, form).items():
        name, _, kind = unit.partition(" ")
        factor, offset = BACK[name]
        assert kind in (("gauge", "abs") if role in ("shell_pressure", "steam_pressure") else ("",))
        value = shown * factor + offset + (assumed.reindex(shown.index) if kind == "gauge" else 0.0)
        expected = vessel.readings[role].reindex(shown.index)
        resolution = INSTRUMENTS[role].resolution
        assert (abs(value - expected).dropna() <= 1.01 * resolution).all(), role
        assert (value.isna() == expected.isna()).all(), role
        if form.layout == "wide":
            there = vessel.readings.index[vessel.readings.notna().any(axis=1)]
            assert shown.index.equals(there) or (shown.index == there).all()
        else:
            # what is held from one stored value to the next strays no further than the deadband
            held = value.ffill().reindex(vessel.readings.index).ffill()
            typical = vessel.readings[role].abs().median() if INSTRUMENTS[role].relative else 1.0
            allowed = 0.4 * INSTRUMENTS[role].accuracy * typical + 1.01 * resolution
            barometer = 0.0 if kind != "gauge" else abs(assumed - assumed.shift(1)).max() * 24
            assert (abs(held - vessel.readings[role]).dropna() <= allowed + barometer).all(), role


def test_a_long_export_is_much_shorter_than_the_readings(tmp_path: Path, made: list[Simulated]) -> None:
    form = next(form for form in FORMS if form.name == "long-parquet")
    written = write_vessel(tmp_path, 1, made[0], form, ZONE)
    stored = len(pd.read_parquet(tmp_path / written.exports[0]))
    assert stored < 0.9 * made[0].readings.size


def test_quality_says_bad_exactly_where_there_is_no_value(tmp_path: Path, made: list[Simulated]) -> None:
    for name, good in (("long-csv", "192"), ("quality-words", "Good")):
        form = next(form for form in FORMS if form.name == name)
        written = write_vessel(tmp_path, 1, made[0], form, ZONE)
        table = pd.read_csv(tmp_path / written.exports[0], dtype=str, keep_default_na=False)
        bad = table["value"].isin(BAD_WORDS)
        assert bad.any()
        assert ((table["quality"] == good) == ~bad).all()


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    faults = (
        PlannedFault(0, Fault("choked-vent", 2.0, 4.0, 6.0, "ramp", 0.5, "fraction")),
        PlannedFault(1, Fault("sensor-drift", 3.0, 3.0, None, "step", 1.5, "K", "storage_temperature")),
    )
    plan = replace(PLAN, faults=faults, forms=("spreadsheet", "monthly-parquet"), name="Made-up mill")
    return write_fleet(tmp_path_factory.mktemp("fleet"), plan)


def test_the_fleet_file_names_what_is_there(fleet: Path) -> None:
    content = tomllib.loads(fleet.read_text())
    assert content["fleet"]["name"] == "Made-up mill"
    assert content["fleet"]["timezone"] == ZONE
    assert content["fleet"]["baseline"] == "180 days"
    assert [v["id"] for v in content["vessel"]] == ["DA-1", "DA-2"]
    for vessel in content["vessel"]:
        assert {"shell_pressure", "storage_temperature"} <= set(vessel["tags"])
        for pattern in vessel["exports"]:
            assert list(fleet.parent.glob(pattern))
    first, second = content["vessel"]
    assert "unit" not in first["tags"]["shell_pressure"]
    assert second["tags"]["storage_temperature"]["unit"] == "degF"
    assert [w["resets"] for w in first["work"]] == [["vent"]]
    assert "work" not in second


def test_the_truth_says_what_was_done(fleet: Path) -> None:
    truth = json.loads((fleet.parent / "truth.json").read_text())
    assert [(t["vessel"], t["cause"], t["role"], t["shape"]) for t in truth] == [
        ("DA-1", "choked-vent", None, "ramp"),
        ("DA-2", "sensor-drift", "storage_temperature", "step"),
    ]
    assert truth[0]["onset"] == "2023-10-27T00:00:00Z"
    assert truth[0]["full"] == "2023-10-29T00:00:00Z"
    assert truth[0]["ended"] == "2023-10-31T00:00:00Z"
    assert truth[1]["ended"] is None
    assert truth[1]["size"] == 1.5
    assert "+1.5 K" in truth[1]["words"]
    assert "+50%" in truth[0]["words"]


def test_the_same_plan_writes_the_same_bytes(tmp_path: Path) -> None:
    plan = replace(PLAN, days=3, forms=("american", "long-csv"))
    for name in ("a", "b"):
        write_fleet(tmp_path / name, plan)
    files = sorted(p.relative_to(tmp_path / "a") for p in (tmp_path / "a").rglob("*") if p.is_file())
    assert len(files) == 4
    for file in files:
        assert (tmp_path / "a" / file).read_bytes() == (tmp_path / "b" / file).read_bytes()


def test_the_demo_has_every_cause_once_and_two_healthy_vessels() -> None:
    plan = demo_plan(days=2, step_minutes=60)
    causes = [scene.fault.cause for scene in SCENES if scene.fault is not None]
    assert sorted(causes) == sorted(CAUSES)
    assert len(SCENES) - len(causes) == 2
    assert plan.specs is not None
    assert [spec.id for spec in plan.specs] == [scene.id for scene in SCENES]
    assert {scene.form for scene in SCENES} == {form.name for form in FORMS}
    for scene in SCENES:
        if scene.fault is not None:
            assert plan.baseline_days < scene.fault.onset < 700


def test_readable_numbers_only(tmp_path: Path, made: list[Simulated]) -> None:
    form = next(form for form in FORMS if form.name == "wide-csv")
    written = write_vessel(tmp_path, 1, made[0], form, ZONE)
    text = (tmp_path / written.exports[0]).read_text()
    table = pd.read_csv(io.StringIO(text), dtype=str, keep_default_na=False)
    longest = max(table[c].str.len().max() for c in table.columns[1:])
    assert longest <= 12
