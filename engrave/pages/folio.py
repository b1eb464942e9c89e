"""Folios: the page numbers at the foot of pages that are laid out before anyone knows which number they get.

Such a page says every figure instead, `ALL`. Where it is gathered this line is cut out into a stream of its own, and
the binder writes the number there, in the same font and up to the same edge. So a gathering is what its own sheets
make it, and stays as it is when those before it take another page. Bought the reissue of a book of 40 variations after
one that grows by a page about a third of its time.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from engrave.pages.fonts import glyph_width

ALL = "ivxlcdm0123456789 of"
"""what stands for the number: each character it may need, once"""
_LINE = re.compile(rb"1 0 0 -1 (\S+) (\S+) Tm\n(/\S+) (\S+) Tf\n(\[[^\]]*\]) TJ\n")
_HEX = re.compile(rb"<([0-9a-f]*)>")


@dataclass(frozen=True, slots=True, kw_only=True)
class Folio:
    """The line of one page that names its number."""

    glyphs: tuple[str, ...]
    """the font's name for each character of `ALL`, four hexadecimal digits"""
    font: str
    size: float
    right: float
    """where the line ends, in pixels"""
    base: str

    def show(self, text: str) -> bytes:
        """The operators that show `text`, which is made of characters of `ALL`."""
        said = [self.glyphs[ALL.index(character)] for character in text]
        x = self.right - _width(said, self.size)
        return f"1 0 0 -1 {x:.3f} {self.base} Tm\n{self.font} {self.size:g} Tf\n<{''.join(said)}> Tj\n".encode()


def cut(content: bytes) -> tuple[bytes, Folio, bytes] | None:
    """A page's content before its folio, the folio, and the content after it; None where there is no folio.

    `content` is as WeasyPrint writes it: the numbers of glyphs are those of the font file.
    """
    for match in reversed([*_LINE.finditer(content)]):
        joined = b"".join(_HEX.findall(match[5])).decode()
        glyphs = tuple(joined[at : at + 4] for at in range(0, len(joined), 4))
        if len(glyphs) == len(ALL) == len(set(glyphs)):
            x, base, font, size = (match[number].decode() for number in (1, 2, 3, 4))
            right = float(x) + _width(glyphs, float(size)) + _kerned(match[5], float(size))
            folio = Folio(glyphs=glyphs, font=font, size=float(size), right=round(right, 3), base=base)
            return content[: match.start()], folio, content[match.end() :]
    return None


def _width(glyphs: tuple[str, ...] | list[str], size: float) -> float:
    return sum(glyph_width(int(glyph, 16)) for glyph in glyphs) * size


def _kerned(shown: bytes, size: float) -> float:
    """What the numbers between the glyphs add to the line."""
    moved = re.findall(rb"(-?[\d.]+)(?=[<\]])", _HEX.sub(b"<", shown))
    return -sum(map(float, moved)) * size / 1000
