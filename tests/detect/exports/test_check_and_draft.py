"""Setting up: what a check shows and which unit it doubts, and a drafted fleet file that can be read back."""

from pathlib import Path

import numpy as np
import pandas as pd
import plant
import pytest

from sevenppb.detect import units
from sevenppb.detect.errors import VesselFault
from sevenppb.detect.exports import vessels
from sevenppb.detect.exports.check import VesselCheck, check_vessel
from sevenppb.detect.exports.draft import draft
from sevenppb.detect.exports.read import read_vessel
from sevenppb.detect.fleet import TagRef, read_fleet
from sevenppb.detect.physics.steam import saturation_temperature


def boiling(days: int = 4) -> pd.DataFrame:
    """Ten-minute readings of a vessel whose water is 0.7 degC below boiling at 60 kPa gauge."""
    rng = np.random.default_rng(5)
    time = pd.date_range("2025-02-01", periods=days * 144, freq="10min", tz="UTC", name="timestamp")
    gauge = 60 + rng.standard_normal(len(time))
    water = saturation_temperature(gauge * 1000 + 101325.0) - 0.7 + 0.05 * rng.standard_normal(len(time))
    flow = 150 + 10 * rng.standard_normal(len(time))
    return pd.DataFrame(
        {"PT-101": gauge, "TT-103": water, "FT-110": flow, "AT-120": 5 + rng.random(len(time))}, index=time
    ).round(3)


def checked(frame: pd.DataFrame, folder: Path, **tags: TagRef) -> VesselCheck:
    frame.to_parquet(folder / "export.parquet")
    vessel = plant.vessel(folder / "export.parquet", tags={**plant.TAGS, **tags})
    return check_vessel(vessel, plant.fleet("UTC"))


def test_what_is_there(tmp_path: Path) -> None:
    frame = boiling()
    frame.iloc[100:130, 1] = np.nan
    frame.iloc[200, 1] = -40.0
    got = checked(frame, tmp_path)
    assert [t.role for t in got.tags] == list(plant.TAGS)
    tag = got.tags[1]
    assert (tag.tag, tag.unit, tag.readings, tag.used) == ("TT-103", "degC", 576, 545)
    assert tag.bad == {"empty": 30, "out of range": 1}
    assert (tag.first, tag.last) == (frame.index[0], frame.index[-1].floor("h"))
    assert tag.interval == pd.Timedelta("10min")
    assert (tag.gaps, tag.longest_gap) == (1, pd.Timedelta("4h"))
    assert tag.middle == pytest.approx(frame["TT-103"].median(), abs=0.2)
    assert got.tags[0].unit == "kPa gauge"
    assert got.tags[0].middle == pytest.approx(60, abs=0.5)
    assert got.problems == ()
    assert got.files[0].rows == 576
    assert "a column a tag" in got.files[0].form


@pytest.mark.parametrize(
    ("pressure", "temperature", "words"),
    [
        (
            "kPa abs",
            "degC",
            'the water would be 27 degC hotter than boiling. Most likely "PT-101" is in kPa gauge.',
        ),
        ("psi gauge", "degC", 'below boiling. Most likely "PT-101" is in kPa gauge.'),
        ("bar gauge", "degC", 'Most likely "PT-101" is in kPa gauge.'),
        ("kPa gauge", "degF", 'below boiling. Most likely "TT-103" is in degC.'),
        ("kPa gauge", "K", 'Most likely "TT-103" is in degC.'),
        ("psi abs", "degF", 'Most likely "PT-101" is in kPa gauge and "TT-103" in degC.'),
    ],
)
def test_a_wrong_unit_is_seen_and_the_likely_one_named(
    tmp_path: Path, pressure: str, temperature: str, words: str
) -> None:
    got = checked(
        boiling(),
        tmp_path,
        shell_pressure=TagRef("PT-101", pressure),
        storage_temperature=TagRef("TT-103", temperature),
    )
    (problem,) = got.problems
    assert words in problem


@pytest.mark.parametrize("subcooling", [0.0, 2.0, 5.0, 8.0])
def test_a_sick_vessel_is_no_wrong_unit(tmp_path: Path, subcooling: float) -> None:
    frame = boiling()
    frame["TT-103"] -= subcooling
    assert checked(frame, tmp_path).problems == ()


def test_a_vessel_that_stands_cold_half_the_time_is_no_wrong_unit(tmp_path: Path) -> None:
    frame = boiling(days=10)
    stands = np.arange(len(frame)) // 144 % 2 == 1
    frame.loc[stands, ["PT-101", "TT-103", "FT-110"]] = [0.0, 45.0, 0.0]
    assert checked(frame, tmp_path).problems == ()
    wrong = checked(frame, tmp_path, shell_pressure=TagRef("PT-101", "kPa abs")).problems
    assert 'Most likely "PT-101" is in kPa gauge.' in wrong[0]


def test_steam_below_the_shell_and_flows_that_do_not_match(tmp_path: Path) -> None:
    frame = boiling()
    frame["PT-200"] = 145.0
    frame["FT-100"] = frame["FT-110"] * 0.9 * 2.20462
    got = checked(
        frame, tmp_path, steam_pressure=TagRef("PT-200", "kPa abs"), inlet_flow=TagRef("FT-100", "t/h")
    )
    assert len(got.problems) == 2
    assert 'steam_pressure ("PT-200", kPa abs) lies 16 kPa below shell_pressure' in got.problems[0]
    assert 'Most likely "PT-200" is gauge.' in got.problems[0]
    assert "most likely t/h and klb/h are mixed up" in got.problems[1]


@pytest.mark.parametrize(
    ("reads", "unit", "words"),
    [
        (
            158.0,
            "degC",
            'lies 45 degC above storage_temperature, but water comes in to be heated. Most likely "TT-90" is in',
        ),
        (158.0, "degC", '"TT-90" is in degF.'),
        (150.0, "degC", "degF."),
        (120.0, "degC", "degF."),
        (420.0, "K", "Check its tag and unit."),
    ],
)
def test_water_that_comes_in_hotter_than_storage_has_a_wrong_unit(
    tmp_path: Path, reads: float, unit: str, words: str
) -> None:
    frame = boiling()
    frame["TT-90"] = reads
    (problem,) = checked(frame, tmp_path, inlet_temperature=TagRef("TT-90", unit)).problems
    assert problem.startswith(f'inlet_temperature ("TT-90", {unit}) lies ')
    assert words in problem


@pytest.mark.parametrize("reads", [20.0, 95.0, 113.0])
def test_water_that_comes_in_colder_is_as_it_should_be(tmp_path: Path, reads: float) -> None:
    frame = boiling()
    frame["TT-90"] = reads
    assert checked(frame, tmp_path, inlet_temperature=TagRef("TT-90", "degC")).problems == ()


HEADER = "Time,PT-101,TT-103,FT-110,AT-120,FT-90,PT-200,XX-7"
DESCRIPTIONS = ",DA 1 shell pressure,Storage temp,Boiler feed flow,Dissolved oxygen outlet,Condensate inlet flow,Steam header,"
UNITS = ",kPa,degC,t/h,ppb,t/h,kPa,"


def described(folder: Path) -> Path:
    frame = boiling(2).assign(**{"FT-90": 135.0, "PT-200": 400.0, "XX-7": 1.0})
    rows = [
        f"{t},{','.join(map(str, row))}"
        for t, row in zip(frame.index.strftime("%d/%m/%Y %H:%M"), frame.to_numpy(), strict=True)
    ]
    path = folder / "exports" / "export.csv"
    path.parent.mkdir()
    path.write_text("\n".join([HEADER, DESCRIPTIONS, UNITS, *rows]))
    return path


def test_a_draft_can_be_read_back_and_used(tmp_path: Path) -> None:
    path = described(tmp_path).with_name("export-2025-02.csv")
    described_text = (tmp_path / "exports" / "export.csv").read_text().replace("01/02/2025", "31/01/2025")
    (tmp_path / "exports" / "export.csv").unlink()
    path.write_text(described_text)
    text = draft([path], tmp_path)
    (tmp_path / "fleet.toml").write_text(text)
    fleet = read_fleet(tmp_path / "fleet.toml")
    (vessel,) = fleet.vessels
    assert vessel.id == "DA-1"
    assert {role: reference.tag for role, reference in vessel.tags.items()} == {
        "shell_pressure": "PT-101",
        "storage_temperature": "TT-103",
        "outlet_flow": "FT-110",
        "outlet_oxygen": "AT-120",
        "inlet_flow": "FT-90",
    }
    assert vessel.tags["shell_pressure"].unit == "kPa gauge"
    assert "boiling water" in text
    assert "gauge because it fits saturation" in text
    assert (
        '# steam_pressure = { tag = "PT-200", unit = "kPa gauge" }  # doubtful: "kPa": gauge or abs?' in text
    )
    assert "# no role guessed for: XX-7, 1 to 1, no unit" in text
    assert "carry no zone" in text
    got = read_vessel(vessel, fleet, None, None)
    assert (got.tally["used"] > 0).all()


@pytest.mark.parametrize(
    ("units", "display"),
    [(",psi,degF,klb/h,ppb,klb/h,psi,", "us"), (",psi,degC,klb/h,ppb,klb/h,psi,", "si"), (UNITS, "si")],
)
def test_reports_are_drafted_in_the_exports_own_units(tmp_path: Path, units: str, display: str) -> None:
    path = described(tmp_path)
    path.write_text(path.read_text().replace(UNITS, units))
    assert f'display = "{display}"  # or ' in draft([path], tmp_path)


def test_two_vessels_are_told_apart_by_their_names(tmp_path: Path) -> None:
    frame = boiling()
    both = pd.concat(
        [
            frame[["PT-101", "TT-103"]].set_axis(
                [f"DA{n}.shell_press [kPa(g)]", f"DA{n}.storage_temp [degC]"], axis=1
            )
            for n in (1, 2)
        ],
        axis=1,
    )
    both.to_csv(tmp_path / "both.csv")
    (tmp_path / "fleet.toml").write_text(draft([tmp_path / "both.csv"], tmp_path))
    fleet = read_fleet(tmp_path / "fleet.toml")
    assert [v.id for v in fleet.vessels] == ["DA-1", "DA-2"]
    assert [v.tags["storage_temperature"].tag for v in fleet.vessels] == [
        "DA1.storage_temp",
        "DA2.storage_temp",
    ]


@pytest.mark.parametrize(
    ("name", "number"),
    [
        ("d12ab34c5d6e7f8091a2b3c4d5e6f708-0.parquet", None),
        ("DA7a0b1c-d12f-4d3a-9d4b-0a1b2c3d4e5f.csv", None),
        ("DA-3_d12ab34c5d6e7f8091a2b3c4d5e6f708.csv", "3"),
        ("D-2 shell pressure", "2"),
    ],
)
def test_a_files_random_name_names_no_vessel(name: str, number: str | None) -> None:
    """Random names, as libraries give them to a folder's files, may begin like D12."""
    assert vessels.vessel_number([name]) == number


def test_names_can_not_break_the_draft(tmp_path: Path) -> None:
    frame = boiling().rename(
        columns={"PT-101": 'shell "press" \\ [kPa gauge]', "TT-103": "storage temp\nno = 1 [degC]"}
    )
    frame.to_parquet(tmp_path / "odd.parquet")
    (tmp_path / "fleet.toml").write_text(draft([tmp_path / "odd.parquet"], tmp_path))
    (vessel,) = read_fleet(tmp_path / "fleet.toml").vessels
    assert vessel.tags["storage_temperature"].tag == "storage temp\nno = 1"
    assert read_vessel(vessel, plant.fleet("UTC"), None, None).total > 0


def test_the_likely_unit_is_none_where_two_would_do() -> None:
    from sevenppb.detect.exports import sanity

    pressure, temperature = pd.Series([101.0]), pd.Series([99.0])
    assert (
        sanity.likely(pressure, temperature, ("kPa abs", "kPa abs"), ("degC",), units.STANDARD_ATMOSPHERE)
        is None
    )


def test_many_files_are_one_pattern_that_names_no_other(tmp_path: Path) -> None:
    for day in ("01", "02", "03", "11", "12"):
        (tmp_path / f"da1 [{day}].csv").write_text(
            f"Time,PT-101\n2025-01-{day} 00:00,60\n2025-01-{day} 01:00,61\n"
        )
    paths = sorted(tmp_path.glob("*.csv"))
    assert 'exports = ["da1 [[]*].csv"]' in draft(paths, tmp_path)
    assert draft(paths[1:], tmp_path).count(".csv") == 4  # a pattern would name the first one too


@pytest.mark.parametrize(
    ("dates", "line"),
    [
        (["03/04/2025", "13/04/2025"], 'dates = "day first"  # told by these exports'),
        (["03/04/2025"], '# dates = "day first"  # or "month first": the exports can be read both ways'),
        (["2025-04-03"], None),
    ],
)
def test_the_order_of_day_and_month_is_drafted_where_it_counts(
    tmp_path: Path, dates: list[str], line: str | None
) -> None:
    (tmp_path / "e.csv").write_text(
        "\n".join(["Time,PT-101", *(f"{d} 0{h}:00,60" for d in dates for h in range(9))])
    )
    text = draft([tmp_path / "e.csv"], tmp_path)
    assert line in text if line else "dates =" not in text


def test_a_draft_of_no_file_speaks_of_no_vessel(tmp_path: Path) -> None:
    with pytest.raises(VesselFault) as told:
        draft([tmp_path / "none-*.csv"], tmp_path)
    assert str(told.value) == f"no file matches {tmp_path}/none-*.csv. Name exports that are there."
