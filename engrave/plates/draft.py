"""One system while it is being drawn: its ink, where heads and stems lie, and what is already taken.

Conventions: everything in staff spaces (a quarter of the staff's height), x from the system's left edge, y down from
the top line of the staff, so the bottom line lies at 4.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from math import floor

from engrave.model import Event
from engrave.model.outlines import Box, Path, bounds, moved, slices
from engrave.plates import lettering


@dataclass(slots=True)
class Ink:
    """A mark in the making."""

    role: str
    owner: str = ""
    outline: str = ""
    path: Path = ()
    x: float = 0.0
    y: float = 0.0
    scale: float = 1.0
    pen: float = 0.0
    dash: tuple[float, ...] = ()
    text: str = ""
    boxes: tuple[Box, ...] = ()
    beam: int = 0
    """number of the beam group a beam or stem belongs to, within its system; 0 for none"""


@dataclass(slots=True)
class Head:
    """A note's head as drawn."""

    left: float
    right: float
    y: float
    scale: float = 1.0
    """1, or less for a grace note"""


@dataclass(slots=True)
class Stem:
    """The stem of one event."""

    x: float
    head: float
    """y of the end at the heads"""
    tip: float
    """y of the far end"""

    @property
    def up(self) -> bool:
        """Whether it points up."""
        return self.tip < self.head


class Field:
    """Boxes of ink in columns one space wide, so that a question looks at its neighbours only."""

    def __init__(self) -> None:
        self._columns: dict[int, list[tuple[Box, str, str]]] = {}

    def copy(self) -> Field:
        """Another with the same boxes."""
        made = Field()
        made._columns = {column: [*entries] for column, entries in self._columns.items()}
        return made

    def add(self, boxes: Iterable[Box], role: str, owner: str) -> None:
        """Take up `boxes`."""
        columns = self._columns
        for box in boxes:
            entry = (box, role, owner)
            for column in range(floor(box[0]), floor(box[2]) + 1):
                if column in columns:
                    columns[column].append(entry)
                else:
                    columns[column] = [entry]

    def near(self, box: Box, room: float = 0.0) -> list[tuple[Box, str, str]]:
        """Everything closer than `room` to `box`, sideways and up or down, with its role and owner."""
        x0, y0, x1, y1 = box[0] - room, box[1] - room, box[2] + room, box[3] + room
        found: list[tuple[Box, str, str]] = []
        for column in range(floor(x0), floor(x1) + 1):
            for entry in self._columns.get(column, ()):
                b = entry[0]
                if b[0] < x1 and b[2] > x0 and b[1] < y1 and b[3] > y0 and entry not in found:
                    found.append(entry)
        return found

    def free(self, box: Box, room: float = 0.0) -> bool:
        """Whether nothing is closer than `room` to `box`."""
        x0, y0, x1, y1 = box[0] - room, box[1] - room, box[2] + room, box[3] + room
        for column in range(floor(x0), floor(x1) + 1):
            for b, _, _ in self._columns.get(column, ()):
                if b[0] < x1 and b[2] > x0 and b[1] < y1 and b[3] > y0:
                    return False
        return True

    def top(self, x0: float, x1: float, default: float) -> float:
        """The highest ink between x0 and x1, or `default` if none is higher."""
        return min((default, *(b[1] for b in self._between(x0, x1))))

    def bottom(self, x0: float, x1: float, default: float) -> float:
        """The lowest ink between x0 and x1, or `default` if none is lower."""
        return max((default, *(b[3] for b in self._between(x0, x1))))

    def _between(self, x0: float, x1: float) -> Iterator[Box]:
        for column in range(floor(x0), floor(x1) + 1):
            for box, _, _ in self._columns.get(column, ()):
                if box[0] < x1 and box[2] > x0:
                    yield box


@dataclass(slots=True, eq=False)
class Draft:
    """A system in the making."""

    width: float
    first: int
    last: int
    outlines: dict[str, Path]
    """shared by all systems of a plate"""
    ink: list[Ink] = field(default_factory=list)
    taken: Field = field(default_factory=Field)
    heads: dict[str, Head] = field(default_factory=dict)
    """note id → head"""
    stems: dict[str, Stem] = field(default_factory=dict)
    """event id → stem"""
    rests: dict[str, Box] = field(default_factory=dict)
    """event id → box of the rest"""
    bars: dict[int, tuple[float, float]] = field(default_factory=dict)
    """bar index → x of its left and right end"""
    roof: float = 0.0
    """top of the row of letters, which signs over the staff stay above"""
    crowded: set[int] = field(default_factory=set)
    """indices of bars with a digit for which there was no good place"""
    base: Draft | None = None
    """the plain staff it stands on, as others may: nothing changes that, and its ink comes first"""
    _bounds: dict[str, Box] = field(default_factory=dict)
    """outline → its box: found by name, for the hash of a path is made anew each time it is asked for"""

    def over(self, outlines: dict[str, Path]) -> Draft:
        """A draft with this one as its plain staff; glyphs are added to `outlines`."""
        return replace(
            self, outlines=outlines, ink=[*self.ink], taken=self.taken.copy(), crowded=set(), _bounds={}, base=self
        )

    def heads_of(self, event: Event) -> list[Head]:
        """The heads of an event that stand on this system."""
        return [self.heads[note.id] for note in event.notes if note.id in self.heads]

    def left_of(self, event: Event) -> float:
        """The left of an event's heads or rest; of one that shows neither, a little behind its bar line."""
        if heads := self.heads_of(event):
            return min(head.left for head in heads)
        return self.rests[event.id][0] if event.id in self.rests else self.bars[event.bar][0] + 1.0

    def add(self, ink: Ink, *, solid: bool = True) -> Ink:
        """Take up a mark; a `solid` one is an obstacle from then on."""
        if not ink.boxes:
            ink.boxes = self.extent(ink)
        self.ink.append(ink)
        if solid:
            self.taken.add(ink.boxes, ink.role, ink.owner)
        return ink

    def shift(self, ink: Ink, dy: float, dx: float = 0.0) -> None:
        """Move a mark that is not on the draft yet."""
        if ink.outline:
            ink.x, ink.y = ink.x + dx, ink.y + dy
        ink.path = moved(ink.path, dx=dx, dy=dy)
        ink.boxes = tuple((a + dx, b + dy, c + dx, d + dy) for a, b, c, d in ink.boxes)

    def extent(self, ink: Ink) -> tuple[Box, ...]:
        """Boxes that cover a mark's ink."""
        if ink.path:
            return slices(ink.path, pen=ink.pen)
        if ink.outline not in self._bounds:
            self._bounds[ink.outline] = bounds(self.outlines[ink.outline])
        left, top, right, bottom = self._bounds[ink.outline]
        s, x, y = ink.scale, ink.x, ink.y
        return ((x + left * s, y + top * s, x + right * s, y + bottom * s),)

    def lettered(self, text: str, face: str, em: float, role: str, owner: str = "") -> Ink:
        """A piece of text as ink with its origin at (0, 0), not yet on the draft; `em` in spaces."""
        key, path = lettering.outline(text, face)
        self.outlines.setdefault(key, path)
        ink = Ink(role=role, owner=owner, outline=key, scale=em / lettering.EM, text=text)
        ink.boxes = self.extent(ink)
        return ink


def placed(ink: Ink, x: float, y: float) -> Box:
    """Where the ink of a piece of text would lie with its origin at (x, y)."""
    left, top, right, bottom = ink.boxes[0]
    return (left - ink.x + x, top - ink.y + y, right - ink.x + x, bottom - ink.y + y)


def put(draft: Draft, ink: Ink, x: float, y: float) -> Ink:
    """Put a piece of text on the draft with its origin at (x, y)."""
    ink.boxes = (placed(ink, x, y),)
    ink.x, ink.y = x, y
    return draft.add(ink)


def put_round(draft: Draft, ink: Ink, x: float, y: float) -> Ink:
    """Put a piece of text on the draft with its middle at (x, y)."""
    left, top, right, bottom = ink.boxes[0]
    return put(draft, ink, x - (left + right) / 2, y - (top + bottom) / 2)
