"""How much less is done where a test runs a command of the pages, and the few commands that no test runs.

All else of a command is as its page writes it: program, sub-command, options, files.
"""

FEW = "tests/detect/physics/test_nozzle_flow.py"
# where a command begins so, these words take the place of the same options and of files, or are added
SMALLER = {
    "coverage run -m pytest": FEW,
    "pytest": FEW,
    "python -m benchmarks run": "--vessels 1 --days 365 --workers 1",
    "python -m benchmarks memory": "--scanned 1 --kept 1 --workers 1",
    "python -m benchmarks.calibration": "--years 1",
    "python -m benchmarks.calibration.plants": "--years 0.1 --vessels 1 --days 240",
    "python -m benchmarks.delay": "--series 2",
    "python -m benchmarks.fuzz": "--by hypothesis --minutes 0.02",
    "python -m benchmarks.kills": "--number 1 --seed 9",
    "python -m benchmarks.mutants": "detect/drift/autoregression.py --sample 1",
    "python -m benchmarks.quality": "--seeds 101 --vessels 2 --healthy 1 --days 230 --minutes 60 --baseline 100"
    " --tuning-seeds 201 --tuning-vessels 1",
    "python benchmarks/reading.py": "2",
    "python benchmarks/steam.py": "1000",
    "sevenppb prove": "--trials 2",
}
# of the demo's thirteen vessels the one that the tutorial speaks of, a reading every two hours, until its June is over
DEMO_VESSEL, DEMO_SIZE = "MILL-3", {"days": 560, "step_minutes": 120}
# amounts that no option gives, in the copy that the commands run in: a file, what it says, and what it says there
LESS_THERE = (
    ("benchmarks/made_exports.py", "step_minutes=1,", "step_minutes=20,"),
    ("benchmarks/mutants.py", '"tests/detect/drift",', '"tests/detect/drift/test_whitening.py",'),
    ("benchmarks/reading.py", "ROUNDS = 9\n", "ROUNDS = 1\n"),
)
# why no test runs a command that begins so
NOT_RUN = {
    "crontab": "edits the account's own table of jobs; the line for it is taken apart below",
    "schtasks": "is there on Windows alone, and would enter a job",
    "python -m pip_audit": "asks a service on the network; its options are looked up in its help",
}


def smaller(words: tuple[str, ...]) -> tuple[str, ...]:
    """A command with the amounts of a test; of two beginnings that fit, the longer one counts."""
    command = " ".join(words)
    known = [begin for begin in SMALLER if f"{command} ".startswith(f"{begin} ")]
    if not known:
        return words
    begin = max(known, key=len).split()
    added = SMALLER[" ".join(begin)].split()
    rest = list(words[len(begin) :])
    for option in (word for word in added if word.startswith("--") and word in rest):
        at = rest.index(option)
        del rest[at : at + 2]
    return (*begin, *(word for word in rest if word not in added), *added)
