"""The neck as a picture: where the fingers fall in a variation, with frets spaced as they really are."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from engrave.model import Instrument, Mark, Placement, Variation
from engrave.model.neck import homes
from engrave.model.said import say, strung
from engrave.model.wording import numeral
from engrave.pages.drawn import Drawing, box, circle, line

SPACING = 4.0
"""mm between strings"""
DOT = 1.75
"""radius of a finger's circle in mm"""
MOST_LEVELS = 3
"""most brackets of positions under each other"""
_LEFT, _RIGHT = 12.0, 0.5
"""room for the names of the open strings, and at the other end"""
_TOP, _FOOT = 2.2, 8.6


def neck_height(instrument: Instrument) -> float:
    """Height in mm of the picture."""
    return _TOP + (len(instrument.strings) - 1) * SPACING + _FOOT


def draw_neck(drawing: Drawing, variation: Variation, *, turned: bool = False) -> str:
    """Draw the placements of a variation across the drawing; returns them in words.

    The fingers' circles show the finger used most where several share a place; a ring beside the nut is an open string.
    `turned`: as a left-handed player sees it, with the nut on the right.
    """
    placements = [note.placement for note in variation.passage.notes if note.placement and not note.tied_back]
    _Neck(drawing, variation, placements, turned=turned).draw()
    return neck_words(placements)


class _Neck:
    """One picture being drawn: from a fret's distance and a string to mm on the paper."""

    def __init__(self, drawing: Drawing, variation: Variation, placements: list[Placement], *, turned: bool) -> None:
        self.drawing, self.instrument, self.placements = drawing, variation.instrument, placements
        self.homes, self.turned = homes(variation.passage.events), turned
        frets = [p.fret for p in placements if p.fret]
        lowest, highest = (min(frets), max(frets)) if frets else (1, 4)
        self.first = 0 if lowest <= 4 else lowest - 2
        self.last = min(max(highest + 1, self.first + 6), self.instrument.top)
        self.left, self.right = self.instrument.mm(self.first), self.instrument.mm(self.last)

    def x(self, fret: float) -> float:
        share = (self.instrument.mm(fret) - self.left) / (self.right - self.left)
        return _LEFT + share * (self.drawing.width - _LEFT - _RIGHT)

    def y(self, string: int) -> float:
        return _TOP + (string - 1) * SPACING

    def behind(self, fret: int) -> float:
        """Where a finger stands: in the nearer part of the space behind its fret."""
        return self.x(fret - 1) + 0.62 * (self.x(fret) - self.x(fret - 1))

    def draw(self) -> None:
        before = len(self.drawing.marks)
        self._draw()
        if self.turned:
            # what is written has been put to its place already, so that it can be read
            marks = self.drawing.marks[before:]
            self.drawing.marks[before:] = [mark if mark.text else self._mirrored(mark) for mark in marks]

    def _mirrored(self, mark: Mark) -> Mark:
        path = tuple(
            (kind, tuple(self.drawing.width - v if i % 2 == 0 else v for i, v in enumerate(points)))
            for kind, points in mark.path
        )
        return replace(mark, path=path)

    def _letter(self, text: str, x: float, y: float, size: float, *, face: str = "roman") -> None:
        self.drawing.letter(text, self.drawing.width - x if self.turned else x, y, size, face=face)

    def _draw(self) -> None:
        strings = len(self.instrument.strings)
        low = self.y(strings)
        for fret in range(self.first, self.last + 1):
            at = self.x(fret)
            nut = box(at - 1.0, _TOP, 1.0, low - _TOP)
            self.drawing.marks.append(line(at, _TOP, at, low, 0.18) if fret else nut)
            if fret > self.first:
                self._letter(numeral(fret), (self.x(fret - 1) + at) / 2, low + 4.4, 2.9)
        used: dict[tuple[int, int], Counter[int]] = {}
        for placement in self.placements:
            used.setdefault((placement.string, placement.fret), Counter())[placement.finger] += 1
        for string in range(1, strings + 1):
            self._string(string, {fret: fingers for (s, fret), fingers in sorted(used.items()) if s == string})
        self._positions(low + 6.2)

    def _string(self, string: int, used: dict[int, Counter[int]]) -> None:
        y = self.y(string)
        # for the translator: the name of an open string
        self._letter(say("{note}", note=self.instrument.strings[string - 1].note), 2.2, y + 1.0, 3.1)
        pen = 0.3 if string in self.instrument.wound else 0.16
        stops = [_LEFT, *(self.behind(fret) for fret in used if fret), self.drawing.width - _RIGHT]
        for index, (start, end) in enumerate(pairwise(stops)):
            begins = start + DOT * (index > 0)
            ends = end - DOT * (index < len(stops) - 2)
            self.drawing.marks.append(line(begins, y, ends, y, pen))
        for fret, fingers in used.items():
            if not fret:
                self.drawing.marks.append(circle(_LEFT - 4.2, y, 1.1, 0.28))
                continue
            finger = min(fingers, key=lambda f: (-fingers[f], f))
            self.drawing.marks.append(circle(self.behind(fret), y, DOT, 0.28))
            self._letter(str(finger), self.behind(fret), y + 1.02, 3.1, face="bold")

    def _positions(self, at: float) -> None:
        """A bracket under the four frets of each place the hand lives in, as the numerals over the staff say.

        Those that would run into each other stand lower.
        """
        ends: list[float] = []
        for position in self.homes:
            start, end = (self.x(min(max(f, self.first), self.last)) for f in (position - 1, position + 3))
            level = next((i for i, taken in enumerate(ends) if taken <= start + 0.1), len(ends))
            if level == MOST_LEVELS:
                continue
            ends[level : level + 1] = [end]
            low = at + level * 1.1
            self.drawing.marks.append(line(start + 0.6, low, end - 0.6, low, 0.25))
            self.drawing.marks += [line(e, low, e, low - 0.8, 0.25) for e in (start + 0.6, end - 0.6)]


def neck_words(placements: list[Placement]) -> str:
    """The picture in words, string by string."""
    if not placements:
        return say("The neck, no note placed.")
    return say("Places on the neck: {places}.", places=strung(_by_string(placements), "; "))


def _by_string(placements: list[Placement]) -> Iterator[str]:
    for string in sorted({p.string for p in placements}):
        here = sorted({(p.fret, p.finger) for p in placements if p.string == string})
        places = (
            say("fret {fret} with finger {finger}", fret=fret, finger=f) if fret else say("open") for fret, f in here
        )
        yield say("string {string} {places}", string=string, places=strung(places, ", "))
