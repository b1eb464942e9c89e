"""Text as outlines: letters of any script, joined and turned as their script asks, so that a plate needs no font.

Units: an outline is in font units (1,000 to the em), y down, its origin on the baseline at the left.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import groupby

from engrave.model import Segment
from engrave.model.errors import one_line
from engrave.typefaces.faces import FACES, STAND_IN, Face, face_of, has, opened, own

Outline = tuple[Segment, ...]
Drawn = tuple[Outline, float]
"""outline and width of a sign drawn by hand"""
PLAIN = {"kern": False, "liga": False}
"""the book's own letters stand on a plate one by one"""


def clean(text: str) -> str:
    """Text as it can be set: composed, on one line, without marks of direction and other signs that have no ink."""
    # before the line is made: inside a word they leave no gap in it
    bare = "".join(c for c in text if unicodedata.category(c) not in ("Cf", "Cs"))
    return unicodedata.normalize("NFC", one_line(bare, limit=100_000))


def right_to_left(text: str) -> bool:
    """Whether a text is read from the right: its first letter that has a direction says so (UAX 9, P2)."""
    kinds = (unicodedata.bidirectional(character) for character in text)
    return next((kind != "L" for kind in kinds if kind in ("L", "R", "AL")), False)


@dataclass(frozen=True, slots=True)
class _ScriptRun:
    """Letters that go one way, in one face."""

    text: str
    level: int
    """odd: it runs from the right"""
    face: Face | None
    """none: a sign drawn by hand, or one that nothing has"""


@dataclass(slots=True)
class OutlinePen:
    """Takes up what HarfBuzz draws as `path`, `x` and `y` being the glyph's place."""

    x: float = 0.0
    y: float = 0.0
    path: list[Segment] = field(default_factory=list)

    def moveTo(self, point: tuple[float, float]) -> None:  # noqa: N802 - the name is a fontTools pen's
        """Begin a contour."""
        self._take("M", point)

    def lineTo(self, point: tuple[float, float]) -> None:  # noqa: N802
        """A straight piece."""
        self._take("L", point)

    def curveTo(self, *points: tuple[float, float]) -> None:  # noqa: N802
        """A cubic curve."""
        self._take("C", *points)

    def qCurveTo(self, control: tuple[float, float], end: tuple[float, float]) -> None:  # noqa: N802
        """A quadratic curve, as the cubic that is the same."""
        _, last = self.path[-1]
        start = last[-2] - self.x, -last[-1] - self.y
        first, second = (
            (at[0] + 2 * (control[0] - at[0]) / 3, at[1] + 2 * (control[1] - at[1]) / 3) for at in (start, end)
        )
        self._take("C", first, second, end)

    def closePath(self) -> None:  # noqa: N802
        """End a contour."""
        self.path.append(("Z", ()))

    def _take(self, kind: str, *points: tuple[float, float]) -> None:
        self.path.append((kind, tuple(v for x, y in points for v in (x + self.x, -(y + self.y)))))


def outline(text: str, face: str, signs: dict[str, Drawn]) -> tuple[Outline, float]:
    """Outline and width of `text` set in `face`.

    `signs` are those drawn by hand, of which STAND_IN is one: it is printed for a letter that no face has.
    """
    pen = OutlinePen()
    text = clean(text)
    for run in _in_order(_runs(text, face, signs)):
        if run.face is None:
            for character in run.text:
                path, width = signs.get(character) or signs[STAND_IN]
                for kind, points in path:
                    pen.path.append((kind, tuple(v if i % 2 else v + pen.x for i, v in enumerate(points))))
                pen.x += width
        else:
            _shape(run, run.face, pen)
    return tuple(pen.path), pen.x


def _shape(run: _ScriptRun, face: Face, pen: OutlinePen) -> None:
    import uharfbuzz  # noqa: PLC0415 (loaded only when text is printed)

    buffer = uharfbuzz.Buffer()
    buffer.add_str(run.text)
    buffer.direction = "rtl" if run.level % 2 else "ltr"
    # else the machine's own language would say how letters are formed
    buffer.language = "und"
    buffer.guess_segment_properties()
    font = opened(face)
    uharfbuzz.shape(font, buffer, PLAIN if face in map(own, FACES) else {})
    start = pen.x
    for info, place in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        pen.x, pen.y = start + place.x_offset, place.y_offset
        font.draw_glyph_with_pen(info.codepoint, pen)
        start += place.x_advance
    pen.x, pen.y = start, 0.0


def _runs(text: str, name: str, signs: dict[str, Drawn]) -> list[_ScriptRun]:
    """The text in pieces of one direction and one face each, in the order it is read."""
    faces: list[Face | None] = []
    for character in text:
        before = faces[-1] if faces else None
        joins = unicodedata.combining(character) or character.isspace()
        if character in signs:
            faces.append(None)
        elif joins and before is not None and has(before, character):
            faces.append(before)
        else:
            faces.append(face_of(character, name))
    marked = list(zip(text, _levels(text), faces, strict=True))
    return [
        _ScriptRun("".join(character for character, _, _ in group), level, face)
        for (level, face), group in ((key, list(rows)) for key, rows in groupby(marked, key=lambda row: row[1:]))
    ]


def _levels(text: str) -> list[int]:
    """How deep each character is embedded: even ones run from the left, odd ones from the right (UAX 9, without marks).

    Figures run from the left, but among letters that do not they are no bound to what lies between (W7, N1, N2).
    """
    base = "R" if right_to_left(text) else "L"
    known = {"L": "L", "R": "R", "AL": "R"}
    kinds: list[str] = []
    strong = base
    for character in text:
        kind = unicodedata.bidirectional(character)
        strong = known.get(kind, strong)
        kinds.append(
            strong if kind in known or (kind == "EN" and strong == "L") else "N" if kind in ("EN", "AN") else ""
        )
    levels = {"L": 2 if base == "R" else 0, "R": 1, "N": 2}
    bounds = [{"N": "R"}.get(kind, kind) for kind in kinds]
    found: list[int] = []
    for index, kind in enumerate(kinds):
        before = next((bound for bound in reversed(bounds[:index]) if bound), base)
        behind = next((bound for bound in bounds[index:] if bound), base)
        found.append(levels[kind or (before if before == behind else base)])
    return found


def _in_order(runs: Sequence[_ScriptRun]) -> list[_ScriptRun]:
    """Runs as they are printed from left to right (UAX 9, L2)."""
    ordered = list(runs)
    for level in range(max((run.level for run in runs), default=0), 0, -1):
        deep = partial(_reaches, level)
        ordered = [run for back, group in groupby(ordered, key=deep) for run in (list(group)[::-1] if back else group)]
    return ordered


def _reaches(level: int, run: _ScriptRun) -> bool:
    return run.level >= level
