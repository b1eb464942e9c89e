"""A chord's digits in one column, as editions print them, in the order of its heads and as level with them as can be.

Where heads lie closer than digits are high the column spreads about them, and its digits are a little smaller.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from engrave.plates.draft import Draft, Head, Ink, placed

SIZE = 0.82
"""size of the digits of three notes or more beside those of single notes: the same in all chords, so that a page looks
even"""
OFF = 0.62
"""how far over or under its head a digit may stand, in spaces"""
APART = 0.16
"""white between the digits of a column"""
STEP = 0.15
"""how far a column that is not free is moved at a time"""


def column(
    draft: Draft, digits: Sequence[tuple[Head, Ink]], *, gap: float, farthest: float, clear: float
) -> tuple[float, list[tuple[float, float]]] | None:
    """Price and origins of `digits`, one for each of a chord's heads, in one column; None where there is no room.

    Args:
        draft: what is taken already.
        digits: heads and their digits in one size, in any order.
        gap: white between heads and column.
        farthest: how far left of the chord the column may stand.
        clear: white round each digit.
    """
    middles = spread([head.y for head, _ in digits], [_height(ink) + APART for _, ink in digits])
    edge = min(head.left for head, _ in digits)
    begins = bar_begins(draft, digits[0][0])
    width = max(ink.boxes[0][2] - ink.boxes[0][0] for _, ink in digits)
    for right in _steps(edge - gap, edge - farthest):
        origins = [_origin(ink, right - width / 2, y) for (_, ink), y in zip(digits, middles, strict=True)]
        boxes = [placed(ink, *at) for (_, ink), at in zip(digits, origins, strict=True)]
        if min(box[0] for box in boxes) < begins:
            return None
        if all(draft.taken.free(box, clear) for box in boxes):
            off = max(abs(y - head.y) for (head, _), y in zip(digits, middles, strict=True))
            return off, origins
    return None


def bar_begins(draft: Draft, head: Head) -> float:
    """Where the bar of a head begins: a digit left of its bar line, if under the staff, is of the bar before."""
    lines = (box[2] for ink in draft.ink if ink.role == "barline" for box in ink.boxes)
    return max((at for at in lines if at < head.left), default=0.1)


def spread(levels: Sequence[float], heights: Sequence[float]) -> list[float]:
    """Middles of pieces so high, in the order of `levels` and not over each other, as near to these as can be.

    The least sum of squares, by pooling neighbours (isotonic regression: Barlow, Bartholomew, Bremner and Brunk,
    Statistical Inference under Order Restrictions, 1972).
    """
    order = sorted(range(len(levels)), key=lambda at: levels[at])
    before, offsets = 0.0, []
    for place, at in enumerate(order):
        if place:
            before += (heights[order[place - 1]] + heights[at]) / 2
        offsets.append(before)
    pools: list[tuple[float, int]] = []
    for offset, at in zip(offsets, order, strict=True):
        mean, count = levels[at] - offset, 1
        while pools and pools[-1][0] > mean:
            other, more = pools.pop()
            mean, count = (other * more + mean * count) / (more + count), more + count
        pools.append((mean, count))
    bases = [mean for mean, count in pools for _ in range(count)]
    found = [0.0] * len(levels)
    for base, offset, at in zip(bases, offsets, order, strict=True):
        found[at] = base + offset
    return found


def _steps(start: float, end: float) -> Iterator[float]:
    while start >= end:
        yield start
        start -= STEP


def _height(ink: Ink) -> float:
    return ink.boxes[0][3] - ink.boxes[0][1]


def _origin(ink: Ink, middle: float, level: float) -> tuple[float, float]:
    left, top, right, bottom = ink.boxes[0]
    return middle - (left + right) / 2, level - (top + bottom) / 2
