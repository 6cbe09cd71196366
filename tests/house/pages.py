"""The pages for people, taken apart: their code blocks and the commands in these."""

import re
import shlex
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
DOCS = sorted((ROOT / "docs").glob("*.md"))
PAGES = [*DOCS, ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "CHANGELOG.md"]
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
    code = block.language.startswith("py")
    lines = [line for line in block.text.splitlines() if not code and not line.startswith("Usage:")]
    found = [match[1] for line in lines if (match := _COMMAND.search(line))]
    return [shlex.split(_outside_quotes(text)) for text in found]


def _outside_quotes(text: str) -> str:
    """The text up to the first of the shell's own signs that is not in quotes."""
    kept = re.match(r'(?:"[^"]*"|[^"])*?(?=\s(?:&&|\|\||\||>>?|2>|#|;))', text)
    return kept[0] if kept else text
