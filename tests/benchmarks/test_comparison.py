"""The benchmark of detection in its smallest size: fleets, scans, two rivals, tables, drawings, page."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from benchmarks.quality import chapters, compare, costs, page, readings
from benchmarks.quality.__main__ import arguments_of
from benchmarks.quality.chapters import Chapter
from benchmarks.quality.compare import Compared
from benchmarks.quality.rivals import table
from sevenppb.synthetic import simulation
from sevenppb.synthetic.faults import Fault
from sevenppb.synthetic.simulation import FleetPlan, PlannedFault

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "detection.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def compared() -> Compared:
    plan = FleetPlan(
        vessels=2,
        healthy=1,
        days=230,
        step_minutes=60,
        baseline_days=100,
        roles="all",
        causes=("fouled-sprays",),
    )
    rivals = tuple(
        name
        for name, module in table.RIVALS.items()
        if module in ("shewhart", "ewma_regressions", "ewma_textbook", "always_on")
    )
    return compare.compared("every instrument", plan, (7,), (8,), 2, rivals)


def test_every_way_of_watching_is_judged_on_the_same_faults(compared: Compared) -> None:
    own, *rivals = compared.outcomes
    assert own.name == "sevenppb"
    assert [o.name for o in rivals][-1] == "always on"
    assert {o.faults for o in compared.outcomes} == {1}
    assert {o.false.vessel_years for o in compared.outcomes} == {own.false.vessel_years}
    assert own.named is not None
    assert all(o.named is None for o in rivals)
    assert compared.allowed >= 0.1


def test_limits_that_nobody_set_have_no_hindsight_and_the_others_keep_the_rate(compared: Compared) -> None:
    assert {*compared.same} == {*compared.curves}
    assert len(compared.same) == len(compared.outcomes) - 3
    assert compared.rate == max(compared.outcomes[0].false.per_year, 0.1)
    assert all(o.false.per_year <= compared.rate for o in compared.same.values())


def test_the_scan_is_repeated_at_other_budgets(compared: Compared) -> None:
    assert list(compared.budgets) == [0.03, 0.1, 0.3, 1.0]
    assert compared.budgets[0.1] is compared.outcomes[0]
    assert all({*result.budgets} == {*compare.BUDGETS} for result in compared.results)


def test_always_on_finds_all_and_cries_wolf_all_the_time(compared: Compared) -> None:
    always = compared.outcomes[-1]
    assert always.found == always.faults
    assert always.false.per_year > 4.0


def test_what_a_vessel_costs_and_how_long_the_rest_takes(compared: Compared) -> None:
    spent = costs.table(compared.results).set_index("what")["processor seconds a vessel"].astype(float)
    assert {"making it up", "reading it", "sevenppb", "sevenppb at other budgets", "Shewhart chart"} < {
        *spent.index
    }
    assert spent["sevenppb at other budgets"] > spent["sevenppb"] > 0
    seconds = {"making it up": 1.0, "sevenppb": 2.0, "sevenppb at other budgets": 7.0, "Shewhart chart": 3.0}
    done = [replace(compared.results[0], seconds=seconds)]
    assert costs.minutes_left(done, [(10, 0), (20, 3)]) == pytest.approx((10 * 6 + 20 * 12) / 60 / 2)
    assert costs.minutes_left(done, []) == 0.0


def written(chapter: Chapter, folder: Path) -> str:
    """The page with the chapter in its places."""
    (folder / "detection.md").write_text(PAGE, encoding="utf-8")
    page.write(folder, chapter.tables, chapter.texts, chapter.drawings)
    return (folder / "detection.md").read_text(encoding="utf-8")


def test_the_page_gets_its_tables_and_drawings(compared: Compared, tmp_path: Path) -> None:
    asked = arguments_of(
        [
            "--seeds",
            "7",
            "--vessels",
            "2",
            "--healthy",
            "1",
            "--days",
            "230",
            "--minutes",
            "60",
            "--baseline",
            "100",
        ]
    )
    told = written(chapters.comparison([compared], asked), tmp_path)
    for text in (
        "| sevenppb | ",
        "| fouled sprays | 1 |",
        "False incidents while nothing was wrong",
        "seeds 7, 2 vessels",
    ):
        assert text in told
    images = tmp_path / "images"
    assert {p.name for p in images.iterdir()} == {
        "detection.svg", *(f"detection-{name}-every.csv" for name in ("ways", "sooner", "budgets", "causes")),
    }  # fmt: skip
    drawn = (images / "detection.svg").read_text(encoding="utf-8")
    assert "Shewhart chart" in drawn
    assert "always on" not in drawn


def test_the_detection_alone_writes_its_own_part_of_the_page(compared: Compared, tmp_path: Path) -> None:
    sets = {"every instrument": compared.results, "drawn instruments": compared.results}
    told = written(chapters.alone(sets, arguments_of(["--seeds", "7", "--alone"])), tmp_path)
    assert {p.name for p in (tmp_path / "images").iterdir()} == {"detection-alone.csv", "reliability.svg"}
    assert "--alone --write docs" in told
    assert "| faults, vessel-years without one | 1, " in told
    assert f"The {2 * compared.outcomes[0].found} incidents that found a fault on seeds 7, " in told
    comparison = PAGE[PAGE.index("<!-- measured: ways-every -->") : PAGE.index("## Is a stated")]
    assert comparison in told


def test_a_page_without_a_place_says_so() -> None:
    with pytest.raises(ValueError, match="measured: ways"):
        page.filled("nothing here", {"ways": "a table"})


def test_stuck_readings_are_found_as_in_exports() -> None:
    """Also behind a gauge transmitter, whose reading with a barometer added no longer stands still."""
    specs = simulation.drawn_specs(FleetPlan(seed=3, vessels=8))
    gauge = next(spec for spec in specs if spec.gauge_transmitters)
    fault = Fault("sensor-stuck", 40.0, 40.0, None, "step", 0.0, "", "shell_pressure")
    plan = FleetPlan(
        seed=3,
        vessels=1,
        specs=(gauge,),
        faults=(PlannedFault(0, fault),),
        roles="all",
        days=60,
        bad_values=False,
    )
    (made,) = simulation.simulate(plan)
    vessel = readings.vessel_of(made, 30)
    (stuck,) = readings.readings_of(made, vessel).stuck
    assert stuck.role == "shell_pressure"
    assert abs(stuck.start - made.labels[0].onset).total_seconds() < 3600


def test_the_matrix_profile_sees_a_shift() -> None:
    """Its compiler takes half a minute: left out, in a process of its own."""
    pytest.importorskip("stumpy")
    code = (
        "import sys; sys.path[:0] = sys.argv[1:]\n"
        "import test_rivals as t\nfrom benchmarks.quality.rivals import matrix_profile as m\n"
        "m.daily.load_corrected = lambda hours, until, f=m.daily.load_corrected: f(hours, until)[['storage_temperature']]\n"
        "a, b = m.alarms(t.hours(3.0), t.UNTIL), m.alarms(t.hours(0.0), t.UNTIL)\n"
        "print(a.iloc[-5:].min() > 2 * b[b.index >= t.UNTIL].max(), (a.iloc[:105] == b.iloc[:105]).all())"
    )
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", code, str(ROOT), str(Path(__file__).parent)],
        env={"NUMBA_DISABLE_JIT": "1", "OPENBLAS_NUM_THREADS": "1", "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.split() == ["True", "True"], done.stderr
