"""The text fonts of the pages: how wide a text runs in the book's family, and the fonts that a page is printed with.

Each is cut to the letters of the book before the press sees it, which keeps books small and quick wherever they are
made. Of the machine's fonts only those that lend a letter are used, and of them only what is lent.
"""

from __future__ import annotations

import unicodedata
from bisect import bisect_right
from collections.abc import Container, Iterator
from dataclasses import dataclass
from functools import lru_cache

from engrave import typefaces
from engrave.typefaces import EM

FACES = {"roman": (400, "normal"), "italic": (400, "italic"), "bold": (600, "normal")}
"""face → weight, style"""
_MM = 25.4 / 72
"""mm in a point"""
_ALWAYS = frozenset(map(chr, (*range(0x20, 0x7F), 0xA0, 0x2003)))
"""what the style sheet may put in: page numbers and the words between them"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Font:
    """A font as a style sheet names it."""

    url: str
    family: str
    weight: int
    style: str
    face: typefaces.Face
    letters: frozenset[str]


def fonts_for(text: str, signs: Container[str]) -> Iterator[Font]:
    """The fonts that print a text but for its `signs`: the book's, and those of the machine that lend it a letter."""
    letters = _ALWAYS | {c for c in set(text) if c not in signs and not unicodedata.category(c).startswith("C")}
    for name, (weight, style) in FACES.items():
        yield Font(
            url=f"engrave:{name}.otf",
            family="Book",
            weight=weight,
            style=style,
            face=typefaces.own(name),
            letters=letters,
        )
    for number, (face, lent) in enumerate(typefaces.lenders(letters).items(), start=1):
        yield Font(
            url=f"engrave:lent-{number}.otf",
            family=f"Lent {number}",
            weight=400,
            style="normal",
            face=face,
            # with the space, which is set in the face of the letter before it
            letters=frozenset((*lent, " ")),
        )


def text_width(text: str, size: float, face: str = "roman") -> float:
    """Width of a text in units of `size` (give points, get points), kerning left out."""
    return _units(text, face) * size / EM


@lru_cache(maxsize=5_000)
def _units(text: str, face: str) -> float:
    """Width of a text in units of the font, kept: pages say the same words and letters again and again."""
    return sum(typefaces.advance(character, face) for character in text)


def width_mm(text: str, points: float, face: str = "roman") -> float:
    """Width in mm of a text set in `points`."""
    return text_width(text, points, face) * _MM


def shortened(text: str, points: float, room: float, face: str = "roman") -> str:
    """The text, cut with an ellipsis where it is wider than `room` mm."""
    if width_mm(text, points, face) <= room:
        return text

    def cut(letters: int) -> str:
        return text[:letters].rstrip() + "…"

    fitting = bisect_right(range(len(text) + 1), room, key=lambda letters: width_mm(cut(letters), points, face))
    return cut(max(fitting - 1, 0))
