"""Whether an incident's cause is told by name, and which causes are named where it isn't."""

from sevenppb.detect.incidents.incident import Alternative, Incident

TOLD = 0.5  # confidence from which a cause is told: a lower one is less likely than not
FEWEST, MOST = 2, 3  # causes named where none is told
BESIDE = 0.5  # of the likeliest's share, from which a further one is named too


def is_told(incident: Incident) -> bool:
    """Whether the readings tell the cause."""
    return incident.confidence >= TOLD


def likely(incident: Incident) -> tuple[Alternative, ...]:
    """The likeliest causes, the incident's own among them, by falling share; what no known cause explains is last."""
    own = Alternative(incident.cause, incident.role, incident.confidence)
    least = BESIDE * own.confidence
    few = [
        row for n, row in enumerate((own, *incident.alternatives)) if n < FEWEST or row.confidence >= least
    ]
    return tuple(sorted(few[:MOST], key=lambda row: row.cause == "unexplained"))
