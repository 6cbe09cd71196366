"""What all exports of a vessel settle together: whether each tag is there, and its unit."""

import difflib
from collections.abc import Sequence

from sevenppb.detect.errors import ExportFault, VesselFault
from sevenppb.detect.exports.engine import Engine, literal
from sevenppb.detect.exports.load import Source, match
from sevenppb.detect.fleet import Vessel

_SHOWN = 20_000  # tags of an export that are looked through for the nearest name


def all_there(vessel: Vessel, engine: Engine, opened: Sequence[Source], wanted: Sequence[str]) -> None:
    """Raises VesselFault with every tag that no export holds, and the nearest name that one does."""
    missing = [tag for i, tag in enumerate(wanted) if not any(_holds(engine, s, i) for s in opened)]
    names = sorted({name for s in opened for name in tag_names(engine, s)})
    told = []
    for tag in missing:
        role = next(r for r, reference in vessel.tags.items() if reference.tag == tag)
        near = difflib.get_close_matches(tag, names, n=2, cutoff=0.5)
        hint = f" (nearest: {' or '.join(near)})" if near else ""
        told.append(f'"{tag}" for {role}{hint}')
    shown = f"They hold {len(names)} tags: {', '.join(names[:8])}{', ...' if len(names) > 8 else ''}."
    raise VesselFault(
        f'vessel "{vessel.id}": no export holds the tag {", nor ".join(told)}. {shown} '
        "Correct the tag in the fleet file or export it too."
    )


def _holds(engine: Engine, source: Source, position: int) -> bool:
    if source.code is None:
        return source.values[position] is not None
    sql = f"SELECT 1 FROM {source.relation} WHERE {source.code} = {position + 1} LIMIT 1"
    return bool(engine.rows(sql))


def tag_names(engine: Engine, source: Source) -> list[str]:
    """The tags that an export holds."""
    if source.form.long is None:
        return [column.tag for column in source.form.wide]
    column = source.form.long.tag.sql
    sql = f"SELECT DISTINCT {column}::VARCHAR AS tag FROM {source.raw} WHERE {column} IS NOT NULL"
    sql += f" ORDER BY tag LIMIT {_SHOWN}"
    return [row[0] for row in engine.rows(sql)]


def unit_of(engine: Engine, source: Source, position: int, tag: str) -> str | None:
    """The unit that an export names for a tag. Raises ExportFault where it names several."""
    if source.form.long is None:
        column = match(source.form.wide, tag)
        return column.unit if column else None
    if source.form.long.unit is None:
        return None
    unit = source.form.long.unit.sql
    sql = (
        f"SELECT DISTINCT trim({unit}::VARCHAR) FROM {source.raw} WHERE {source.form.long.tag.sql}::VARCHAR "
        f"= {literal(tag)} "
        f"AND trim({unit}::VARCHAR) <> '' LIMIT 3"
    )
    found = [row[0] for row in engine.rows(sql)]
    if len(found) > 1:
        raise ExportFault(
            f'{source.file.shown}: tag "{tag}" is in {" and in ".join(found)}. Export it in one unit, or in '
            "a file each."
        )
    return found[0] if found else None
