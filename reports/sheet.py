"""incidents.csv, daily.parquet and the comparison's table: the result for spreadsheets and notebooks."""

import csv
import io
import math
from typing import BinaryIO

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from sevenppb.detect.incidents.incident import Evidence, FleetScan, Incident, VesselScan
from sevenppb.detect.scale import kept

COLUMNS = (
    "rank", "id", "vessel", "cause", "role", "confidence", "alternatives", "shape", "onset", "onset_low",
    "onset_high", "first_flagged", "ended", "state", "magnitude", "magnitude_value", "magnitude_low",
    "magnitude_high", "magnitude_unit", "urgency", "limit", "limit_at", "limit_low", "limit_high",
    "oxygen_excess_ppb", "steam_lost_kg_h", "cost_per_year", "evidence", "checks", "cautions",
)  # fmt: skip
# What a spreadsheet takes for the start of a formula, and the full-width twins of = + - @.
_FORMULA_STARTS = tuple("=+-@|%\t\r\n＝＋－＠")
_TOGETHER = 25  # vessels whose days are held and written at once


def incidents_csv(scan: FleetScan) -> bytes:
    """A row an incident, UTF-8 with a byte order mark (spreadsheets need it to read the degree sign)."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for incident in scan.incidents:
        writer.writerow([_cell(value) for value in _values(incident)])
    return text.getvalue().encode("utf-8-sig")


def write_daily(scan: FleetScan, stream: BinaryIO) -> None:
    """A row a vessel-day over all vessels as Parquet, a few vessels at a time; a vessel that lacks a column has nulls
    there."""
    text, day = pa.field("vessel", pa.string()), pa.field("date", pa.timestamp("us", tz="UTC"))
    columns: dict[str, pa.Field] = {text.name: text, day.name: day}
    scanned = [vessel for vessel in scan.vessels if vessel.state == "scanned"]
    for vessel in scanned:
        own = kept.columns(vessel)
        index = own.get_field_index(kept.day(own))
        for field in own.remove(index):
            columns.setdefault(field.name, field)
    schema = pa.schema(columns.values())
    every = schema.empty_table()
    # numbers that seldom repeat: a dictionary of them would cost more than it saves
    with pq.ParquetWriter(stream, schema, use_dictionary=[text.name]) as writer:
        for start in range(0, len(scanned), _TOGETHER):
            days = [_days(vessel) for vessel in scanned[start : start + _TOGETHER]]
            writer.write_table(pa.concat_tables([every, *days], promote_options="permissive").cast(schema))


def _days(vessel: VesselScan) -> pa.Table:
    days = kept.table(vessel)
    day = kept.day(days.schema)
    dates = days[day].cast(pa.timestamp("us", tz="UTC"))
    bare = days.drop_columns([day]).replace_schema_metadata()
    named = bare.add_column(0, "vessel", pa.repeat(pa.scalar(vessel.id, pa.string()), len(dates)))
    return named.add_column(1, "date", dates)


def compare_csv(table: pd.DataFrame) -> bytes:
    """The comparison's table, a row a vessel, written as incidents.csv is."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([_cell(str(name)) for name in table.columns])
    for row in table.itertuples(index=False):
        writer.writerow([_cell(value) for value in row])
    return text.getvalue().encode("utf-8-sig")


def compare_parquet(table: pd.DataFrame) -> bytes:
    """The comparison's table as Parquet."""
    content = io.BytesIO()
    table.to_parquet(content, index=False)
    return content.getvalue()


def defused(text: str) -> str:
    """Text that a spreadsheet would run as a formula gets an apostrophe in front; other text stays."""
    return f"'{text}" if text.lstrip(" ").startswith(_FORMULA_STARTS) else text


def _cell(value: object) -> str:
    """Numbers keep their sign; only text is defused."""
    if value is None or value is pd.NaT:
        return ""
    if isinstance(value, pd.Timestamp):
        return value.strftime("%Y-%m-%d")
    if isinstance(value, float):
        return "" if math.isnan(value) else f"{value:.6g}"
    if isinstance(value, int):
        return str(value)
    return defused(str(value))


def _values(row: Incident) -> tuple[object, ...]:
    limit = row.limit_reached
    return (
        row.rank, row.id, row.vessel, row.cause, row.role, row.confidence,
        "; ".join(f"{other.cause} {other.confidence:.2f}" for other in row.at_work_or_likely),
        row.shape, row.onset, *row.onset_interval, row.first_flagged, row.ended, row.state,
        row.magnitude.what, row.magnitude.value, row.magnitude.low, row.magnitude.high, row.magnitude.unit,
        row.urgency,
        *((limit.what, limit.at, limit.low, limit.high) if limit else (None,) * 4),
        row.consequence.oxygen_excess_ppb, row.consequence.steam_lost_kg_h, row.consequence.cost_per_year,
        "; ".join(_compared(part) for part in row.evidence),
        " ".join(row.checks), " ".join(row.cautions),
    )  # fmt: skip


def _compared(part: Evidence) -> str:
    return f"{part.feature} {part.observed:.6g} for {part.expected:.6g} {part.unit}"
