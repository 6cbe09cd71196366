"""The benchmark's figures → tables in a page, between markers, and as CSV."""

import re
from pathlib import Path

import pandas as pd

MARKED = r"(<!-- measured: {name} -->\n).*?(<!-- end of measured -->)"
Z90 = 1.645  # of a 90 % interval


def filled(page: str, parts: dict[str, str]) -> str:
    """The page with each part between its markers. Raises ValueError where the page has no place for one."""
    for name, text in parts.items():
        pattern = re.compile(MARKED.format(name=re.escape(name)), re.DOTALL)
        if not pattern.search(page):
            raise ValueError(f'the page has no line "<!-- measured: {name} -->"')
        page = pattern.sub(lambda found, text=text: f"{found[1]}\n{text}\n\n{found[2]}", page)
    return page


def listed(sentences: list[str]) -> str:
    """Sentences as a list."""
    return "\n".join(f"- {sentence}" for sentence in sentences)


def markdown(frame: pd.DataFrame) -> str:
    """A table of texts and whole numbers."""
    lines = [frame.columns.tolist(), ["---"] * len(frame.columns), *frame.astype(str).to_numpy().tolist()]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def write(
    folder: Path, tables: dict[str, pd.DataFrame], texts: dict[str, str], drawings: dict[str, str]
) -> None:
    """Fill detection.md, and write the tables as CSV and the drawings as SVG beside it."""
    page = folder / "detection.md"
    parts = {name: markdown(frame) for name, frame in tables.items()} | texts
    page.write_text(filled(page.read_text(encoding="utf-8"), parts), encoding="utf-8")
    images = folder / "images"
    images.mkdir(exist_ok=True)
    for name, frame in tables.items():
        (images / f"detection-{name}.csv").write_text(frame.to_csv(index=False), encoding="utf-8")
    for name, svg in drawings.items():
        (images / f"{name}.svg").write_text(svg + "\n", encoding="utf-8")
