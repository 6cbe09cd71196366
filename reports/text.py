"""The digest as plain text, for mail and for a terminal."""

import textwrap

from sevenppb.detect.causes import GENERAL_CAUTION
from sevenppb.reports.views.checkpoints import Checkpoint
from sevenppb.reports.views.digest import DigestPage, DigestView
from sevenppb.reports.views.week import AS_EXPECTED

WIDTH = 78
RULE = "-" * WIDTH


def digest_text(view: DigestView) -> str:
    """All pages, one after the other."""
    head = f"{view.fleet}: deaerators in the week {view.week}\n{view.tool}\n"
    pages = "\n".join(_page(page) for page in view.pages)
    return f"{head}\n{pages}\n{RULE}\n{_wrapped(GENERAL_CAUTION)}\n"


def _page(page: DigestPage) -> str:
    parts = [RULE, page.vessel, "", _wrapped(page.headline)]
    parts.extend(_wrapped(sentence, "  - ") for sentence in (*page.over, *page.sentences))
    if page.more:
        parts.append(f"  - and {page.more} more in the scan's report")
    if page.known:
        parts.extend(["", "Acknowledged already:", *(_wrapped(line, "  - ") for line in page.known)])
    if page.tell:
        parts.extend(["", "Tell:", *(_wrapped(line, "  - ") for line in page.tell)])
    parts.extend(["", "Four checkpoints:"])
    parts.extend(line for point in page.checkpoints for line in _point(point))
    parts.extend(["", _wrapped(page.judged)])
    if page.rows:
        parts.extend(["", _columns(("Medians", "this week", "last week", "expected", "differs"))])
        parts.extend(
            _columns((row.feature, row.observed, row.last, row.normal, row.verdict)) for row in page.rows
        )
    if page.checks:
        parts.extend(["", "To check:", *(_wrapped(check, "  [ ] ") for check in page.checks)])
    if page.cautions:
        parts.extend(["", *(_wrapped(caution, "  ! ") for caution in page.cautions)])
    return "\n".join([*parts, ""])


def _wrapped(text: str, mark: str = "") -> str:
    return textwrap.fill(
        text, WIDTH, initial_indent=mark, subsequent_indent=" " * len(mark), break_long_words=False
    )


def _point(point: Checkpoint) -> list[str]:
    lines = [_wrapped(f"{point.name}: {point.found}", "  [ ] ")]
    if point.row is not None:
        row = point.row
        told = f"{row.feature} {row.observed}; last week {row.last}, normal {row.normal}"
        lines.append(_wrapped(told, "      "))
    return lines


def _columns(cells: tuple[str, str, str, str, str]) -> str:
    """A line of the table; the last column says how the week differs, and nothing where it does not."""
    name, observed, last, expected, verdict = cells
    differs = "" if verdict == AS_EXPECTED else verdict.removesuffix(" than expected")
    return f"{name} {observed.rjust(35 - len(name))} {last:>15} {expected:>15}  {differs}".rstrip()
