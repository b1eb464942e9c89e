"""Words of a score that a guitarist acts on: stroke kinds, barres, positions; all others are kept as words.

Rules (common practice of editions in Spanish, Italian, French, German and English): a Roman numeral alone, or with pos.,
Lage, posición …, is a position; C, B, cejilla, barré … before a numeral or figure is a barre, with ½, 1/2, m. for the half one;
apoyando and rest stroke are rest strokes, tirando and free stroke free ones.
"""

from __future__ import annotations

import re

_ROMAN = r"(?P<roman>[IVX]{1,6})"
_FIGURE = r"(?P<figure>\d{1,2})"
_HALF = r"(?P<part>½|⅔|⅓|¼|¾|⅚|\d\s*/\s*\d|m(?:edia|ezzo|ezza|é|e)?\.?|half|demi|1/2)?"
_WORD = r"(?P<word>cejilla|ceja|cej\.?|barr[eé]|bar\.|capotasto|[CcBb₵ȻÇ¢]\.?)"
_BARRE = re.compile(rf"\s*{_HALF}\s*{_WORD}\s*(?:{_ROMAN}|{_FIGURE})(?P<rest>(?:[\s(_.:-].*)?)\Z")
_NAMED = r"(?:pos(?:\.|ici[oó]n|ition|izione)?|lage|p\.)"
_POSITION = re.compile(
    rf"\s*(?:{_NAMED}\s*(?:{_ROMAN}|{_FIGURE})|(?P<roman2>[IVX]{{1,6}})\.?\s*(?:{_NAMED})?|(?P<figure2>\d{{1,2}})(?:st|nd|rd|th|[ªºa.])?\s*{_NAMED})\s*[-_.… ]*\Z",
    re.IGNORECASE,
)
_REST = re.compile(
    r"apoyan?d|apoy\.|rest[\s-]*stroke|appoggiat|but[ée]e?\b|angelegt|wechselschlag mit anlegen", re.IGNORECASE
)
_FREE = re.compile(r"tirand|tir\.|free[\s-]*stroke|\bpinc[ée]\b|freier anschlag", re.IGNORECASE)
_VALUES = {"I": 1, "V": 5, "X": 10}


def roman(text: str) -> int | None:
    """The number of a Roman numeral up to XXIV, or None where it is not written as one."""
    total = 0
    for letter, after in zip(text, [*text[1:], ""], strict=True):
        value = _VALUES.get(letter)
        if value is None:
            return None
        total += -value if after and _VALUES.get(after, 0) > value else value
    return total if 1 <= total <= 24 and numeral(total) == text else None


def numeral(number: int) -> str:
    """A number from 1 to 24 in Roman numerals."""
    signs = ((10, "X"), (9, "IX"), (5, "V"), (4, "IV"), (1, "I"))
    text = ""
    for value, sign in signs:
        while number >= value:
            text, number = text + sign, number - value
    return text


def stroke_of(text: str) -> str:
    """The stroke kind that words ask for: rest, free or empty."""
    if _REST.search(text):
        return "rest"
    return "free" if _FREE.search(text) else ""


def barre_of(text: str) -> int | None:
    """The fret of a barre that words name, or None."""
    match = _BARRE.match(text)
    if not match:
        return None
    fret = roman(match["roman"]) if match["roman"] else int(match["figure"])
    return fret if fret and 1 <= fret <= 24 else None


def position_of(text: str) -> int | None:
    """The fret of a position that words name, or None."""
    match = _POSITION.match(text)
    if not match:
        return None
    letters = match["roman"] or match["roman2"]
    if letters:
        return roman(letters.upper()) if letters.isupper() or len(text.split()) > 1 else None
    fret = int(match["figure"] or match["figure2"])
    return fret if 1 <= fret <= 24 else None


def classify(text: str) -> tuple[str, str, int | None]:
    """Kind, text and fret of words, as in engrave.model.Direction."""
    stroke = stroke_of(text)
    if stroke:
        return "stroke", stroke, None
    barre = barre_of(text)
    if barre is not None:
        return "barre", text, barre
    position = position_of(text)
    if position is not None:
        return "position", text, position
    return "words", text, None
