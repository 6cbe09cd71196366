"""What a scan's command and its largest worker need at the most, against the number of vessels.

Five exports serve all vessels: of every twenty, one is that of a year in which an incident is found, and the others are
of 90 days. Kept results are theirs under other names, with the stamps that a scan would give them.
"""

import functools
import re
import shutil
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from benchmarks import made_exports, scanning
from benchmarks.measured import MEGA, Cost
from sevenppb.detect import fleet_scan
from sevenppb.detect.exports import files
from sevenppb.detect.fleet import read_fleet
from sevenppb.detect.scale import kept, stamp
from sevenppb.detect.settings import DEFAULTS

QUIET, DAYS = 4, 90  # exports without an incident
YEAR = 365
EVERY = 20
HEADS = ("what", "vessels", "command", "largest worker", "all together", "wall time", "`scan.html`")


def table(folder: Path, scanned: Sequence[int], known: Sequence[int], workers: int) -> str:
    """Peaks of whole scans of `scanned` vessels, and of scans of `known` vessels whose results are all kept, as a
    Markdown table."""
    rows = [HEADS, ("---",) * len(HEADS)]
    for count in scanned:
        path = fleet_file(folder, count)
        rows.append(_told("scan", path, count, scanning.scan(path, workers)))
    for count in known:
        path = fleet_file(folder, count)
        shutil.rmtree(scanning.out(path), ignore_errors=True)
        keep_results(path, scanning.out(path) / "cache")
        rows.append(_told("reports on kept results", path, count, scanning.scan_again(path, 1)))
    return "\n".join(f"| {' | '.join(cells)} |" for cells in rows)


def _told(what: str, fleet: Path, count: int, cost: Cost) -> tuple[str, ...]:
    peaks = (f"{peak / MEGA:.0f} MB" for peak in (cost.command, cost.worker, cost.peak))
    page = (scanning.out(fleet) / "scan.html").stat().st_size
    return what, f"{count:,}", *peaks, f"{cost.wall:.0f} s", f"{page / MEGA:.1f} MB"


def fleet_file(folder: Path, vessels: int) -> Path:
    """Writes a fleet file of so many vessels, and the exports that they share where they are not there yet."""
    head, year = _parts(made_exports.made(folder, 1, YEAR))
    quiet = []
    if vessels > 1:
        own, *quiet = _parts(made_exports.made(folder, QUIET, DAYS))
        baseline = re.search(r"^baseline = .*$", own, flags=re.MULTILINE)
        assert baseline is not None
        quiet = [block.replace("[vessel.tags]", f"{baseline[0]}\n[vessel.tags]") for block in quiet]
    path = folder / "fleet.toml"
    with path.open("w", encoding="utf-8") as stream:
        stream.write(head)
        for n in range(vessels):
            block = quiet[n % QUIET] if n % EVERY else year
            stream.write(re.sub(r'^id = ".*"$', f'id = "V-{n + 1:06d}"', block, flags=re.MULTILINE))
    return path


def _parts(fleet: Path) -> list[str]:
    """The fleet's own part, and each vessel's, with its exports as seen from the folder above."""
    text = fleet.read_text(encoding="utf-8").replace('exports = ["', f'exports = ["{fleet.parent.name}/')
    return re.split(r"(?=^\[\[vessel\]\])", text, flags=re.MULTILINE)


def keep_results(fleet: Path, folder: Path) -> None:
    """Writes into `folder` what a scan of the fleet would keep, by scanning the first vessels alone."""
    described = read_fleet(fleet)
    few = replace(described, vessels=described.vessels[:EVERY])
    found = {
        vessel.exports: result
        for vessel, result in zip(few.vessels, fleet_scan.scan(few).vessels, strict=True)
    }
    folder.mkdir(parents=True)
    hashed = functools.cache(_hashed)
    for vessel in described.vessels:
        result = found[vessel.exports]
        own = replace(
            result,
            id=vessel.id,
            incidents=tuple(replace(incident, vessel=vessel.id) for incident in result.incidents),
        )
        made_from = stamp.stamp(vessel, described, (None, None), DEFAULTS, hashed(vessel.exports))
        (folder / f"{vessel.id}{fleet_scan.ENDING}").write_bytes(kept.encoded(own, made_from))


def _hashed(exports: tuple[str, ...]) -> tuple[str, ...]:
    with tempfile.TemporaryDirectory() as unpacked:
        return stamp.contents(files.find("", exports, Path(unpacked)))
