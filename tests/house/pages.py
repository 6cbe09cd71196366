"""The pages for people, taken apart: their code blocks and the commands in these."""

import itertools
import re
import shlex
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
DOCS = sorted((ROOT / "docs").glob("*.md"))
PAGES = [*DOCS, ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "CHANGELOG.md"]
SHELLS = ("console", "bash", "sh", "bat")
PROGRAMS = (
    "sevenppb", "python", "pip", "git", "source", "crontab", "schtasks", "ruff", "mypy", "lint-imports", "pytest",
    "coverage", "pre-commit",
)  # fmt: skip
_BLOCK = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_COMMAND = re.compile(r'(?<![\w-])sevenppb(?:\.exe)?"? +([a-z]+\b.*)')


@dataclass(frozen=True)
class Block:
    """A fenced block: the page it is in, its language, its text."""

    page: str
    language: str
    text: str


def blocks(page: Path, language: str | None = None) -> list[Block]:
    found = [Block(page.name, kind, text) for kind, text in _BLOCK.findall(page.read_text(encoding="utf-8"))]
    return [block for block in found if language in (None, block.language)]


def commands(block: Block) -> list[list[str]]:
    """The words behind `sevenppb` of each command in a block, without what the shell does with it."""
    code = block.language in ("python", "pycon", "diff")
    lines = [line for line in block.text.splitlines() if not code and not line.startswith("Usage:")]
    found = [match[1] for line in lines if (match := _COMMAND.search(line))]
    return [shlex.split(_outside_quotes(text)) for text in found]


def _outside_quotes(text: str) -> str:
    """The text up to the first of the shell's own signs that is not in quotes."""
    kept = re.match(r'(?:"[^"]*"|[^"])*?(?=\s(?:&&|\|\||\||>>?|2>|#|;))', text)
    return kept[0] if kept else text


def lines(page: Path) -> list[str]:
    """Every line of a page that can be typed into a shell: of console and shell blocks (scripts are run as a whole,
    elsewhere), of indented blocks, and in backticks where it begins with a program's name."""
    text = page.read_text(encoding="utf-8")
    found = []
    for block in blocks(page):
        if block.language in SHELLS and not block.text.startswith(("#!", "@echo")):
            found += block.text.replace("\\\n", " ").splitlines()
    rest = _BLOCK.sub("", text)
    found += [line.strip() for line in re.findall(r"^ {4}.*$", rest, re.MULTILINE) if _program(line)]
    inlines = [" ".join(inline.split()) for inline in re.findall(r"`([^`]+)`", rest)]
    found += [inline for inline in inlines if re.search(r" |^\.venv", inline) and _program(inline)]
    return found


def programs(line: str) -> list[list[str]]:
    """The words of each program that a line starts, the program by its bare name."""
    found = []
    for part in line.split("&&"):
        words = shlex.split(part.replace("\\", "/"), comments=True)
        words = list(itertools.takewhile(lambda word: not re.match(r"[|<>]|2>", word), words))
        if words:
            found.append([_bare(words[0]), *words[1:]])
    return found


def _program(line: str) -> bool:
    return _bare(re.split(r"\s", line.strip())[0]) in PROGRAMS


def _bare(word: str) -> str:
    name = re.split(r"[/\\]", word)[-1].removesuffix(".exe")
    return "python" if name in ("python3", "py") else name


# every command of all pages but the log of changes, once
WRITTEN = sorted({tuple(words) for page in PAGES[:-1] for line in lines(page) for words in programs(line)})
