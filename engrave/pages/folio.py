"""Folios: numbers in pages that are laid out before anyone knows which they get; of pages, and of variations.

Such a line says every figure instead, `PAGE` or `PLACE`. Where the page is gathered the line is cut out into a stream
of its own, and the binder writes the number there, in the same font and up to the same edge. So a gathering is what its
own sheets make it, and stays as it is when those before it take another page or are another study. Bought the reissue
of a book of 40 variations after one that grows by a page about a third of its time, and as much again where a study
moves.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from engrave.pages.fonts import glyph_width

PAGE = "ivxlcdm0123456789 of"
"""what stands for the number of a page: each character it may need, once"""
_FIGURES, _SPACE = "0123456789", "\N{EM SPACE}"
PLACE = f"{_FIGURES}{_SPACE}{_FIGURES}"
"""the same for the number of a variation, with the space behind it; twice, for there are words of eleven letters"""
_LENGTHS = {4 * len(text) for text in (PAGE, PLACE)}
_LINE = re.compile(rb"1 0 0 -1 (\S+) (\S+) Tm\n(/\S+) (\S+) Tf\n(\[[^\]]*\]) TJ\n")
_HEX = re.compile(rb"<([0-9a-f]*)>")


@dataclass(frozen=True, slots=True, kw_only=True)
class Folio:
    """A line that names a number."""

    said: str
    """PAGE or PLACE"""
    glyphs: tuple[str, ...]
    """the font's name for each character of it, four hexadecimal digits"""
    font: str
    size: float
    left: float
    right: float
    """where the line begins and ends, in pixels"""
    base: str

    def show(self, text: str) -> bytes:
        """The operators that show `text`, made of characters of `said`: it begins or, for a page, ends as that does."""
        said = [self.glyphs[self.said.index(character)] for character in text]
        x = self.right - _width(said, self.size) if self.said == PAGE else self.left
        return f"1 0 0 -1 {x:.3f} {self.base} Tm\n{self.font} {self.size:g} Tf\n<{''.join(said)}> Tj\n".encode()


def place(number: int) -> str:
    """The number of a variation, with the space behind it, as a folio of places shows it."""
    return f"{number}{_SPACE}"


def cut(content: bytes) -> tuple[list[bytes], list[Folio]]:
    """The folios of a page, and its content before, between and behind them: all of it where there are none.

    `content` is as WeasyPrint writes it: the numbers of glyphs are those of the font file.
    """
    parts, folios, at = [], [], 0
    for match in _LINE.finditer(content):
        if folio := _folio(match):
            parts.append(content[at : match.start()])
            folios.append(folio)
            at = match.end()
    return [*parts, content[at:]], folios


def _folio(line: re.Match[bytes]) -> Folio | None:
    """The folio that a line of text is, if it is one."""
    joined = b"".join(_HEX.findall(line[5])).decode()
    if len(joined) not in _LENGTHS:
        return None
    glyphs = tuple(joined[at : at + 4] for at in range(0, len(joined), 4))
    # no words are like these: twenty letters without one that comes again, or ten that all come again in their order
    said = next((text for text in (PAGE, PLACE) if _alike(glyphs, text)), None)
    if said is None:
        return None
    x, base, font, size = (line[number].decode() for number in (1, 2, 3, 4))
    right = float(x) + _width(glyphs, float(size)) + _kerned(line[5], float(size))
    return Folio(said=said, glyphs=glyphs, font=font, size=float(size), left=float(x), right=round(right, 3), base=base)


def _alike(glyphs: Sequence[str], text: str) -> bool:
    """Whether glyphs come again just where the characters of a text do."""
    return len(glyphs) == len(text) and [*map(glyphs.index, glyphs)] == [*map(text.index, text)]


def _width(glyphs: Sequence[str], size: float) -> float:
    return sum(glyph_width(int(glyph, 16)) for glyph in glyphs) * size


def _kerned(shown: bytes, size: float) -> float:
    """What the numbers between the glyphs add to the line."""
    moved = re.findall(rb"(-?[\d.]+)(?=[<\]])", _HEX.sub(b"<", shown))
    return -sum(map(float, moved)) * size / 1000
