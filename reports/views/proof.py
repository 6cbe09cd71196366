"""A proof for the reliability engineer: FleetProof → finished values."""

from dataclasses import dataclass

from sevenppb.detect.causes import CAUSES
from sevenppb.detect.fleet import Fleet
from sevenppb.detect.proof.records import CauseProof, FleetProof, VesselProof
from sevenppb.detect.settings import Settings
from sevenppb.reports import numbers, words
from sevenppb.reports.numbers import Units


@dataclass(frozen=True)
class CauseRow:
    """One cause: text for each column."""

    cause: str
    tried: str
    found: str
    named: str
    smallest: str
    interval: str
    days: str


@dataclass(frozen=True)
class Dot:
    """One trial: its size in the shown unit, days to find it; `found` False: missed, drawn at the top."""

    size: float
    days: float
    found: bool


@dataclass(frozen=True)
class TrialsChart:
    """One cause's trials. `low` to `high` is the interval of the size found nine times in ten [shown unit];
    None where none of the tried sizes is."""

    title: str
    alt: str
    axis: str
    within: int
    dots: tuple[Dot, ...]
    low: float
    high: float | None


@dataclass(frozen=True)
class VesselSection:
    """One vessel: a sentence, rows and charts; `error` where it could not be tried."""

    vessel: str
    sentence: str
    false: str
    rows: tuple[CauseRow, ...]
    charts: tuple[TrialsChart, ...]
    unseen: str | None
    error: str | None


@dataclass(frozen=True)
class ProofView:
    """The whole page, in reading order."""

    fleet: str
    tool: str
    lead: str
    method: tuple[str, ...]
    sections: tuple[VesselSection, ...]


def proof_view(proof: FleetProof, fleet: Fleet, settings: Settings) -> ProofView:
    """All that the page shows, in the fleet's display units."""
    units = {row.id: Units(fleet.display, row.barometer) for row in fleet.vessels}
    return ProofView(
        fleet=proof.fleet,
        tool=proof.tool,
        lead=_lead(proof, settings),
        method=_method(proof),
        sections=tuple(_section(vessel, proof, units[vessel.id]) for vessel in proof.vessels),
    )


def _lead(proof: FleetProof, settings: Settings) -> str:
    tried = [row for vessel in proof.vessels for row in vessel.causes]
    if not tried:
        return "No vessel could be tried."
    found, trials = sum(row.found for row in tried), sum(len(row.trials) for row in tried)
    years = sum(vessel.years for vessel in proof.vessels)
    false = sum(vessel.false for vessel in proof.vessels)
    return (
        f"{found} of {trials} faults found, of sizes from hardly visible to severe; "
        f"{words.count(false, 'false incident')} in {numbers.number(years, 1)} vessel-years without a fault "
        f"(the scan allows {settings.false_alarms:g} a vessel-year)."
    )


def _method(proof: FleetProof) -> tuple[str, ...]:
    return (
        f"Each copy is the vessel's own baseline as it was, followed by {proof.watched} days made of weeks "
        "drawn from that baseline: same days of the week, and the same time of year where the baseline holds "
        "it. What the baseline never saw, no copy holds: later years may be harder.",
        f"A fault grows for {proof.growth} days in a straight line and then stays. Every reading moves as "
        "the balance model says that it would, hour by hour at that hour's load: in a plant that answers "
        "otherwise, a fault is found sooner or later than here.",
        f"Found means flagged within {proof.within} days of the onset, by a watch that sees no later day.",
        "The smallest size found nine times in ten is read off a probit curve through the trials; its 90 % "
        f"interval is as wide as {proof.trials} trials of a cause leave it; --trials gives more.",
        "Stuck sensors are not tried: they are found by a rule, not by statistics. A sensor's drift is given "
        "in usual drifts of the instrument drawn for the trial.",
        f"The draws come from seed {proof.seed}: the same seed and readings give the same page.",
    )


def _section(vessel: VesselProof, proof: FleetProof, units: Units) -> VesselSection:
    if vessel.baseline is None:
        return VesselSection(vessel.id, "", "", (), (), None, vessel.error or vessel.state)
    unseen = tuple(words.cause(cause, None) for cause in vessel.unseen)
    return VesselSection(
        vessel=vessel.id,
        sentence=f"Baseline {words.days(*vessel.baseline)}.",
        false=(
            f"{words.count(vessel.false, 'false incident')} on {vessel.untouched} copies without a fault, "
            f"{numbers.number(vessel.years, 1)} vessel-years."
        ),
        rows=tuple(_row(row, units) for row in vessel.causes),
        charts=tuple(_chart(row, proof, units) for row in vessel.causes),
        unseen=f"Not visible with these tags, so not tried: {words.listed(unseen)}." if unseen else None,
        error=None,
    )


def _row(row: CauseProof, units: Units) -> CauseRow:
    unit, smallest = row.unit, row.smallest
    sizes = [trial.size for trial in row.trials]
    if smallest.value is None:
        value, interval = f"over {numbers.amount(max(sizes), unit, units)}", numbers.NONE
    else:
        least = "under " if smallest.value < min(sizes) else ""
        value = least + numbers.amount(max(smallest.value, min(sizes)), unit, units)
        interval = (
            f"over {numbers.amount(smallest.low, unit, units)}"
            if smallest.high is None
            else numbers.interval(smallest.low, smallest.high, unit, units)
        )
    return CauseRow(
        cause=words.cause(row.cause, None),
        tried=_span(min(sizes), max(sizes), unit, units),
        found=f"{row.found} of {len(row.trials)}",
        named=f"{sum(trial.named for trial in row.trials)} of {row.found}" if row.found else numbers.NONE,
        smallest=value,
        interval=interval,
        days=numbers.number(row.days, 0),
    )


def _span(least: float, most: float, unit: str, units: Units) -> str:
    """ "7.5 to 67 %": the unit stands once."""
    ends = [numbers.amount(end, unit, units).split(numbers.SPACE, 1) for end in (least, most)]
    return f"{ends[0][0]} to {numbers.SPACE.join(ends[1])}"


def _chart(row: CauseProof, proof: FleetProof, units: Units) -> TrialsChart:
    scale = numbers.move_scale(row.unit, units)
    text = _row(row, units)
    cause = words.cause(row.cause, None)
    title = f"{cause[0].upper()}{cause[1:]}: smallest found nine times in ten {text.smallest}"
    return TrialsChart(
        title=title,
        alt=f"{title}; {text.found} trials found, sizes {text.tried}.",
        axis=f"{CAUSES[row.cause].what} ({scale.label})",
        within=proof.within,
        dots=tuple(
            Dot(trial.size * scale.factor, proof.within if trial.days is None else trial.days, trial.found)
            for trial in row.trials
        ),
        low=row.smallest.low * scale.factor,
        high=None if row.smallest.high is None else row.smallest.high * scale.factor,
    )
