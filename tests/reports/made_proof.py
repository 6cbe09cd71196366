"""A made-up fleet's proof, built without any detector: what the reports are tested on."""

from made_scan import day

from sevenppb.detect.proof.records import CauseProof, FleetProof, Trial, VesselProof
from sevenppb.detect.proof.sizes import Smallest


def trial(size: float, days: float | None, named: bool = True, role: str | None = None) -> Trial:
    return Trial(role, size, days is not None, named and days is not None, days)


def cause(slug: str, unit: str, smallest: Smallest, *tried: Trial) -> CauseProof:
    days = [t.days for t in tried if t.days is not None]
    return CauseProof(
        slug, "area lost", unit, tried, smallest, sorted(days)[len(days) // 2] if days else None
    )


def made() -> FleetProof:
    vent = cause(
        "choked-vent",
        "fraction",
        Smallest(0.41, 0.28, None),
        trial(0.1, None),
        trial(0.35, 66.0),
        trial(0.66, 26.2),
    )
    easy = cause(
        "fouled-sprays", "fraction", Smallest(0.06, 0.02, 0.19), trial(0.1, 28.0), trial(0.6, 5.0, False)
    )
    never = cause("heat-loss", "kW", Smallest(None, 90.0, None), trial(10.0, None), trial(80.0, None))
    scanned = VesselProof(
        "DA-1",
        "scanned",
        None,
        (day("2025-01-01"), day("2025-04-30")),
        (easy, vent, never),
        ("open-vent",),
        6,
        2.46,
        1,
    )
    gone = VesselProof("DA-2", "failed", "DA-2: no export fits <da2.csv>.", None, (), (), 0, 0.0, 0)
    return FleetProof("Northmere heating plant", "sevenppb 0.1.0", 4, 6, 150, 60, 120, (scanned, gone))
