"""Exports and fleet files that nobody would write, until time is up: anything but an answer or a Fault is a finding.

python -m benchmarks.fuzz exports --minutes 10                  bytes changed where coverage grows (atheris)
python -m benchmarks.fuzz pairs --minutes 10                    the same exports, cut in two files of one shape
python -m benchmarks.fuzz drafts --minutes 10                   the same exports, drafted
python -m benchmarks.fuzz fleets --minutes 10 --by hypothesis   files built from odd parts

Atheris comes with `pip install -e ".[fuzz]"`. Each finding's input is kept, once for each place that it comes from.
"""

import argparse
import contextlib
import sys
import tempfile
import time
import tomllib
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path

HERE = Path(__file__).resolve().parent
CORPUS = HERE.parent / "tests" / "corpus"
TAGS = {
    "shell_pressure": ("PT-101", "kPa gauge"),
    "storage_temperature": ("TT-103", "degC"),
    "outlet_oxygen": ("AT-120", "ppb"),
}
Target = Callable[[bytes], None]


def export(data: bytes) -> None:
    """Reads one export of these bytes as `check` does."""
    with written({"export.csv": data}) as folder:
        _checked(folder)


def pair(data: bytes) -> None:
    """Reads these bytes as two exports that begin alike: cut in the middle, both with the first line."""
    first, mark, rest = data.partition(b"\n")
    middle = rest.find(b"\n", len(rest) // 2) + 1
    with written({"a.csv": first + mark + rest[:middle], "b.csv": first + mark + rest[middle:]}) as folder:
        _checked(folder)


def _checked(folder: Path) -> None:
    from sevenppb.detect.errors import Fault
    from sevenppb.detect.exports import check
    from sevenppb.detect.fleet import Fleet, TagRef, Vessel

    tags = {role: TagRef(tag, unit) for role, (tag, unit) in TAGS.items()}
    vessel = Vessel("DA-1", (str(folder / "*.csv"),), "auto", tags, None, None, 101325.0, None, {}, ())
    fleet = Fleet("fuzz", folder / "fleet.toml", "Europe/Oslo", "si", None, (vessel,))
    try:
        found = check.check_vessel(vessel, fleet)
        got = found.readings
        if int(got.tally.to_numpy().sum()) != got.total or (got.tally < 0).any(axis=None):
            raise AssertionError("the tally does not add up")
        if len(found.files) != len(list(folder.glob("*.csv"))):
            raise AssertionError("a file is not told of")
    except Fault as fault:
        _is_a_sentence(fault)


def draft(data: bytes) -> None:
    """Drafts a fleet file from one export of these bytes."""
    from sevenppb.detect.errors import Fault
    from sevenppb.detect.exports import draft as drafts

    with written({"export.csv": data}) as folder:
        try:
            tomllib.loads(drafts.draft([folder / "export.csv"], folder))
        except Fault as fault:
            _is_a_sentence(fault)


def fleet(data: bytes) -> None:
    """Reads one fleet file of these bytes."""
    from sevenppb.detect.errors import FleetFault
    from sevenppb.detect.fleet import read_fleet

    with written({"fleet.toml": data}) as folder:
        try:
            read_fleet(folder / "fleet.toml")
        except FleetFault as fault:
            _is_a_sentence(fault)


# what is fuzzed → its target, and the folder of the corpus that it starts from
TARGETS: dict[str, tuple[Target, str]] = {
    "exports": (export, "exports"),
    "pairs": (pair, "exports"),
    "drafts": (draft, "exports"),
    "fleets": (fleet, "fleets"),
}


@contextlib.contextmanager
def written(files: dict[str, bytes]) -> Iterator[Path]:
    """A folder with these files, in memory where there is such a place."""
    with tempfile.TemporaryDirectory(dir="/dev/shm" if Path("/dev/shm").is_dir() else None) as folder:
        for name, data in files.items():
            (Path(folder) / name).write_bytes(data)
        yield Path(folder)


@contextlib.contextmanager
def one_engine() -> Iterator[None]:
    """All exports are read through one engine, emptied between two: starting one takes longer than reading a small
    file does."""
    from sevenppb.detect.exports import engine

    with engine.start() as running:

        def emptied() -> contextlib.nullcontext[engine.Engine]:
            for name, *_ in running.rows("SELECT table_name FROM duckdb_tables()"):
                running.run(f"DROP TABLE {engine.quoted(name)}")
            for path in running.folder.iterdir():
                if path.is_file():
                    path.unlink()
            return contextlib.nullcontext(running)

        engine.start = emptied  # type: ignore[assignment]
        yield


def _is_a_sentence(fault: Exception) -> None:
    text = str(fault)
    if not text.strip() or "Traceback" in text:
        raise AssertionError(f"no sentence: {text[:200]!r}")


class Findings:
    """What a target raised, once for each place in the project that it came through."""

    def __init__(self, target: Target, folder: Path) -> None:
        self.target, self.folder = target, folder
        self.places: set[str] = set()
        self.runs = 0
        folder.mkdir(parents=True, exist_ok=True)

    def __call__(self, data: bytes) -> None:
        self.runs += 1
        try:
            self.target(data)
        except Exception as error:
            frames = [
                f for f in traceback.extract_tb(error.__traceback__) if "site-packages" not in f.filename
            ]
            place = f"{type(error).__name__}-{Path(frames[-1].filename).stem}-{frames[-1].lineno}"
            if place not in self.places:
                self.places.add(place)
                (self.folder / place).write_bytes(data)
                (self.folder / f"{place}.txt").write_text(traceback.format_exc(), encoding="utf-8")
                print(f"finding: {place}: {error}", flush=True)


def by_atheris(seeds: Path, minutes: float, findings: Findings) -> None:
    """Never returns: the fuzzer ends the process."""
    import atheris

    with atheris.instrument_imports(include=["sevenppb"]):
        from sevenppb.detect import fleet as _fleet  # noqa: F401
        from sevenppb.detect.exports import check, draft  # noqa: F401
    grown = findings.folder / "grown"
    grown.mkdir(exist_ok=True)
    options = [f"-max_total_time={minutes * 60:.0f}", "-max_len=4096", "-timeout=120", "-rss_limit_mb=6000"]
    artifacts = f"-artifact_prefix={findings.folder}/"
    atheris.Setup([sys.argv[0], *options, artifacts, str(grown), str(seeds)], findings)
    with one_engine():
        atheris.Fuzz()


def by_hypothesis(folder: Path, minutes: float, findings: Findings) -> None:
    """Rounds of examples from new seeds until time is up."""
    from hypothesis import HealthCheck, given, seed, settings
    from hypothesis import strategies as st

    seeds = [path.read_text(encoding="utf-8") for path in sorted(folder.iterdir())]
    odd = st.sampled_from([
        "", "NaN", "inf", "-1e400", "1e308", "Bad", '"', "'", "\x00", "\ufeff", "é", "24:00", "9999-12-31 23:59:59",
        "0001-01-01", "31/12/2025", "1,234.5", "1.234,5", "=1+1", "#", ",", ";", "\t", "\r", "[", "]]", "{", "{}", "\\",
        "-0", "0x1F", "true", "1979-05-27", "[[vessel]]", "[vessel.tags]", "\u2212 5", "1" * 400, "a" * 5000,
    ])  # fmt: skip
    text = st.one_of(odd, st.text(max_size=12), st.floats().map(str), st.datetimes().map(str))
    edit = st.tuples(
        st.floats(0, 1), st.sampled_from(["cell", "line", "insert", "cut", "double", "swap"]), text
    )
    codec = st.sampled_from(["utf-8", "utf-8", "utf-8-sig", "utf-16", "latin-1"])
    end = time.monotonic() + 60 * minutes
    round_number = 0
    while time.monotonic() < end:

        @seed(round_number)
        @settings(max_examples=200, database=None, deadline=None, suppress_health_check=list(HealthCheck))
        @given(st.sampled_from(seeds), st.lists(edit, max_size=6), codec)
        def once(start: str, edits: list[tuple[float, str, str]], encoding: str) -> None:
            if time.monotonic() < end:
                findings(_edited(start, edits).encode(encoding, errors="replace"))

        once()
        round_number += 1


def _edited(text: str, edits: list[tuple[float, str, str]]) -> str:
    lines = text.split("\n")
    for share, kind, new in edits:
        at = min(int(share * len(lines)), len(lines) - 1)
        mark = next((m for m in (";", "\t", "|", ",", "=") if m in lines[at]), ",")
        cells = lines[at].split(mark)
        if kind == "cell":
            cells[int(share * 7919) % len(cells)] = new
            lines[at] = mark.join(cells)
        elif kind == "line":
            lines[at] = new
        elif kind == "insert":
            lines.insert(at, new)
        elif kind == "cut":
            lines[at] = lines[at][: int(share * 7919) % (len(lines[at]) + 1)]
        elif kind == "double":
            lines.insert(at, lines[at])
        else:
            lines[at] = mark.join(reversed(cells))
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(
        "python -m benchmarks.fuzz", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("what", choices=list(TARGETS))
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--by", choices=["atheris", "hypothesis"], default="atheris")
    parser.add_argument("--keep", type=Path, default=Path("build/fuzz"), help="where findings go")
    asked = parser.parse_args()
    target, folder = TARGETS[asked.what]
    findings = Findings(target, asked.keep / f"{asked.what}-{asked.by}")
    start = time.monotonic()
    if asked.by == "hypothesis":
        with one_engine():
            by_hypothesis(CORPUS / folder, asked.minutes, findings)
        minutes = (time.monotonic() - start) / 60
        print(
            f"{asked.what}: {findings.runs} files in {minutes:.1f} minutes, {len(findings.places)} findings"
        )
        return
    with contextlib.suppress(KeyboardInterrupt):
        by_atheris(CORPUS / folder, asked.minutes, findings)


if __name__ == "__main__":
    main()
