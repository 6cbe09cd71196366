"""Every fault that a user can cause, as a small tree.

Fault                 anything the command line turns into one clear sentence
├── FleetFault        the fleet file is wrong: all its faults at once (exit status 2)
├── UnitFault         a unit nobody knows, or one that doesn't fit or doesn't say which pressure
├── ExportFault       an export can't be read, or holds nothing that can be used
├── VesselFault       one vessel can't be scanned; the others still are (exit status 1)
└── RegisterFault     the incident register can't be used, or has no such incident
"""


class Fault(Exception):
    """A user's mistake or a bad input: `str()` is one or more complete sentences with the remedy."""


class FleetFault(Fault):
    """The fleet file's faults, a sentence each, with file and line."""

    def __init__(self, sentences: list[str]) -> None:
        super().__init__("\n".join(sentences))
        self.sentences = tuple(sentences)


class UnitFault(Fault):
    """A unit can't be used as it stands; the sentence says why and what to write instead."""


class ExportFault(Fault):
    """An export file can't be used; the sentence names the file and, where known, the line or row group."""


class VesselFault(Fault):
    """One vessel can't be scanned; the sentence names the vessel, the reason and the remedy."""


class RegisterFault(Fault):
    """The incident register can't be used; the sentence names the file, the reason and the remedy."""
