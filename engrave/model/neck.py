"""Where the fretting hand lives along the neck."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from engrave.model.hands import Placement
from engrave.model.passage import Event

OFF = (0.0, 1.0, 2.6, 3.5)
"""what a note costs that lies so many frets off the place of the settled hand; the last: and further"""
CLOSE = 0.8
"""share of that where the fingers lie closer together than a fret each, as on one fret of several strings"""
MOVE = 2.5
"""what it costs that the hand settles elsewhere: less than one note two frets off, more than half of any one note"""

FIRST_FRETS = 4
"""frets of the first position"""


def settled(groups: Sequence[Sequence[Placement]]) -> tuple[int, ...]:
    """For each onset group the fret over which finger 1 lies once the hand has settled; 1 where it never stops a note.

    `groups`: what is stopped at each. A note lies off its place by as many frets as its own fret − finger + 1 differs
    from the hand's. The hand that costs least over the line is taken: it stays for a note that is reached out and
    back, and moves where several notes live elsewhere, at the ends of the line no sooner than within it. The costs are
    ours.
    """
    stopped = [[p for p in group if p.fret] for group in groups]
    places = sorted({max(p.home, 1) for row in stopped for p in row}) or [1]
    cost = dict.fromkeys(places, 0.0)
    came: list[dict[int, int]] = []
    for row in stopped:
        nearest = min(places, key=lambda place: cost[place])
        came.append({place: place if cost[place] <= cost[nearest] + MOVE else nearest for place in places})
        off = {place: _off(row, place) for place in places}
        cost = {place: min(cost[place], cost[nearest] + MOVE) + off[place] for place in places}
    place = min(places, key=lambda p: cost[p])
    found: list[int] = []
    for stay in reversed(came):
        found.append(place)
        place = stay[place]
    return tuple(_with_firm_ends(found[::-1], stopped))


def _off(row: Sequence[Placement], place: int) -> float:
    """What the notes of an onset group cost the hand at a place."""
    cost = 0.0
    for stopped in row:
        frets = stopped.home - place
        close = CLOSE if frets < 0 and stopped.finger > 1 else 1.0
        cost += close * OFF[min(abs(frets), len(OFF) - 1)]
    return cost


def _with_firm_ends(found: list[int], rows: Sequence[Sequence[Placement]]) -> list[int]:
    """Places of the hand without a first or a last one that, within the line, would be no more than a reach out.

    That is where no note of it lies farther than a fret off the place beside it, and few do.
    """
    while len(stays := [list(stay) for _, stay in groupby(range(len(found)), key=found.__getitem__)]) > 1:
        ends = [(stays[0], found[stays[1][0]]), (stays[-1], found[stays[-2][0]])]
        off = [([_off(rows[at], beside) for at in stay], stay, beside) for stay, beside in ends]
        reaches = [(sum(row), stay, beside) for row, stay, beside in off if sum(row) <= 2 * MOVE and max(row) <= OFF[1]]
        if not reaches:
            break
        _, stay, beside = min(reaches)
        found = [beside if at in stay else place for at, place in enumerate(found)]
    return found


def homes(events: Sequence[Event]) -> tuple[int, ...]:
    """The frets over which finger 1 lies where the settled hand lives, rising; empty where nothing is stopped."""
    groups = [[p for _, p in group if p.fret] for group in placed_groups(events)]
    stopped = [group for group in groups if group]
    return tuple(sorted(set(settled(stopped)))) if stopped else ()


def placed_groups(events: Sequence[Event]) -> Iterator[list[tuple[Event, Placement]]]:
    """What begins together, of all voices: each placement with its event."""
    for _, group in groupby(events, key=lambda event: (event.onset, event.grace)):
        yield [(event, note.placement) for event in group for note in event.notes if note.placement is not None]


def tells_itself(place: Placement) -> bool:
    """Whether the string of a stopped note needs no telling, because it is in the first position."""
    return place.position == 1 and 0 < place.fret <= FIRST_FRETS
