"""The beginning of a text export, unpacked and decoded: what its form is judged by."""

import codecs
import io
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from sevenppb.detect.errors import ExportFault
from sevenppb.detect.exports.files import ExportFile

HEAD_BYTES = 1 << 18
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"),
)  # fmt: skip
_BINARY_SHARE = 0.01  # of control bytes: a text has next to none


@dataclass(frozen=True)
class Head:
    """`lines` without their ends; `whole` where they are the whole file; `plain` where the engine can read
    the file as it is (UTF-8, one kind of line end)."""

    encoding: str
    plain: bool
    lines: tuple[str, ...]
    whole: bool


@contextmanager
def opened(file: ExportFile) -> Iterator[IO[bytes]]:
    """The file's bytes, unpacked."""
    import pyarrow as pa

    with pa.OSFile(str(file.path), "rb") as raw:
        if file.compression == "none":
            yield raw
        else:
            with pa.CompressedInputStream(raw, file.compression) as unpacked:
                yield unpacked


def read(file: ExportFile) -> Head:
    """Raises ExportFault: can't be unpacked, empty, or no text."""
    try:
        with opened(file) as stream:
            start = stream.read(HEAD_BYTES)
            whole = len(start) < HEAD_BYTES or not stream.read(1)
    except OSError as error:
        raise unpacking(file, error) from None
    encoding = _encoding(start)
    text = start[len(_mark(start)) :].decode(
        "utf-8" if encoding == "utf-8-sig" else encoding, errors="replace"
    )
    control = sum(text.count(chr(c)) for c in range(32) if c not in (9, 10, 12, 13))
    if control > _BINARY_SHARE * len(text):
        raise ExportFault(f"{file.shown}: is neither text nor Parquet. Export it as CSV or Parquet.")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not any(line.strip() for line in lines):
        raise ExportFault(f"{file.shown}: holds nothing but blank lines. Export it again.")
    complete = lines if whole else lines[:-1]
    if not complete:
        raise ExportFault(
            f"{file.shown}:1: the first line is longer than {HEAD_BYTES // 1024} kB: no table. Export it "
            "again."
        )
    ends = {"\r\n": text.count("\r\n")}
    ends |= {"\n": text.count("\n") - ends["\r\n"], "\r": text.count("\r") - ends["\r\n"]}
    one_end = sum(count > 0 for count in ends.values()) <= 1
    return Head(encoding, encoding.startswith("utf-8") and one_end, tuple(complete), whole)


def unpacking(file: ExportFile, error: Exception) -> ExportFault:
    """What to say of a file that can't be unpacked."""
    packed = f"is not a complete {file.compression} file" if file.compression != "none" else "can't be read"
    reason = str(error).splitlines()[0]
    return ExportFault(f"{file.shown}: {packed} ({reason}). Copy or export it again.")


def _mark(start: bytes) -> bytes:
    return next((mark for mark, _ in _MARKS if start.startswith(mark)), b"")


def _encoding(start: bytes) -> str:
    for mark, encoding in _MARKS:
        if start.startswith(mark):
            return encoding
    even, odd = start[0::2].count(0), start[1::2].count(0)
    if max(even, odd) > len(start) // 5:
        return "utf-16-le" if odd > even else "utf-16-be"
    try:
        codecs.getincrementaldecoder("utf-8")().decode(start)  # a character cut at the end is no fault
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def as_utf8(file: ExportFile, encoding: str, folder: Path) -> Path:
    """A copy for the engine: unpacked, in UTF-8 without a mark, with one kind of line end. Bytes that the
    encoding doesn't know become question marks in diamonds: a value with one is no number, and counted."""
    copy = folder / f"utf8-{len(list(folder.iterdir()))}.csv"
    try:
        with opened(file) as stream:
            mark = len(_mark(stream.read(4)))
        with opened(file) as stream, copy.open("w", encoding="utf-8", newline="\n") as out:
            stream.read(mark)
            bare = "utf-8" if encoding == "utf-8-sig" else encoding
            shutil.copyfileobj(
                io.TextIOWrapper(stream, encoding=bare, errors="replace", newline=None), out, 1 << 20
            )
    except OSError as error:
        raise unpacking(file, error) from None
    return copy
