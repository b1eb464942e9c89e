"""Pieces of the diagrams: lines, boxes, circles and lettering as marks in mm."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

from engrave import typefaces
from engrave.languages import letters_plain, told
from engrave.model import Mark, Plate, System, outlines
from engrave.pages.fonts import text_width
from engrave.pages.sign_font import SHAPES


def line(x1: float, y1: float, x2: float, y2: float, pen: float) -> Mark:
    """A straight line of `pen` mm."""
    return Mark(role="line", path=outlines.line(x1, y1, x2, y2), pen=pen)


def box(x: float, y: float, width: float, height: float, pen: float = 0.0) -> Mark:
    """A rectangle, filled unless a `pen` is given."""
    return Mark(role="box", path=outlines.rectangle(x, y, x + width, y + height), pen=pen)


def circle(x: float, y: float, radius: float, pen: float) -> Mark:
    """A circle, drawn with a `pen`."""
    return Mark(role="circle", path=outlines.disc(x, y, radius), pen=pen)


@cache
def glyph_outline(character: str, face: str) -> outlines.Path:
    """A character's outline as a shape of a plate: 1000 units to the em, y down."""
    if character in SHAPES:
        return outlines.moved(SHAPES[character][1], sy=-1.0)
    pen = typefaces.OutlinePen()
    typefaces.draw(character, pen, face)
    return tuple(pen.path)


@dataclass(slots=True, kw_only=True)
class Drawing:
    """A diagram being put together."""

    width: float
    height: float
    """mm"""
    language: str = "en"
    """of its lettering"""
    marks: list[Mark] = field(default_factory=list)
    shapes: dict[str, outlines.Path] = field(default_factory=dict)

    def letter(self, text: str, x: float, y: float, size: float, *, face: str = "roman", at: str = "middle") -> None:
        """Write `text` with its baseline at y and em of `size` mm; x is its start, middle or end."""
        text = letters_plain(told(text, self.language))
        wide = sum(self._advance(c, face) for c in text) * size / 1000
        x -= {"start": 0.0, "middle": wide / 2, "end": wide}[at]
        for character in text:
            key = f"{face} {character}"
            if character != " ":
                self.shapes.setdefault(key, glyph_outline(character, face))
                self.marks.append(Mark(role="lettering", outline=key, x=x, y=y, scale=size / 1000, text=character))
            x += self._advance(character, face) * size / 1000

    @staticmethod
    def _advance(character: str, face: str) -> float:
        return float(SHAPES[character][0]) if character in SHAPES else text_width(character, 1000, face)

    def plate(self, words: str) -> Plate:
        """The finished picture with what it says in words."""
        system = System(width=self.width, height=self.height, first=0, last=0, over=tuple(self.marks), words=words)
        return Plate(staff=0.0, systems=(system,), outlines=self.shapes)
