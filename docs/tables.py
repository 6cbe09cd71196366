"""The tables of these pages, written from the code: python docs/tables.py

A page marks the place of a table by a line `<!-- table: name -->` and a line `<!-- end of table -->`; what
stands between is replaced. tests/house/test_docs.py fails where a page and the code differ.
"""

import ast
import io
import re
import sys
import tokenize
from collections.abc import Callable, Iterable
from dataclasses import fields
from pathlib import Path

import click

from sevenppb.detect import causes, features, limits, roles, settings, shown, unit_spellings
from sevenppb.detect.balance import health
from sevenppb.detect.exports import read, values
from sevenppb.reports.cli import app
from sevenppb.reports.views.scan import setting_rows

PAGES = Path(__file__).parent
CODE = PAGES.parent / "detect"
MARKED = re.compile(r"(<!-- table: (\S+) -->\n).*?(<!-- end of table -->)", re.DOTALL)
# whose numbers decide what a scan says; those of reading exports stand beside their use
DECIDING = ("baseline*.py", "expected.py", "balance/*.py", "seasonal/*.py", "drift/*.py", "diagnosis/*.py",
            "incidents/*.py", "register/states.py")  # fmt: skip


def filled(text: str) -> str:
    """A page's text with its tables as the code has them now. Raises KeyError for an unknown table."""
    return MARKED.sub(lambda found: f"{found[1]}\n{TABLES[found[2]]()}\n\n{found[3]}", text)


def roles_table() -> str:
    return table(
        ("role", "what it is", "range", "unit inside", "usual accuracy"),
        (
            (
                f"`{r.name}`" + (" (needed)" if r.name in roles.REQUIRED else ""),
                r.label,
                f"{r.low:g} to {r.high:g}",
                r.unit,
                f"{100 * r.accuracy:g} % of the reading" if r.relative else f"{r.accuracy:g} {r.unit}",
            )
            for r in roles.ROLES.values()
        ),
    )


def features_table() -> str:
    return table(
        ("watched feature", "what it is", "from", "unit", "tested as", "idle move", "move that matters"),
        (
            (f"`{f.name}`", f.label, f"`{f.role}`", f.unit, "its logarithm" if f.scale == "log" else "it is",
             f"{f.tolerance:g}", f"{f.natural:g}")
            for f in features.WATCHED.values()
        ),
    )  # fmt: skip


def shown_table() -> str:
    return table(
        ("shown feature", "what it is", "unit"),
        ((f"`{name}`", row.label, row.unit) for name, row in shown.SHOWN.items()),
    )


def causes_table() -> str:
    direction = {1: "up", -1: "down", 0: ""}
    return table(
        ("cause", "what it means", "health parameter", "size", "work that resets it"),
        (
            (
                f"`{c.slug}`",
                c.meaning,
                "–" if c.parameter is None else f"`{c.parameter}` {direction[c.sign]}",
                c.what + (f" [{c.unit}]" if c.unit else ""),
                f"`{c.resets}`"
                if c.resets
                else "`sensor:<role>`"
                if c.slug.startswith("sensor")
                else "`all`",
            )
            for c in causes.CAUSES.values()
        ),
    )


def health_table() -> str:
    meanings = _listed(health.Health.__doc__ or "")
    fitted = {row[0] for row in health.FITTED}
    faults = {c.parameter for c in causes.CAUSES.values()}
    use = {(True, True): "fitted; moved by causes", (True, False): "fitted", (False, True): "moved by causes"}
    return table(
        ("health parameter", "what it is [unit]", "use"),
        (
            (f"`{f.name}`", meanings[f.name], use.get((f.name in fitted, f.name in faults), "reference"))
            for f in fields(health.Health)
        ),
    )


def settings_table() -> str:
    return table(
        ("setting", "value", "meaning"),
        (
            (f"`{row.name.replace(' ', '_')}`", row.value, row.meaning)
            for row in setting_rows(settings.DEFAULTS)
        ),
    )


def limits_table() -> str:
    return table(
        ("limit", "value", "source"),
        ((f"`{row.what}`", f"{row.value:g} {row.unit}", row.source) for row in limits.LIMITS.values()),
    )


def units_table() -> str:
    """Every unit by its first spelling; the other spellings behind it."""
    rows = []
    for dimension, units in unit_spellings.SPELLINGS.items():
        for spellings in units.values():
            others = ", ".join(f"`{s}`" for s in spellings[1:])
            rows.append((dimension, f"`{spellings[0]}`", others))
    return table(("quantity", "write", "also understood"), rows)


def bad_words_table() -> str:
    return ", ".join(f"`{word}`" for word in values.BAD_WORDS)


def reasons_table() -> str:
    meanings = {
        "used": "stands behind an hourly value",
        "empty": "the cell is empty",
        "text for bad": "a word that says that there is no value",
        "bad quality": "the quality column says bad",
        "not a number": "a text that is neither number nor known word, or an infinite number",
        "no such time": "its time can't be read, or the timezone's clock skips it",
        "duplicate": "another reading has the same time; the last good one was used",
        "out of range": "no instrument of the role can show it",
        "spike": "its neighbours contradict it",
        "frozen": "the reading stood still while others moved, or with most others",
        "unit jump": "it lies in a stretch in another unit",
    }
    return table(("reason", "what it means"), ((reason, meanings[reason]) for reason in read.REASONS))


def resets_table() -> str:
    words = sorted({c.resets for c in causes.CAUSES.values() if c.resets})
    rows = [(f"`{w}`", ", ".join(c.label for c in causes.CAUSES.values() if c.resets == w)) for w in words]
    return table(
        ("`resets`", "causes that it gives a fresh start"),
        [*rows, ("`sensor:<role>`", "drift of that role's sensor"), ("`all`", "everything")],
    )


def commands_table() -> str:
    context = click.Context(app.main, info_name="sevenppb", terminal_width=90, **app.main.context_settings)
    parts = [_help("sevenppb", app.main.get_help(context))]
    for name, command in app.main.commands.items():
        inner = click.Context(command, info_name=name, parent=context, terminal_width=90)
        parts.append(_help(f"sevenppb {name}", command.get_help(inner)))
    return "\n\n".join(parts)


def constants_table() -> str:
    """The public numbers of the files that decide what a scan says, with the comment behind each."""
    rows = []
    for path in sorted({p for pattern in DECIDING for p in CODE.glob(pattern)}):
        source = path.read_text(encoding="utf-8")
        comments = _comments(source)
        for node in ast.parse(source).body:
            if isinstance(node, ast.Assign) and _is_number(node.value):
                names = ", ".join(ast.unparse(target).strip("()") for target in node.targets)
                if names.startswith("_"):
                    continue
                lines = range(node.lineno, (node.end_lineno or node.lineno) + 1)
                said = " ".join(comments[line] for line in lines if line in comments)
                rows.append(
                    (f"`detect/{path.relative_to(CODE).as_posix()}`", f"`{names}`", _value(node.value), said)
                )
    return table(("file", "name", "value", "meaning"), rows)


def _is_number(node: ast.expr) -> bool:
    """Whether an expression is built of nothing but numbers."""
    allowed = (ast.Constant, ast.UnaryOp, ast.BinOp, ast.Tuple, ast.operator, ast.unaryop, ast.expr_context)
    inner = list(ast.walk(node))
    numbers = [n for n in inner if isinstance(n, ast.Constant)]
    return (
        bool(numbers)
        and all(isinstance(n, allowed) for n in inner)
        and all(isinstance(n.value, int | float) and not isinstance(n.value, bool) for n in numbers)
    )


def _value(node: ast.expr) -> str:
    return ast.unparse(node).strip("()")


def _comments(source: str) -> dict[int, str]:
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    return {t.start[0]: t.string.lstrip("# ") for t in tokens if t.type == tokenize.COMMENT}


def _listed(docstring: str) -> dict[str, str]:
    """The rows "name   meaning" of a record's docstring."""
    found = re.findall(r"^ {4}(\w+) {2,}(\S.*)$", docstring, re.MULTILINE)
    return {name: meaning.strip() for name, meaning in found}


def _help(heading: str, text: str) -> str:
    return f"## {heading}\n\n```text\n{text.rstrip()}\n```"


def table(heads: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = ["| " + " | ".join(heads) + " |", "| " + " | ".join("---" for _ in heads) + " |"]
    lines += ["| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |" for row in rows]
    return "\n".join(lines)


TABLES: dict[str, Callable[[], str]] = {
    "roles": roles_table,
    "features": features_table,
    "shown": shown_table,
    "causes": causes_table,
    "health": health_table,
    "settings": settings_table,
    "limits": limits_table,
    "units": units_table,
    "bad-words": bad_words_table,
    "reasons": reasons_table,
    "resets": resets_table,
    "commands": commands_table,
    "constants": constants_table,
}


def main() -> int:
    for page in sorted(PAGES.glob("*.md")):
        text = page.read_text(encoding="utf-8")
        if (now := filled(text)) != text:
            page.write_text(now, encoding="utf-8")
            print(f"{page.name}: tables written anew")
    return 0


if __name__ == "__main__":
    sys.exit(main())
