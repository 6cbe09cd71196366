"""Packed exports that unpack to absurd sizes: refused before the engine begins to fill memory or disk."""

from sevenppb.detect.errors import ExportFault
from sevenppb.detect.exports import head
from sevenppb.detect.exports.files import ExportFile

# Common practice, no source. Exports of readings pack 5 to 50 times, of tags that all stand still some 100 times.
MOST_TIMES = 250
ALWAYS_BYTES = 1_000_000_000  # whatever unpacks to less is read
ALWAYS_ROWS = 100_000_000  # the same for a Parquet file's rows: all tags of 16 years of minutes, in long form
_ROWS_A_BYTE = 10
_GZIP_TIMES = 1032  # deflate can't do more (RFC 1951: 258 bytes in two bits)
_BLOCK = 1 << 20


def bounded(file: ExportFile) -> None:
    """Raises ExportFault where the file unpacks to more than ALWAYS_BYTES and MOST_TIMES its own size, or, as
    Parquet, says that it has as absurdly many rows. A text is unpacked block by block and not kept; a file that
    can't be unpacked is left to whoever reads it."""
    size = file.path.stat().st_size
    most = max(ALWAYS_BYTES, MOST_TIMES * size)
    if file.kind == "parquet":
        _bounded_parquet(file, size, most)
    elif file.compression == "zstd" or (file.compression == "gzip" and _GZIP_TIMES * size > most):
        unpacked = 0
        try:
            with head.opened(file) as stream:
                while block := stream.read(_BLOCK):
                    unpacked += len(block)
                    if unpacked > most:
                        raise _absurd(file, size, f"more than {most / 1e9:.1f} GB")
        except OSError:
            return


def _bounded_parquet(file: ExportFile, size: int, most: int) -> None:
    import pyarrow as pa
    from pyarrow import parquet

    try:
        told = parquet.read_metadata(file.path)
    except (OSError, pa.ArrowException):
        return
    groups = [told.row_group(i) for i in range(told.num_row_groups)]
    unpacked = sum(g.column(k).total_uncompressed_size for g in groups for k in range(g.num_columns))
    if unpacked > most:
        raise _absurd(file, size, f"{unpacked / 1e9:.1f} GB")
    if told.num_rows > max(ALWAYS_ROWS, _ROWS_A_BYTE * size):
        raise _absurd(file, size, f"{told.num_rows} rows")


def _absurd(file: ExportFile, size: int, what: str) -> ExportFault:
    return ExportFault(
        f"{file.shown}: {size} bytes unpack to {what}, which no readings do. Look at who wrote it, and unpack it "
        "yourself if it is what it should be."
    )
