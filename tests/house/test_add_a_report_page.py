"""The example of a new report applies to the code as it is, and its command does what its page says."""

import html
import re
from pathlib import Path

import changed
import made_export
import pages

RUN = """
import sys
from sevenppb.reports.cli import app, roster
assert roster.__file__.startswith(sys.argv.pop(1))
app.main()
"""


def test_the_roster_is_written_beside_the_fleet_file(tmp_path: Path) -> None:
    place = changed.copy("add-a-report.md", tmp_path)
    (tmp_path / "exports").mkdir()
    made_export.write(tmp_path / "exports" / "da1-2025.csv")
    own = pages.blocks(pages.ROOT / "docs" / "your-own-export.md", "toml")
    fleet = next(block.text for block in own if "[fleet]" in block.text)
    (tmp_path / "fleet.toml").write_text(fleet, encoding="utf-8")
    said = changed.asked(place, RUN, str(place), "roster", "fleet.toml")
    assert said.strip() == f"Report: {tmp_path / 'roster' / 'roster.html'}"
    page = html.unescape((tmp_path / "roster" / "roster.html").read_text(encoding="utf-8"))
    cells = re.findall(r"<t[hd][^>]*>([^<]+)</t[hd]>", page.partition("<tbody>")[2])
    assert cells == ["DA-1", "scanned", "0", "–"]
    assert "default-src 'none'" in page
