"""The palette's contrast, light and dark: Web Content Accessibility Guidelines 2.2, success criteria 1.4.3 and 1.4.11
(W3C, 2023): 4.5 for text, 3 for lines and marks."""

import re

import pytest

from sevenppb.reports.templates.read import read

TEXT = [("ink", "paper"), ("muted", "paper"), ("link", "paper"), ("ink", "tint")]
MARKS = [("observed", "paper"), ("expected", "paper"), ("muted", "paper")]


def schemes() -> list[dict[str, str]]:
    """Each block of variables in the page's style: light, dark, print."""
    blocks = re.findall(r":root \{([^}]*)\}", read("page.css"))
    return [dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", block)) for block in blocks]


def luminance(colour: str) -> float:
    """Relative luminance as the guidelines define it."""
    parts = (int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5))
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_gives_the_known_ends() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#595959", "#ffffff") == pytest.approx(7.0, abs=0.01)


@pytest.mark.parametrize("scheme", schemes(), ids=["light", "dark", "print"])
def test_text_and_marks_stand_out(scheme: dict[str, str]) -> None:
    for least, pairs in ((4.5, TEXT), (3.0, MARKS)):
        for front, back in pairs:
            assert contrast(scheme[front], scheme[back]) >= least, (front, back)
