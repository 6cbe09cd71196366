"""The examples of the page on Python run, on the made-up export, and give what the page says."""

import contextlib
import io
from pathlib import Path

import made_export
import pages
import pandas as pd
import pytest

PAGE = pages.ROOT / "docs" / "python.md"
OWN = pages.ROOT / "docs" / "your-own-export.md"


def test_the_examples_run_one_after_the_other(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "exports").mkdir()
    made_export.write(tmp_path / "exports" / "da1-2025.csv")
    fleet = next(block.text for block in pages.blocks(OWN, "toml") if "[fleet]" in block.text)
    (tmp_path / "fleet.toml").write_text(fleet, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    names: dict[str, object] = {}
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        for block in pages.blocks(PAGE, "python"):
            exec(compile(block.text, PAGE.name, "exec"), names)
    assert "DA-1/2025-001 sensor-stuck 2025-0" in printed.getvalue()
    found, told, residuals = names["found"], names["told"], names["residuals"]
    assert found.incidents == told.incidents
    pd.testing.assert_frame_equal(names["daily"], told.daily, check_freq=False)
    assert residuals.notna().any().all()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["exports", "fleet.toml"]
