"""Vessels that run as few do: in shifts, in batches or at levels that change within days, with a set-point that
is moved every few months and instruments that wander more. For judging a detection that was built on others;
common practice from memory, no source."""

from dataclasses import replace

from sevenppb.synthetic.vessel import Rhythm, VesselSpec

RHYTHMS: tuple[Rhythm, ...] = ("shifts", "batches", "levels")
SET_POINTS = 4.0  # times a year that the set-point is moved
RESTLESS = 2.0  # wander of the instruments over that of usual ones


def unusual(spec: VesselSpec, number: int) -> VesselSpec:
    """The vessel with these habits, and nothing else changed; `number` in its fleet tells the rhythm."""
    rhythm = RHYTHMS[number % len(RHYTHMS)]
    return replace(spec, rhythm=rhythm, set_points=SET_POINTS, restless=RESTLESS)
