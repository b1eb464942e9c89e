"""Fretting digits: left of their heads, clear of everything, nearer to their own head than to any other.

Each digit has a list of places it may take, the best first; the first that is free is taken. A chord's digits that are
too close for one column stand in two, so that each still lies level with its head.
"""

from __future__ import annotations

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
FARTHEST = 3.2
"""how far left of its head a digit may stand, in spaces"""
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
    for x, y in [*_beside(sheet, head, ink), *_over_and_under(sheet, score, event, head, ink)]:
        box = placed(ink, x, y)
        if sheet.taken.free(box, CLEAR) and _own_is_nearest(box, head, others):
            put(sheet, ink, x, y)
            return
    put(sheet, ink, *_anywhere(sheet, head, ink))


def _beside(sheet: Sheet, head: Head, ink: Ink) -> list[tuple[float, float]]:
    """Free origins left of the head, level with it or nearly so: the closest first."""
    left, top, right, bottom = ink.boxes[0]
    found: list[tuple[float, float, float]] = []
    for shift in (0.0, -0.25, 0.25):
        x, y = head.left - GAP - right, head.y - (top + bottom) / 2 + shift
        for _ in range(6):
            hits = sheet.taken.near((left + x, top + y, right + x, bottom + y), CLEAR)
            if not hits:
                found.append((head.left - x + 1.5 * abs(shift), x, y))
                break
            x = min(box[0] for box, _, _ in hits) - CLEAR - right - 0.001
            if head.left - x - right > FARTHEST:
                break
    return [(x, y) for _, x, y in sorted(found)]


def _over_and_under(sheet: Sheet, score: Score, event: Event, head: Head, ink: Ink) -> list[tuple[float, float]]:
    """Origins over and under the head on the voice's own side, then right of it."""
    left, top, right, bottom = ink.boxes[0]
    level = head.y - (top + bottom) / 2
    middle = (head.left + head.right) / 2 - (left + right) / 2
    half = 0.5 * head.scale
    stem = sheet.stems.get(event.id)
    over = [(middle + dx, head.y - half - GAP - bottom - dy) for dy in (0.0, 0.3, 0.6) for dx in (0.0, -0.4, 0.4)]
    under = [(middle + dx, head.y + half + GAP - top + dy) for dy in (0.0, 0.3, 0.6) for dx in (0.0, -0.4, 0.4)]
    right_of = [(head.right + GAP - left + 0.15 * step, level) for step in range(5)]
    if score.several:
        return (under if score.below(event) else over) + right_of
    return (under + over if stem is not None and stem.up else over + under) + right_of


def _anywhere(sheet: Sheet, head: Head, ink: Ink) -> tuple[float, float]:
    """Over everything in the head's column, where no better place is free."""
    left, _, right, bottom = ink.boxes[0]
    x = (head.left + head.right) / 2 - (left + right) / 2
    return x, sheet.taken.top(x + left - CLEAR, x + right + CLEAR, -1.0) - CLEAR - bottom


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
