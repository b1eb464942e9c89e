"""Fretting digits: left of their heads, clear of everything, nearer to their own head than to any other.

A chord's digits stand in one column where there is room for it (see `columns`). Any other digit has a list of places it
may take, the best first; the first that is free is taken. Where a chord has no room for its column, its digits stand in
two, each level with its head.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot

from engrave.model import Event, Note
from engrave.model.outlines import Box
from engrave.plates.columns import OFF, SIZE, bar_begins, column
from engrave.plates.draft import Draft, Field, Head, Ink, placed, put
from engrave.plates.score import IndexedScore

EM = 2.0
"""em of the digits in spaces: figures are two thirds of that high"""
FACE = "bold"
GAP = 0.2
"""distance between a digit and its head"""
FAIL = 100.0
"""price of a digit for which no good place is free"""
FARTHEST = 4.2
"""how far left of its head a digit may stand, in spaces"""
AWAY = (0.0, 0.3, 0.6, 0.7, 0.85, 1.2)
"""how much farther over or under its head a digit may stand, past a ledger line"""
CLEAR = 0.16
"""distance a digit keeps from all other ink"""
APART = 0.6
"""distance from which two digits beside each other are not read as one number"""


def draw_digits(draft: Draft, score: IndexedScore, wanted: frozenset[str]) -> None:
    """Print the fretting digit of each note whose id is in `wanted`.

    A bar without a good place for each of its digits is noted in `draft.crowded`.
    """
    said: set[tuple[float, float, int]] = set()
    for event in score.on(draft.first, draft.last):
        notes: list[Note] = []
        for note in event.notes:
            head = draft.heads.get(note.id)
            if note.id not in wanted or head is None or note.placement is None:
                continue
            # Two voices on one head under one finger: said once.
            here = round(head.left, 2), head.y, note.placement.finger
            if here not in said:
                said.add(here)
                notes.append(note)
        if notes:
            cost, made = _best(draft, score, event, notes)
            for ink, x, y in made:
                put(draft, ink, x, y)
            if cost >= FAIL and not event.grace:
                draft.crowded.add(event.bar)


Placed = tuple[Ink, float, float]


def _best(draft: Draft, score: IndexedScore, event: Event, notes: list[Note]) -> tuple[float, list[Placed]]:
    """Places for the digits of one event and their price: full size if they all fit, else a little smaller.

    Of the orders in which a chord's digits can be taken the cheapest is kept.
    """
    if len(notes) > 1 and (made := _in_column(draft, event, notes)):
        return 0.0, made
    best: tuple[float, list[Placed]] = (float("inf"), [])
    for size in (1.0, 0.84):
        for order in _orders(notes):
            found = _try(draft, score, event, order, size * (0.8 if event.grace else 1.0))
            best = min(best, found, key=lambda f: f[0])
            if best[0] < 0.5 * len(notes):
                return best
        if best[0] < FAIL:
            break
    return best


def _in_column(draft: Draft, event: Event, notes: list[Note]) -> list[Placed] | None:
    """The digits of a chord in one column; None where there is no room for them."""
    em = EM * (SIZE if len(notes) > 2 else 1.0) * (0.8 if event.grace else 1.0)
    digits = [(draft.heads[note.id], _digit(draft, note, em)) for note in notes]
    found = column(draft, digits, gap=GAP, farthest=FARTHEST, clear=CLEAR)
    if not found or found[0] > OFF:
        return None
    return [(ink, *origin) for (_, ink), origin in zip(digits, found[1], strict=True)]


def _digit(draft: Draft, note: Note, em: float) -> Ink:
    assert note.placement is not None
    return draft.lettered(str(note.placement.finger), FACE, em, "digit", note.id)


def _orders(notes: list[Note]) -> list[list[Note]]:
    """Orders in which a chord's digits are tried: every other one first lets thirds fall into two columns."""
    if len(notes) == 1:
        return [notes]
    high = notes[::-1]
    orders = [high[::2] + high[1::2], high[1::2] + high[::2], high, notes, [*notes[1:-1], notes[0], notes[-1]]]
    return [order for k, order in enumerate(orders) if order not in orders[:k]]


def _try(draft: Draft, score: IndexedScore, event: Event, order: list[Note], size: float) -> tuple[float, list[Placed]]:
    """The digits taken in one order, each at its best free place, and what that costs."""
    cost = 0.0
    made: list[Placed] = []
    mine = Field()
    for note in order:
        head = draft.heads[note.id]
        ink = _digit(draft, note, EM * size)
        others = _heads_near(draft, head)
        found: tuple[float, float, float] | None = None
        for place in _places(draft, score, event, mine, ink):
            box = placed(ink, *place[1:])
            inside = box[0] > bar_begins(draft, head) and box[2] < draft.width - 0.1
            free = inside and draft.taken.free(box, CLEAR) and mine.free(box, CLEAR)
            if free and _own_is_nearest(box, head, others):
                alone = place[0] < 0.1 or not _reads_on(draft, box, head, others)
                if alone or found is None:
                    found = place
                if alone:
                    break
        price, x, y = found or (FAIL, *_beyond(draft, mine, head, ink, below=score.below(event))[0][1:])
        cost += price
        mine.add((placed(ink, x, y),), "digit", note.id)
        made.append((ink, x, y))
    return cost, made


def _reads_on(draft: Draft, box: Box, head: Head, others: list[Head]) -> bool:
    """Whether a digit there and that of a note beside it would be read as one number."""
    left, top, right, bottom = box
    width, half = right - left, (bottom - top) / 2
    # the digit of a note to come will stand before it
    coming = [
        (other.left - GAP - width, other.y - half, other.left - GAP, other.y + half)
        for other in others
        if other.left > head.right
    ]
    wide = (left - APART, top, right + APART, bottom)
    there = [hit for hit, role, _ in draft.taken.near(wide, 0.0) if role == "digit"]
    return any(
        hit[0] < right + APART and hit[2] > left - APART and min(bottom, hit[3]) - max(top, hit[1]) > half / 2
        for hit in coming + there
    )


def _places(
    draft: Draft, score: IndexedScore, event: Event, mine: Field, ink: Ink
) -> Iterator[tuple[float, float, float]]:
    """Price and origin of the places a digit may take, the best first; most digits take the first."""
    head = draft.heads[ink.owner]
    level = _beside(draft, mine, head, ink, 0.0)
    if level and level[0] < 0.1:
        yield level
    shifted = [_beside(draft, mine, head, ink, shift) for shift in (-0.25, 0.25)]
    yield from sorted(place for place in (level, *shifted) if place)
    yield from _over_and_under(draft, score, event, head, ink)
    yield from _beyond(draft, mine, head, ink, below=score.below(event))


def _beside(draft: Draft, mine: Field, head: Head, ink: Ink, shift: float) -> tuple[float, float, float] | None:
    """Price and origin of the first free place left of the head, `shift` below its level."""
    left, top, right, bottom = ink.boxes[0]
    x, y = head.left - GAP - right, head.y - (top + bottom) / 2 + shift
    for _ in range(6):
        box = (left + x, top + y, right + x, bottom + y)
        hits = draft.taken.near(box, CLEAR) + mine.near(box, CLEAR)
        if not hits:
            return head.left - GAP - right - x + 1.5 * abs(shift), x, y
        x = min(hit[0] for hit, _, _ in hits) - CLEAR - right - 0.001
        if head.left - x - right > FARTHEST:
            break
    return None


def _over_and_under(
    draft: Draft, score: IndexedScore, event: Event, head: Head, ink: Ink
) -> list[tuple[float, float, float]]:
    """Origins over and under the head on the voice's own side, then right of it, with their price."""
    left, top, right, bottom = ink.boxes[0]
    level = head.y - (top + bottom) / 2
    middle = (head.left + head.right) / 2 - (left + right) / 2
    half = 0.5 * head.scale
    stem = draft.stems.get(event.id)
    over = [
        (2.0 + dy + abs(dx), middle + dx, head.y - half - GAP - bottom - dy) for dy in AWAY for dx in (0.0, -0.4, 0.4)
    ]
    under = [
        (2.0 + dy + abs(dx), middle + dx, head.y + half + GAP - top + dy) for dy in AWAY for dx in (0.0, -0.4, 0.4)
    ]
    right_of = [(3.0 + 0.15 * step, head.right + GAP - left + 0.15 * step, level) for step in range(5)]
    if score.several:
        return (under if score.below(event) else over) + right_of
    return (under + over if stem is not None and stem.up else over + under) + right_of


def _beyond(draft: Draft, mine: Field, head: Head, ink: Ink, *, below: bool) -> list[tuple[float, float, float]]:
    """Price and origin of places beyond everything in the head's column, or close to it."""
    left, top, right, bottom = ink.boxes[0]
    middle = (head.left + head.right) / 2 - (left + right) / 2
    found: list[tuple[float, float, float]] = []
    for aside in (0.0, -0.3, 0.3, -0.6, 0.6):
        x = middle + aside
        edges = x + left - CLEAR, x + right + CLEAR
        if below:
            y = mine.bottom(*edges, draft.taken.bottom(*edges, 5.0)) + CLEAR + 0.01 - top
        else:
            y = mine.top(*edges, draft.taken.top(*edges, -1.0)) - CLEAR - 0.01 - bottom
        found.append((6.0 + abs(aside), x, y))
    return found


def _heads_near(draft: Draft, head: Head) -> list[Head]:
    """Heads that a digit of this one could be nearer to; one that lies on it, of another voice, is none."""
    least, most = head.left - 12, head.left + 12
    return [
        other
        for other in draft.heads.values()
        if least < other.left < most and (other.left != head.left or other.y != head.y)
    ]


def _own_is_nearest(box: Box, head: Head, others: list[Head]) -> bool:
    own = _distance(box, head) + 0.02
    near = own + 0.47
    # a head that is farther off sideways than its own need not be measured: nearly all of them
    return all(
        other.left - box[2] > near or box[0] - other.right > near or own < _distance(box, other) for other in others
    )


def _distance(box: Box, head: Head) -> float:
    """From a box to a head, taken as a bar of round ends."""
    r = 0.47 * head.scale
    dx = max(box[0] - (head.right - r), head.left + r - box[2], 0.0)
    dy = max(box[1] - head.y, head.y - box[3], 0.0)
    return hypot(dx, dy) - r
