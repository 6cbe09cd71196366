"""The chart library is put together once and then found again, whatever has become of the file meanwhile."""

from importlib import metadata
from pathlib import Path

import platformdirs
import pytest
import vl_convert

from sevenppb.reports.charts import bundled

WORDS = "window.vegaEmbed = vegaEmbed;"


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What the library was asked to put together."""
    asked: list[str] = []

    def bundle(words: str) -> str:
        asked.append(words)
        return f"library();\r\n{words} // é"

    monkeypatch.setattr(vl_convert, "javascript_bundle", bundle)
    return asked


@pytest.fixture
def cached(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "cache" / "sevenppb"
    monkeypatch.setattr(platformdirs, "user_cache_path", lambda _: folder)
    return folder


def test_put_together_once(cached: Path, made: list[str]) -> None:
    first = bundled.script(WORDS)
    assert bundled.script(WORDS) == first
    assert made == [WORDS]
    assert len(list(cached.iterdir())) == 1


def test_other_words_and_other_versions_are_other_files(
    cached: Path, made: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert bundled.script(WORDS) != bundled.script("other();")
    monkeypatch.setattr(metadata, "version", lambda _: "99.0")
    bundled.script(WORDS)
    assert made == [WORDS, "other();", WORDS]
    assert len(list(cached.iterdir())) == 3


@pytest.mark.parametrize("damage", [b"", b"abc", b"\xff\xfe\n\x00", None])
def test_a_damaged_file_is_made_anew(cached: Path, made: list[str], damage: bytes | None) -> None:
    first = bundled.script(WORDS)
    (place,) = cached.iterdir()
    place.write_bytes(place.read_bytes()[:-1] if damage is None else damage)
    assert bundled.script(WORDS) == first
    assert bundled.script(WORDS) == first
    assert made == [WORDS, WORDS]


def test_where_nothing_can_be_written_it_is_done_without(cached: Path, made: list[str]) -> None:
    cached.parent.mkdir()
    cached.write_text("a file where the folder should be")
    assert bundled.script(WORDS) == bundled.script(WORDS)
    assert made == [WORDS, WORDS]
