import os
from pathlib import Path

import pytest

from sevenppb.reports import write


def test_files_appear_under_their_names_only(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "scan"
    write.write_all(folder, {"a.json": b"{}", "b.csv": b"1"})
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == {"a.json": b"{}", "b.csv": b"1"}


def test_a_failure_leaves_the_old_set_untouched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write.write_all(tmp_path, {"a.json": b"old", "b.csv": b"old"})
    synced = []

    def full_disk(handle: int) -> None:
        synced.append(handle)
        if len(synced) == 2:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full_disk)
    with pytest.raises(
        write.WriteFault, match=r"Can't write to .*: No space left on device\. Choose another"
    ):
        write.write_all(tmp_path, {"a.json": b"new", "b.csv": b"new"})
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {
        "a.json": b"old",
        "b.csv": b"old",
    }


def test_a_folder_that_is_a_file_is_told_in_one_sentence(tmp_path: Path) -> None:
    place = tmp_path / "taken"
    place.write_text("x", encoding="utf-8")
    with pytest.raises(write.WriteFault, match="Can't write to"):
        write.write_all(place, {"a": b""})


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such mask")
def test_reports_are_as_readable_as_any_new_file(tmp_path: Path) -> None:
    write.write_all(tmp_path, {"a": b""})
    (tmp_path / "b").touch()
    assert (tmp_path / "a").stat().st_mode == (tmp_path / "b").stat().st_mode
