"""German words of names and descriptions in English, so that the tables of words are in one language."""

import functools
import re

_LETTERS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue"})
_WORDS = {  # in the order in which they are looked for: the longer before its parts
    r"speisewasser": "feed water", r"wasser": "water", r"zusatz": "make-up", r"dampf": "steam",
    r"brueden|entlueft(?:ungs?)?": "vent", r"kond(?:ensat)?(?![a-z])": "condensate",
    r"luftdruck": "atmospheric pressure", r"differenz": "differential", r"druck": "pressure",
    r"durchfluss|menge": "flow", r"ventil(?!at)": "valve", r"stellung": "position", r"zulauf": "inlet",
    r"ablauf": "outlet", r"entg(?:as(?:er|ung))?(?![a-z])": "deaerator", r"mantel": "shell",
    r"behaelter": "vessel", r"\bdom\b": "dome", r"speicher": "storage", r"sprueh": "spray",
    r"duesen?": "nozzle", r"wetter": "weather", r"niveau|(?:fuell)?stand\b": "level",
    r"sauerstoff": "oxygen",
}  # fmt: skip
_COMPILED = [(re.compile(pattern, re.IGNORECASE), f" {word} ") for pattern, word in _WORDS.items()]


@functools.cache
def in_english(text: str) -> str:
    """The text with the German words in it, also those within longer ones, in English."""
    text = text.translate(_LETTERS)
    for pattern, word in _COMPILED:
        text = pattern.sub(word, text)
    return text
