"""Small files that unpack to absurd sizes: refused with a sentence, before memory or disk fill."""

import gzip
from pathlib import Path

import numpy as np
import plant
import pyarrow as pa
import pytest
from pyarrow import parquet

from sevenppb.detect.errors import ExportFault
from sevenppb.detect.exports import unpacked
from sevenppb.detect.exports.read import read_vessel

FRAME = plant.readings(days=0.2)
TEXT = FRAME.to_csv().encode()
ROW = TEXT.splitlines(keepends=True)[-1]


def read(path: Path) -> int:
    return read_vessel(plant.vessel(path), plant.fleet("UTC"), None, None).total


def packed(path: Path, kind: str, times: int) -> Path:
    """A true start, and then one row again and again."""
    with pa.CompressedOutputStream(str(path), kind) as out:
        out.write(TEXT)
        for _ in range(times):
            out.write(ROW * 10_000)
    return path


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(unpacked, "ALWAYS_BYTES", 1_000_000)
    monkeypatch.setattr(unpacked, "MOST_TIMES", 30)


@pytest.mark.usefixtures("small")
@pytest.mark.parametrize("kind", ["gzip", "zstd"])
def test_a_packed_text_of_absurd_size(tmp_path: Path, kind: str) -> None:
    path = packed(tmp_path / "bomb.csv", kind, 20)
    with pytest.raises(ExportFault, match=r"bomb\.csv: \d+ bytes unpack to more than .* GB"):
        read(path)


@pytest.mark.usefixtures("small")
@pytest.mark.parametrize("kind", ["gzip", "zstd"])
def test_a_packed_text_of_usual_size_is_read(tmp_path: Path, kind: str) -> None:
    assert read(packed(tmp_path / "usual.csv", kind, 0)) == FRAME.size


def test_parquet_of_absurdly_many_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    n = 400_000
    same = {
        "timestamp": pa.array(np.zeros(n, dtype="int64"), pa.timestamp("us")),
        "PT-101": pa.array(np.ones(n)),
    }
    parquet.write_table(pa.table(same), tmp_path / "bomb.parquet")
    monkeypatch.setattr(unpacked, "ALWAYS_ROWS", 10_000)
    with pytest.raises(ExportFault, match=r"bomb\.parquet: \d+ bytes unpack to 400000 rows"):
        read(tmp_path / "bomb.parquet")


def test_a_torn_packed_file_gets_its_own_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(unpacked, "ALWAYS_BYTES", 0)
    path = tmp_path / "torn.csv.gz"
    path.write_bytes(gzip.compress(TEXT)[:-200])
    with pytest.raises(ExportFault, match="is not a complete gzip file"):
        read(path)
