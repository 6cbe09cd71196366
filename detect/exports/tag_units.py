"""Which unit a role's readings are in: the fleet file's word first, then the exports'."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from sevenppb.detect import units
from sevenppb.detect.errors import UnitFault, VesselFault
from sevenppb.detect.exports import engine, sources
from sevenppb.detect.exports.fetch import Raw
from sevenppb.detect.exports.load import Source
from sevenppb.detect.fleet import Vessel, reading_quantity
from sevenppb.detect.units import Unit


@dataclass(frozen=True)
class Told:
    """A role's unit, each export's own where that is what counts, and notes on them."""

    unit: Unit
    own: tuple[Unit | None, ...]
    notes: tuple[str, ...]


def told(vessel: Vessel, running: engine.Engine, opened: Sequence[Source], position: int, role: str) -> Told:
    """The role's unit: the fleet file's, else the exports'. Each export's own is kept where they differ."""
    reference = vessel.tags[role]
    said = [sources.unit_of(running, source, position, reference.tag) for source in opened]
    here = f'vessel "{vessel.id}", {role} (tag "{reference.tag}")'
    texts = [text for text in said if text]
    chosen = reference.unit or (texts[0] if texts else None)
    if chosen is None:
        raise VesselFault(
            f'{here}: no unit, in the fleet file or in the exports. Add unit = "..." in the fleet file.'
        )
    try:
        unit = units.resolve(chosen, reading_quantity(role))
        own = [
            None if reference.unit or not text else units.resolve(text, reading_quantity(role))
            for text in said
        ]
    except UnitFault as fault:
        raise VesselFault(f"{here}, as the export says: {fault}") from None
    notes = [f"{role}: {unit.note}"] if unit.note else []
    other = [text for text in texts if reference.unit and units.fold(text) != units.fold(reference.unit)]
    if other and _contradicts(other[0], unit, reading_quantity(role)):
        notes.append(
            f'{role}: the export says "{other[0]}", the fleet file "{reference.unit}": the fleet file\'s is '
            "used"
        )
    return Told(unit, tuple(own), tuple(notes))


def _contradicts(text: str, unit: Unit, quantity: str) -> bool:
    """Whether an export's unit is another than the fleet file's; a bare pressure unit fits gauge and abs."""
    for candidate in (text, f"{text} gauge", f"{text} abs"):
        try:
            found = units.resolve(candidate, quantity)
        except UnitFault:
            continue
        if np.isclose(found.scale, unit.scale) and found.offset == unit.offset and candidate != text:
            return False
        if candidate == text and (found.scale, found.offset, found.reference) == (
            unit.scale,
            unit.offset,
            unit.reference,
        ):
            return False
    return True


def in_unit(raw: Raw, told: Told, export: int, barometer: float) -> Raw:
    """The readings in the role's unit, where an export of its own accord uses another."""
    own = told.own[export]
    if own is None or (own.scale, own.offset, own.reference) == (
        told.unit.scale,
        told.unit.offset,
        told.unit.reference,
    ):
        return raw
    return replace(raw, value=units.undo(units.apply(raw.value, own, barometer), told.unit, barometer))
