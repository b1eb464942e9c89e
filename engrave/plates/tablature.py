"""A tablature staff under the plain one: one line a string, fret numbers straight under their heads."""

from __future__ import annotations

import itertools

from engrave.model.outlines import Box, lens, line, slices
from engrave.plates.draft import Draft, Ink, put_round
from engrave.plates.score import IndexedScore, slur_runs

LINE = 1.5
"""distance of the strings' lines in spaces"""
FIGURE = 1.85
"""em of the fret numbers"""
PEN = 13 / 180
_HALO = 0.14
"""how far a string's line keeps from a number"""


def draw_tablature(draft: Draft, score: IndexedScore, strings: int) -> None:
    """Print the tablature staff below everything drawn so far. Tied notes are not repeated."""
    left, _, right, _ = next(ink.boxes[0] for ink in draft.ink if ink.role == "staff")
    top = draft.taken.bottom(left, right, 4.0) + 2.0
    gaps: list[list[tuple[float, float]]] = [[] for _ in range(strings)]
    figures: dict[str, Box] = {}
    for event in score.on(draft.first, draft.last):
        for note in event.notes:
            head = draft.heads.get(note.id)
            if head is None or note.placement is None or note.tied_back:
                continue
            text = "×" if note.muted else str(note.placement.fret)
            ink = draft.lettered(text, "roman", FIGURE * (0.8 if event.grace else 1.0), "tab", note.id)
            put_round(draft, ink, (head.left + head.right) / 2, top + LINE * (note.placement.string - 1))
            figures[note.id] = ink.boxes[0]
            gaps[note.placement.string - 1].append((figures[note.id][0] - _HALO, figures[note.id][2] + _HALO))
    for string, taken in enumerate(gaps):
        _string_line(draft, left, right, top + LINE * string, sorted(taken))
    bottom = top + LINE * (strings - 1)
    _bar_lines(draft, top, bottom)
    draft.add(Ink(role="barline", path=line(left + 0.06, 0.0, left + 0.06, bottom), pen=0.12))
    _clef(draft, left, top, bottom)
    for run in slur_runs(score):
        for a, b in itertools.pairwise(run):
            if a in figures and b in figures:
                _slur(draft, b, figures[a], figures[b], slide=score.notes[b].slide)


def _clef(draft: Draft, left: float, top: float, bottom: float) -> None:
    """The letters T, A and B one under the other, as high as the staff allows."""
    step = (bottom - top) / 3
    for k, letter in enumerate("TAB"):
        ink = draft.lettered(letter, "bold", min(1.35 * step, 2.6), "clef")
        put_round(draft, ink, left + 1.5, top + step * (k + 0.5))


def _string_line(draft: Draft, left: float, right: float, y: float, gaps: list[tuple[float, float]]) -> None:
    x = left
    for a, b in [*gaps, (right, right)]:
        if a > x:
            path = line(x, y, a, y)
            draft.add(Ink(role="tab line", path=path, pen=PEN, boxes=((x, y - PEN / 2, a, y + PEN / 2),)), solid=False)
        x = max(x, b)


def _bar_lines(draft: Draft, top: float, bottom: float) -> None:
    """The plain staff's bar lines again, with the tablature's height."""
    for ink in [i for i in draft.ink if i.role == "barline" and i.pen]:
        x = ink.path[0][1][0]
        draft.add(Ink(role="barline", path=line(x, top, x, bottom), pen=ink.pen, dash=ink.dash))


def _slur(draft: Draft, owner: str, a: Box, b: Box, *, slide: bool) -> None:
    """A slur over two numbers; for a slide a line between them as well."""
    y = min(a[1], b[1]) - 0.2
    # A little inside the middles, so that two slurs that meet at a number stay apart.
    path = lens((a[0] + a[2]) / 2 + 0.14, y, (b[0] + b[2]) / 2 - 0.14, y, rise=0.45, thick=0.16)
    draft.add(Ink(role="slur", owner=owner, path=path, boxes=slices(path)))
    x0, x1 = a[2] + 2 * _HALO, b[0] - 2 * _HALO
    if slide and x1 - x0 > 0.5:
        middle = (a[1] + a[3]) / 2
        draft.add(Ink(role="slide", owner=owner, path=line(x0, middle + 0.3, x1, middle - 0.3), pen=PEN))
