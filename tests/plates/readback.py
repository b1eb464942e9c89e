"""What a finished plate says, read from its marks alone: pitches from heads, signs and key, and who owns each mark.

It knows nothing of the music the plate was made from, nor of how it was written for the engraver, so that a test can
hold what is printed against what was meant. Conventions: treble clef an octave down; a sign holds for its staff place
to the end of the bar, the key signature before any sign; a head tied from another keeps that head's sign.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from engrave.model import Mark, Pitch, Plate, System
from engrave.model.outlines import bounds

_SIGNS = {"E260": -1, "E261": 0, "E262": 1, "E263": 2, "E264": -2}
"""SMuFL: flat, natural, sharp, double sharp, double flat"""
_STEPS = "CDEFGAB"
_TOP = 7 * 4 + 3
"""height of the top line, which sounds F4 under this clef, in steps above C0"""
_CLEF = "E052"
"""SMuFL: treble clef an octave down"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What is printed for one note."""

    pitch: Pitch
    system: int
    bar: int
    """how many bar lines stand before it, in the whole plate"""
    x: float
    """left edge of the head in mm"""
    digit: str = ""
    letter: str = ""
    string: str = ""
    """number in a circle"""
    tab: str = ""
    line: int = 0
    """tablature line its number stands on, 1 at the top; 0 without tablature"""


def read_back(plate: Plate) -> dict[str, Said]:
    """Owner of each head → what the plate prints for it, system by system, from left to right."""
    said: dict[str, Said] = {}
    tied: dict[int, int] = {}
    bars = 0
    for index, system in enumerate(plate.systems):
        reader = _Reader(plate, index, system, bars, tied)
        said |= reader.notes()
        bars, tied = reader.bars, reader.open_ties
    return said


class _Reader:
    """Reads one system; `tied` are places, with their alteration, that a tie carries in from the system before."""

    def __init__(self, plate: Plate, index: int, system: System, bars: int, tied: dict[int, int]) -> None:
        self.plate, self.index, self.system, self.bars = plate, index, system, bars
        self.space = plate.staff / 4
        lines = sorted(mark.path[0][1][1] for mark in system.marks if mark.role == "staff")
        self.top = lines[0]
        self.bottom = lines[4]
        self.tied_in = tied
        self.open_ties: dict[int, int] = {}

    def notes(self) -> dict[str, Said]:
        """The notes of the system by the owner of their heads."""
        marks = self.system.marks
        if not any(mark.role == "clef" and mark.outline == _CLEF for mark in marks):
            raise ValueError(f"system {self.index + 1} has no treble clef an octave down")
        start = min((self.left(m) for m in marks if m.role in ("head", "rest")), default=0.0)
        edges = [
            x for x in sorted({self.left(m) for m in marks if m.role == "barline" and self.crosses(m)}) if x > start
        ]
        ties = [(*self.ends(m), m.owner) for m in marks if m.role == "tie"]
        events = sorted(
            (m for m in marks if m.role in ("head", "accidental", "key")), key=lambda m: (self.left(m), m.role != "key")
        )
        texts, lines = self.texts(), self.tab_lines()
        key: dict[str, int] = {}
        state: dict[int, int] = {}
        said: dict[str, Said] = {}
        bar, taken = 0, 0
        signing = False
        for mark in events:
            while taken < len(edges) and edges[taken] < self.left(mark):
                # The two strokes of a double bar line stand closer together than any two bars.
                bar += taken == 0 or edges[taken] - edges[taken - 1] > 1.5 * self.space
                state = {}
                taken += 1
            place = self.place(mark)
            if mark.role == "key":
                # a signature takes the place of the one before, whose signs need not be cancelled
                key = key if signing else {}
                key[_STEPS[place % 7]] = _SIGNS[mark.outline]
            elif mark.role == "accidental":
                state[place] = _SIGNS[mark.outline]
            else:
                alter = state.get(place, key.get(_STEPS[place % 7], 0))
                alter = self.of_a_tie(mark, place, alter, ties, said)
                pitch = Pitch(step=_STEPS[place % 7], alter=alter, octave=place // 7)
                said[mark.owner] = Said(
                    pitch=pitch,
                    system=self.index,
                    bar=self.bars + bar,
                    x=self.left(mark),
                    line=lines.get(mark.owner, 0),
                    **texts.get(mark.owner, {}),
                )
            signing = mark.role == "key"
        self.bars += bar + 1
        self.leave(ties, said)
        return said

    def texts(self) -> dict[str, dict[str, str]]:
        """Owner → the digit, letter, string and fret number that stand for it, by role."""
        found: dict[str, dict[str, str]] = {}
        for mark in self.system.marks:
            if mark.role in ("digit", "letter", "string", "tab"):
                found.setdefault(mark.owner, {})[mark.role] = mark.text
        return found

    def tab_lines(self) -> dict[str, int]:
        """Owner → the tablature line its number stands on."""
        lines = sorted({round(m.path[0][1][1], 3) for m in self.system.marks if m.role == "tab line"})
        found: dict[str, int] = {}
        for mark in self.system.marks:
            if mark.role == "tab":
                _, top, _, bottom = self.box(mark)
                found[mark.owner] = 1 + min(range(len(lines)), key=lambda k: abs(lines[k] - (top + bottom) / 2))
        return found

    def of_a_tie(
        self, head: Mark, place: int, alter: int, ties: Iterable[tuple[float, float, float, str]], said: dict[str, Said]
    ) -> int:
        """The alteration of a head, which a tie ending at it may bring along."""
        for x0, x1, y, owner in ties:
            near = abs(y - self.y(head)) < 0.9 * self.space and -0.6 * self.space < self.left(head) - x1 < self.space
            if not near:
                continue
            if owner in said and said[owner].pitch.height == place:
                return said[owner].pitch.alter
            if x0 < self.first() and place in self.tied_in:
                return self.tied_in[place]
        return alter

    def leave(self, ties: Iterable[tuple[float, float, float, str]], said: dict[str, Said]) -> None:
        """Note the ties that run out of the system on the right."""
        for _, x1, _, owner in ties:
            if owner in said and x1 > max(s.x for s in said.values()) + 1.2 * self.space:
                pitch = said[owner].pitch
                self.open_ties[pitch.height] = pitch.alter

    def first(self) -> float:
        """Left edge of the first head."""
        return min(self.left(m) for m in self.system.marks if m.role == "head")

    def place(self, mark: Mark) -> int:
        """Sounding staff place of a head or sign, in steps above C0."""
        return _TOP - round((self.y(mark) - self.top) / (self.space / 2))

    def y(self, mark: Mark) -> float:
        """Height of the staff place a glyph stands on: its origin."""
        return mark.y

    def box(self, mark: Mark) -> tuple[float, float, float, float]:
        """Where a mark's ink lies, in mm."""
        if not mark.outline:
            return bounds(mark.path)
        left, top, right, bottom = bounds(self.plate.outlines[mark.outline])
        s = mark.scale
        return mark.x + left * s, mark.y + top * s, mark.x + right * s, mark.y + bottom * s

    def left(self, mark: Mark) -> float:
        """Left edge of a mark's ink."""
        return self.box(mark)[0]

    def ends(self, tie: Mark) -> tuple[float, float, float]:
        """Left and right end of a tie, and the height of its ends."""
        left, top, right, bottom = bounds(tie.path)
        y = tie.path[0][1][1]
        return left, right, y if top <= y <= bottom else (top + bottom) / 2

    def crosses(self, mark: Mark) -> bool:
        """Whether a bar line's stroke spans the plain staff and stands inside the line, not at its start."""
        left, top, _, bottom = self.box(mark)
        return bool(mark.pen) and top <= self.top + 0.1 and bottom >= self.bottom - 0.1 and left > 0.5
