"""Fretting digits: left of their heads, clear of everything, nearer to their own head than to any other.

Each digit has a list of places it may take, the best first; the first that is free is taken. A chord's digits that are
too close for one column stand in two, so that each still lies level with its head.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot

from engrave.model import Event, Note
from engrave.plates.score import Score
from engrave.plates.shapes import Box
from engrave.plates.sheet import Head, Ink, Sheet, placed, put

EM = 2.0
"""em of the digits in spaces: figures are two thirds of that high"""
FACE = "bold"
GAP = 0.2
"""distance between a digit and its head"""
CLEAR = 0.16
"""distance a digit keeps from all other ink"""


def draw_digits(sheet: Sheet, score: Score, wanted: frozenset[str]) -> None:
    """Print the fretting digit of each note whose id is in `wanted`."""
    for event in score.on(sheet.first, sheet.last):
        notes = [note for note in event.notes if note.id in wanted and note.id in sheet.heads and note.placement]
        for note in _outside_in(notes):
            _draw_digit(sheet, score, event, note)


def _outside_in(notes: list[Note]) -> list[Note]:
    """Every other note first, from the top: neighbours in thirds then fall into a second column."""
    high = notes[::-1]
    return high[::2] + high[1::2]


def _draw_digit(sheet: Sheet, score: Score, event: Event, note: Note) -> None:
    assert note.placement is not None
    head = sheet.heads[note.id]
    size = EM * (0.8 if event.grace else 1.0)
    ink = sheet.lettered(str(note.placement.finger), FACE, size, "digit", note.id)
    others = _heads_near(sheet, head, note.id)
    fallback: tuple[float, float] | None = None
    for x, y in _places(sheet, score, event, head, ink):
        box = placed(ink, x, y)
        if not sheet.taken.free(box, CLEAR):
            continue
        if _own_is_nearest(box, head, others):
            put(sheet, ink, x, y)
            return
        fallback = fallback or (x, y)
    if fallback is None:
        box = ink.boxes[0]
        fallback = (head.left - box[0], sheet.taken.top(head.left - 0.2, head.right + 0.2, -1.0) - CLEAR - box[3])
    put(sheet, ink, *fallback)


def _places(sheet: Sheet, score: Score, event: Event, head: Head, ink: Ink) -> Iterator[tuple[float, float]]:
    """Origins a digit may take, the best first."""
    left, top, right, bottom = ink.boxes[0]
    level = head.y - (top + bottom) / 2
    column = head.left - GAP - right
    shifts = (0.0, -0.25, 0.25)
    for step in range(5):
        for shift in shifts:
            yield column - 0.12 * step, level + shift
    for step in range(5, 24):
        yield column - 0.12 * step, level
    middle = (head.left + head.right) / 2 - (left + right) / 2
    half = 0.5 * head.scale
    stem = sheet.stems.get(event.id)
    over = [(middle + dx, head.y - half - GAP - bottom - dy) for dy in (0.0, 0.3, 0.6) for dx in (0.0, -0.4, 0.4)]
    under = [(middle + dx, head.y + half + GAP - top + dy) for dy in (0.0, 0.3, 0.6) for dx in (0.0, -0.4, 0.4)]
    if score.several:
        yield from under if score.below(event) else over
    else:
        yield from under + over if stem is not None and stem.up else over + under
    for step in range(5):
        yield head.right + GAP - left + 0.15 * step, level


def _heads_near(sheet: Sheet, head: Head, own: str) -> list[Head]:
    return [
        other
        for name, other in sheet.heads.items()
        if name != own and abs(other.left - head.left) < 7 and (other.left, other.y) != (head.left, head.y)
    ]


def _own_is_nearest(box: Box, head: Head, others: list[Head]) -> bool:
    own = _distance(box, head)
    return all(own + 0.02 < _distance(box, other) for other in others)


def _distance(box: Box, head: Head) -> float:
    """From a box to a head, taken as a bar of round ends."""
    r = 0.47 * head.scale
    dx = max(box[0] - (head.right - r), head.left + r - box[2], 0.0)
    dy = max(box[1] - head.y, head.y - box[3], 0.0)
    return hypot(dx, dy) - r
