"""An engraved picture as a list of marks in mm, with words for someone who cannot see it.

Conventions: millimetres, x to the right, y down, origin at the top left of the system. Everything is ink with an
outline:
text inside a plate is drawn as outlines too, so a plate needs no font where it is printed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

Segment = tuple[str, tuple[float, ...]]
"""("M", (x, y)), ("L", (x, y)), ("C", (x1, y1, x2, y2, x, y)) or ("Z", ())"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One piece of ink."""

    role: str
    """Of the plain staff: staff, ledger, barline, clef, key, metre, head, stem, flag, beam, dot, accidental, rest, tie,
    accent, articulation, fermata. Laid over it: digit, letter, circle, string (the figure in a circle), string line,
    slur, slide, guide, arpeggio, tuplet, position, barre, words, ending, number (of a bar), tab, tab line."""
    owner: str = ""
    """id of the note or event it belongs to"""
    outline: str = ""
    """key into Plate.outlines for a shape used many times; empty when `path` is given"""
    path: tuple[Segment, ...] = ()
    """a shape of its own, in mm"""
    x: float = 0.0
    y: float = 0.0
    """where the outline's origin goes, in mm"""
    scale: float = 1.0
    """mm for one unit of the outline"""
    stretch: float = 1.0
    """horizontal scale relative to `scale`"""
    pen: float = 0.0
    """width in mm of a stroked line, its ends cut square at its last point (no caps); 0 for a filled shape"""
    dash: tuple[float, ...] = ()
    """dash lengths in mm of a stroked line"""
    text: str = ""
    """what the mark says, for reading back"""


@dataclass(frozen=True, slots=True, eq=False)
class Staff:
    """The plain staff of a system: one object where several systems stand on the same."""

    marks: tuple[Mark, ...]
    """y from the top line of the staff"""
    top: float
    bottom: float
    """mm from the top line to where its ink ends, down"""


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """One line of music, or a diagram."""

    width: float
    height: float
    """mm"""
    first: int
    last: int
    """indices of the first and last bar on it"""
    over: tuple[Mark, ...]
    """what is laid over the plain staff"""
    staff: Staff | None = None
    """the plain staff; a diagram has none"""
    down: float = 0.0
    """y of the top line of the staff in mm"""
    words: str = ""
    """the music of this line in words"""

    @property
    def marks(self) -> tuple[Mark, ...]:
        """All ink, the plain staff first."""
        if self.staff is None:
            return self.over
        return (*(_lowered(mark, self.down) for mark in self.staff.marks), *self.over)


def _lowered(mark: Mark, by: float) -> Mark:
    if mark.outline:
        return replace(mark, y=mark.y + by)
    path = tuple((kind, tuple(v + by if i % 2 else v for i, v in enumerate(points))) for kind, points in mark.path)
    return replace(mark, path=path)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """The engraved music of one variation, a system at a time, so that a page can break between systems."""

    staff: float
    """height of the staff in mm, outer line to outer line"""
    systems: tuple[System, ...]
    outlines: Mapping[str, tuple[Segment, ...]]
    """shapes used many times, in units of their own, y down"""

    @property
    def height(self) -> float:
        """Height in mm with no gap between the systems."""
        return sum(self.heights)

    @property
    def heights(self) -> tuple[float, ...]:
        """Height of each system in mm."""
        return tuple(system.height for system in self.systems)
