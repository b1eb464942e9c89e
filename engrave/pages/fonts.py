"""The text font: where it lies, which characters it has, how wide a text runs.

The one font family comes from the package font-source-serif-pro (SIL Open Font License); nothing is taken from the
machine.
"""

from __future__ import annotations

import unicodedata
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from engrave.model.errors import one_line

FACES = {
    "regular": ("SourceSerifPro-Regular.otf", 400, "normal"),
    "italic": ("SourceSerifPro-It.otf", 400, "italic"),
    "semibold": ("SourceSerifPro-Semibold.otf", 600, "normal"),
}
"""face → file, weight, style"""

_MM = 25.4 / 72
"""mm in a point"""
_SOFT = {"\u00ad", "\u200b", "\u200c", "\u200d", "\u2060", "\ufeff"}
"""characters without ink of their own that no font needs"""


@cache
def font_file(face: str) -> Path:
    """Where the file of a face lies."""
    import font_source_serif_pro  # noqa: PLC0415 (loaded only when a page is printed)

    return Path(font_source_serif_pro.font_directory) / FACES[face][0]


@cache
def _opened(face: str) -> tuple[Any, dict[int, str], Any]:
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped] # noqa: PLC0415 (loaded only when a page is printed)

    font = TTFont(font_file(face), lazy=True)
    return font, font.getBestCmap(), font["hmtx"]


@cache
def characters() -> frozenset[str]:
    """Characters the upright face has."""
    return frozenset(map(chr, _opened("regular")[1]))


def clean(text: str) -> str:
    """Text as it can be set: composed, on one line, without control and invisible characters."""
    # marks of direction inside a word leave no gap in it
    bare = "".join(c for c in text if unicodedata.category(c) != "Cf")
    composed = unicodedata.normalize("NFC", one_line(bare, limit=100_000))
    return "".join(c for c in composed if c not in _SOFT and unicodedata.category(c) not in ("Cc", "Cf", "Cs", "Co"))


def text_width(text: str, size: float, face: str = "regular") -> float:
    """Width of a text in units of `size` (give points, get points), kerning left out."""
    em = 1000
    return _units(text, face) * size / em


@lru_cache(maxsize=5_000)
def _units(text: str, face: str) -> int:
    """That in units of the font file, kept: pages say the same words and letters again and again."""
    _, names, widths = _opened(face)
    return sum(widths[names[ord(c)]][0] if ord(c) in names else 600 for c in text)


def width_mm(text: str, points: float, face: str = "regular") -> float:
    """Width in mm of a text set in `points`."""
    return text_width(text, points, face) * _MM


def shortened(text: str, points: float, room: float, face: str = "regular") -> str:
    """The text, cut with an ellipsis where it is wider than `room` mm."""
    if width_mm(text, points, face) <= room:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        fits = width_mm(text[:middle].rstrip() + "…", points, face) <= room
        low, high = (middle, high) if fits else (low, middle - 1)
    return text[:low].rstrip() + "…"


def draw_glyph(character: str, pen: Any, face: str = "regular") -> None:
    """Draw a character's outline with a fontTools pen, 1000 units to the em, y up."""
    font, names, _ = _opened(face)
    font.getGlyphSet()[names[ord(character)]].draw(pen)
