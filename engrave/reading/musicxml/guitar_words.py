"""Words of a score that a guitarist acts on: stroke kinds, barres, positions; all others are kept as words.

Rules (common practice of editions in Spanish, Italian, French, German and English): a Roman numeral alone or with pos.,
Lage, posición …, is a position; C, B, cejilla, barré … before a numeral or figure is a barre, with ½, 1/2, m. … for one
over fewer strings; apoyando and rest stroke are rest strokes, tirando and free stroke free ones.
"""

from __future__ import annotations

import re

from engrave.model.wording import numeral

_ROMAN = r"(?P<roman>[IVX]{1,6})"
_FIGURE = r"(?P<figure>\d{1,2})"
_PART = r"(?:[½⅔⅓¼¾⅚]|\d\s*/\s*\d|m(?:edia|ezz[ao]|[eé])?\.?|half|demi)?"
_WORD = r"(?:(?i:cejilla|ceja|cej\.?|barr[eé]|bar\.|capotasto)|[CcBb₵¢]\.?)"
_BARRE = re.compile(rf"\s*{_PART}\s*{_WORD}\s*(?:{_ROMAN}|{_FIGURE})(?:[\s(_.:–-].*)?\Z")
_POS = r"(?:pos(?:\.|ici[oó]n|ition|izione)?|lage)"
_POSITIONS = (
    re.compile(rf"\s*{_POS}\s*(?:{_ROMAN}|{_FIGURE})[\s._–…-]*\Z", re.IGNORECASE),
    re.compile(rf"\s*{_ROMAN}\.?\s*{_POS}[\s._–…-]*\Z", re.IGNORECASE),
    re.compile(rf"\s*{_FIGURE}\s*(?:st|nd|rd|th|[ªºa.])?\s*{_POS}[\s._–…-]*\Z", re.IGNORECASE),
    re.compile(rf"\s*{_ROMAN}[\s._–…-]*\Z"),
)
_REST = re.compile(r"apoyan?d|apoy\.|rest[\s-]*stroke|appoggiat|but[ée]\b|angelegt", re.IGNORECASE)
_FREE = re.compile(r"tirand|\btir\.|free[\s-]*stroke|freier anschlag", re.IGNORECASE)
_VALUES = {"I": 1, "V": 5, "X": 10}
HIGHEST = 24
"""no neck has more frets to name"""


def roman(text: str) -> int | None:
    """The number of a Roman numeral up to XXIV, or None where it is not written as one."""
    total = 0
    for letter, after in zip(text, text[1:] + " ", strict=True) if text else ():
        value = _VALUES.get(letter)
        if value is None:
            return None
        total += -value if _VALUES.get(after, 0) > value else value
    return total if 1 <= total <= HIGHEST and numeral(total) == text else None


def stroke_of(text: str) -> str:
    """The stroke kind that words ask for: rest, free or empty."""
    if _REST.search(text):
        return "rest"
    return "free" if _FREE.search(text) else ""


def _fret(match: re.Match[str] | None) -> int | None:
    """The fret a match names by a Roman numeral or a figure."""
    if match is None:
        return None
    groups = match.groupdict()
    if groups.get("roman"):
        return roman(groups["roman"].upper())
    figure = int(groups["figure"])
    return figure if 1 <= figure <= HIGHEST else None


def barre_of(text: str) -> int | None:
    """The fret of a barre that words name, or None."""
    return _fret(_BARRE.match(text))


def position_of(text: str) -> int | None:
    """The fret of a position that words name, or None."""
    found = (_fret(pattern.match(text)) for pattern in _POSITIONS)
    return next((fret for fret in found if fret is not None), None)


def classify(text: str) -> tuple[str, str, int | None]:
    """Kind, text and fret of words, as in engrave.model.Direction."""
    stroke = stroke_of(text)
    if stroke:
        return "stroke", stroke, None
    for kind, read in (("barre", barre_of), ("position", position_of)):
        fret = read(text)
        if fret is not None:
            return kind, text, fret
    return "words", text, None
