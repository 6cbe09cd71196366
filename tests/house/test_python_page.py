"""The examples of the page on Python run, on the made-up export, and give what the page says."""

import ast
import contextlib
import io
import re
import subprocess
import sys
from pathlib import Path

import made_export
import pages
import pandas as pd
import pytest

from sevenppb import detect

PAGE = pages.ROOT / "docs" / "python.md"
OWN = pages.ROOT / "docs" / "your-own-export.md"
FACADE = pages.ROOT / "detect" / "__init__.py"


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
    heights = names["charts"].dropna()
    pd.testing.assert_frame_equal(
        heights.add_prefix("chart_"), told.daily.loc[heights.index, "chart_" + heights.columns]
    )
    assert not heights.empty
    assert sorted(path.name for path in tmp_path.iterdir()) == ["exports", "fleet.toml"]


def test_the_page_tells_all_that_is_public_and_nothing_else() -> None:
    code = "\n".join(block.text for block in pages.blocks(PAGE, "python"))
    text = re.sub(r"```.*?```", "", PAGE.read_text(encoding="utf-8"), flags=re.DOTALL)
    used = set(re.findall(r"\bdetect\.(\w+)", code))
    assert used <= set(dir(detect)) <= used | set(re.findall(r"`(?:detect\.)?(\w+)", text))


def test_a_type_checker_sees_what_a_program_gets() -> None:
    tree = ast.parse(FACADE.read_text(encoding="utf-8"))
    imports = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    seen = {
        alias.asname: (node.module, alias.name) for node in imports for alias in node.names if alias.asname
    }
    assert sorted(seen) == dir(detect)
    for name, (module, origin) in seen.items():
        assert getattr(detect, name) is getattr(sys.modules[str(module)], origin)
    with pytest.raises(AttributeError, match="no attribute 'scam'"):
        _ = detect.scam


def test_a_name_is_looked_up_when_it_is_used() -> None:
    code = (
        "import sys; from sevenppb import detect; from sevenppb.detect import limits; "
        "early = {'numpy', 'pandas'} & set(sys.modules); detect.scan_vessel; "
        "sys.exit(bool(early) or 'pandas' not in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
