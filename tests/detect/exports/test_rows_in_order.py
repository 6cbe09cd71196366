"""A text export that several threads parse at once keeps its rows' order: it tells which of two readings is the later
word, and in which pass of a repeated hour a reading lies."""

from pathlib import Path

import numpy as np
import pytest

from sevenppb.detect.exports import delimited, engine, load
from sevenppb.detect.exports.files import ExportFile

ROWS = 400_000  # several of the engine's groups of rows


def test_rows_are_numbered_as_they_lie_in_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(delimited, "_BUFFER", 300_000)  # some 50 pieces
    monkeypatch.setattr(delimited, "_LONGEST_LINE", 100_000)
    path = tmp_path / "long.csv"
    lines = (f"2025-01-01 00:00:00,{'PT-101' if k % 3 else 'TT-103'},{k}\n" for k in range(ROWS))
    path.write_text("timestamp,tag,value\n" + "".join(lines))
    with engine.start() as running:
        running.run("SET threads = 4")
        file = ExportFile(path, path.name, "text", "none")
        source, _ = load.opened(running, file, ["PT-101", "TT-103"], "auto", streamed=False)
        sql = f"SELECT {source.values[0].number} AS v FROM {source.relation} ORDER BY {source.row}"
        found = running.db.sql(sql).fetchnumpy()["v"]
    np.testing.assert_array_equal(found, np.arange(ROWS))
