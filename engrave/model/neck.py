"""Where the fretting hand lives along the neck, and how long a barre lies: what the signs over a staff say of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from engrave.model.hands import Placement
from engrave.model.passage import Event

OFF = (0.0, 1.0, 2.6, 3.5)
"""what a note costs that lies so many frets off the place of the settled hand; the last: and further"""
MOVE = 2.5
"""what it costs that the hand settles elsewhere: less than one note two frets off, more than half of any one note"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Barre:
    """One finger over several strings, from where it is laid to where it is lifted."""

    kind: str
    """full, half or hinge"""
    fret: int
    first: Event
    last: Event


def settled(groups: Sequence[Sequence[Placement]]) -> tuple[int, ...]:
    """For each onset group the fret over which finger 1 lies once the hand has settled; 1 where it never stops a note.

    `groups`: what is stopped at each. A note lies off its place by as many frets as its own fret − finger + 1 differs
    from the hand's. The hand that costs least over the line is taken: it stays for a note that is reached out and
    back, and moves where several notes live elsewhere, at the ends of the line no sooner than within it. The costs are
    ours.
    """
    homes = [[p.fret - p.finger + 1 for p in group if p.fret] for group in groups]
    places = sorted({max(home, 1) for row in homes for home in row}) or [1]
    cost = dict.fromkeys(places, 0.0)
    came: list[dict[int, int]] = []
    for row in homes:
        nearest = min(places, key=lambda place: cost[place])
        came.append({place: place if cost[place] <= cost[nearest] + MOVE else nearest for place in places})
        off = {place: _off(row, place) for place in places}
        cost = {place: min(cost[place], cost[nearest] + MOVE) + off[place] for place in places}
    place = min(places, key=lambda p: cost[p])
    found: list[int] = []
    for stay in reversed(came):
        found.append(place)
        place = stay[place]
    return tuple(_with_firm_ends(found[::-1], homes))


def _off(row: Sequence[int], place: int) -> float:
    """What the notes of an onset group cost the hand at a place."""
    return sum(OFF[min(abs(home - place), len(OFF) - 1)] for home in row)


def _with_firm_ends(found: list[int], homes: Sequence[Sequence[int]]) -> list[int]:
    """Places of the hand without a first or a last one that, within the line, would be no more than a reach out.

    That is where no note of it lies farther than a fret off the place beside it, and few do.
    """
    while len(stays := [list(stay) for _, stay in groupby(range(len(found)), key=found.__getitem__)]) > 1:
        ends = [(stays[0], found[stays[1][0]]), (stays[-1], found[stays[-2][0]])]
        off = [([_off(homes[at], beside) for at in stay], stay, beside) for stay, beside in ends]
        reaches = [(sum(row), stay, beside) for row, stay, beside in off if sum(row) <= 2 * MOVE and max(row) <= OFF[1]]
        if not reaches:
            break
        _, stay, beside = min(reaches)
        found = [beside if at in stay else place for at, place in enumerate(found)]
    return found


def homes(events: Sequence[Event]) -> tuple[int, ...]:
    """The frets over which finger 1 lies where the settled hand lives, rising; empty where nothing is stopped."""
    groups = [[p for _, p in group if p.fret] for group in _onset_groups(events)]
    stopped = [group for group in groups if group]
    return tuple(sorted(set(settled(stopped)))) if stopped else ()


def position_marks(events: Sequence[Event]) -> tuple[tuple[Event, int], ...]:
    """The events at which the hand comes to live elsewhere, and the fret of finger 1 there.

    Each stands at the first note that lies in its place, so that fret − finger + 1 agrees. A barre says it itself; a
    hand that stays in the first position needs no sign.
    """
    groups = [m for m in _onset_groups(events) if any(p.fret for _, p in m)]
    marks: list[tuple[Event, int]] = []
    now: int | None = None
    for group, place in zip(groups, settled([[p for _, p in m] for m in groups]), strict=True):
        if place == now:
            continue
        here = [(event, p) for event, p in group if p.fret and p.fret - p.finger + 1 == place]
        if here:
            now = place
            if not any(p.barre for _, p in here):
                marks.append((here[0][0], place))
    return () if [place for _, place in marks] == [1] else tuple(marks)


def barre_marks(events: Sequence[Event]) -> tuple[Barre, ...]:
    """Every barre, once: it lies until finger 1 stops something else or a string under it sounds open."""
    found: list[Barre] = []
    under: tuple[int, int] | None = None
    for group in _onset_groups(events):
        laid = [(event, p) for event, p in group if p.barre]
        if under is not None and _lifted(found[-1].fret, under, [p for _, p in group]):
            under = None
        lying = [event for event, p in group if p.finger == 1 and not p.barre]
        if under is not None and lying and not laid:
            # finger 1 has not been lifted: a single note of it lies under the barre, too
            last = max(lying, key=lambda e: e.end)
            found[-1] = Barre(kind=found[-1].kind, fret=found[-1].fret, first=found[-1].first, last=last)
        if not laid:
            continue
        strings = [p.string for _, p in laid]
        now = min(strings), max(strings)
        kind, fret, last = laid[0][1].barre, laid[0][1].fret, max((event for event, _ in laid), key=lambda e: e.end)
        if under is None:
            found.append(Barre(kind=kind, fret=fret, first=laid[0][0], last=last))
            under = now
        else:
            kind = "full" if "full" in (kind, found[-1].kind) else found[-1].kind
            found[-1] = Barre(kind=kind, fret=fret, first=found[-1].first, last=last)
            under = min(under[0], now[0]), max(under[1], now[1])
    return tuple(found)


def _lifted(fret: int, under: tuple[int, int], placed: Iterable[Placement]) -> bool:
    """Has finger 1 left a fret, or a string between the outer strings it lies on sounded open."""
    return any((p.finger == 1 and p.fret != fret) or (p.fret == 0 and under[0] <= p.string <= under[1]) for p in placed)


def _onset_groups(events: Sequence[Event]) -> Iterator[list[tuple[Event, Placement]]]:
    """What begins together, of all voices: each placement with its event."""
    for _, group in groupby(events, key=lambda event: (event.onset, event.grace)):
        yield [(event, note.placement) for event in group for note in event.notes if note.placement is not None]
