"""What the signs over a staff say of the fretting hand: its positions, and each barre once, as long as it lies."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from engrave.model.hands import Placement
from engrave.model.neck import placed_groups, settled
from engrave.model.passage import Event, Note, Passage, with_notes
from engrave.model.unchecked import replace_unchecked

HALF = 4
"""strings that a half barre covers at most"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Barre:
    """One finger over several strings, from where it is laid to where it is lifted."""

    kind: str
    """full, half or hinge"""
    fret: int
    first: Event
    last: Event
    strings: tuple[int, int]
    """the outer strings on which it stops a note"""


def position_marks(events: Sequence[Event]) -> tuple[tuple[Event, int], ...]:
    """The events at which the hand comes to live elsewhere, and the fret of finger 1 there.

    Each stands at the first note that lies in its place, so that fret − finger + 1 agrees. A barre says it itself, one
    that is laid with the next stopped note too; a hand that begins or stays in the first position needs no sign, nor
    does one that goes a fret out of it while an open string sounds.
    """
    barres = {barre.first.id: barre.fret for barre, _ in _laid(events)}
    return tuple((at, place) for at, place, after in _comings(events) if barres.get(after) != place)


def barre_marks(events: Sequence[Event]) -> tuple[Barre, ...]:
    """Every barre, once: it lies until finger 1 stops something else or a string under it sounds open.

    Its bracket begins with its first note, or where the hand comes to its place for it, a note before. It runs to the
    last note of the finger, and of a chord that lasts longer: one whose notes lie where they lay. An open string may
    begin another chord, so none prolongs it.
    """
    barres = [barre for barre, _ in _laid(events)]
    came = {after: (at, place) for at, place, after in _comings(events)} if barres else {}
    made: list[Barre] = []
    for barre in barres:
        at, place = came.get(barre.first.id, (barre.first, 0))
        made.append(replace(barre, first=at) if place == barre.fret else barre)
    return tuple(made)


def told_places(events: Sequence[Event]) -> dict[str, int]:
    """Event → the fret of finger 1 as the signs over the staff tell it."""
    spans = [(barre.first.onset, barre.last.onset, barre.fret) for barre in barre_marks(events)]
    found: dict[str, int] = {}
    for group, told, _ in _followed(events):
        under = next((fret for first, last, fret in spans for event, _ in group if first <= event.onset <= last), told)
        found |= {event.id: under for event, _ in group}
    return found


def _comings(events: Sequence[Event]) -> Iterator[tuple[Event, int, str]]:
    """Where the hand comes to live elsewhere with no barre: the event, the fret, the event of a barre laid next."""
    came: tuple[Event, int] | None = None
    for group, told, at in _followed(events):
        stopped = [(event, p) for event, p in group if p.fret]
        if came is not None and stopped:
            yield *came, _first_barred(stopped)
            came = None
        if at is not None:
            came = at, told
    if came is not None:
        yield *came, ""


def _followed(events: Sequence[Event]) -> list[tuple[list[tuple[Event, Placement]], int, Event | None]]:
    """Each onset group, where the signs tell that the hand is, and the event at which a numeral tells it.

    A note that is reached as the hand comes, before the first that lies in its place, is told by the sign that follows.
    """
    groups = list(placed_groups(events))
    places = iter(settled([[p for _, p in m] for m in groups if any(p.fret for _, p in m)]))
    found: list[tuple[list[tuple[Event, Placement]], int, Event | None]] = []
    on_its_way: list[int] = []
    now = told = coming = 1
    begun = opened = stood = False
    for group in groups:
        stopped = [(event, p) for event, p in group if p.fret]
        came: Event | None = None
        if stopped:
            place = next(places)
            here = [(event, p) for event, p in stopped if p.home == place]
            if place != coming:
                coming, on_its_way = place, []
            if here and (place != now or not begun):
                reached = stood and opened and told == 1 and abs(place - now) == 1
                if place != told and not reached:
                    told = place
                    came = None if any(p.barre for _, p in here) else here[0][0]
                now, begun = place, True
                for at in on_its_way:
                    found[at] = found[at][0], told, found[at][2]
            if here or (begun and place == now):
                on_its_way = []
            else:
                on_its_way.append(len(found))
            stood = True
        opened = len(stopped) < len(group) or (opened and not stopped)
        found.append((group, told, came))
    return found


def _first_barred(stopped: Sequence[tuple[Event, Placement]]) -> str:
    """The event of the first note under a barre; empty for none."""
    return next((event.id for event, p in stopped if p.barre), "")


def under_barres(events: Sequence[Event]) -> Iterator[tuple[Barre, Note, Placement]]:
    """Every note that a finger lying over several strings stops, with its barre and its place."""
    owner = {name: barre for barre, names in _laid(events) for name in names}
    for event in events:
        for note in event.notes:
            if note.placement is not None and (event.id, note.placement.string) in owner:
                yield owner[event.id, note.placement.string], note, note.placement


def with_whole_barres(passage: Passage) -> Passage:
    """`passage` with every note under a barre called what the whole of it is, so that all who count them agree.

    A barre is half over up to four strings, full beyond; a hinge where one between them sounds open before the finger
    comes down on it; none over one string alone, where a study leaves out the others.
    """
    kinds: dict[str, str] = {}
    changed: dict[str, Note] = {}
    for barre, note, placement in under_barres(passage.events):
        kind = kinds.get(barre.first.id)
        if kind is None:
            kind = kinds[barre.first.id] = _kind(barre, passage.events)
        if placement.barre != kind:
            changed[note.id] = replace_unchecked(note, placement=replace(placement, barre=kind))
    return with_notes(passage, changed) if changed else passage


def _kind(barre: Barre, events: Sequence[Event]) -> str:
    """What a barre is called; empty for none."""
    high, low = barre.strings
    if high == low:
        return ""
    lying = (e for e in events if barre.first.onset <= e.onset <= barre.last.onset)
    if any(n.placement and not n.placement.fret and high < n.placement.string < low for e in lying for n in e.notes):
        return "hinge"
    return "half" if low - high < HALF else "full"


def _laid(events: Sequence[Event]) -> list[tuple[Barre, list[tuple[str, int]]]]:
    """Every barre with what it stops, each as its event's id and its string."""
    found: list[tuple[Barre, list[tuple[str, int]]]] = []
    chord: dict[int, tuple[int, int]] | None = None
    if not any(note.placement and note.placement.barre for event in events for note in event.notes):
        return found
    for group in placed_groups(events):
        laid = [(event, p) for event, p in group if p.barre]
        if chord is not None and _lifted(found[-1][0], [p for _, p in group]):
            chord = None
        if laid:
            strings = [p.string for _, p in laid]
            now = Barre(
                kind=laid[0][1].barre,
                fret=laid[0][1].fret,
                first=laid[0][0],
                last=max((event for event, _ in laid), key=lambda e: e.end),
                strings=(min(strings), max(strings)),
            )
            names = [(event.id, p.string) for event, p in laid]
            if chord is None:
                found.append((now, names))
                chord = {}
            else:
                before, earlier = found[-1]
                found[-1] = _both(before, now), earlier + names
        if chord is None or not group:
            continue
        stopped = [p.finger for _, p in group if p.fret]
        same = all(chord.get(p.string, (p.fret, p.finger)) == (p.fret, p.finger) for _, p in group)
        if 1 in stopped or (stopped and same):
            barre, names = found[-1]
            last = max((barre.last, *(event for event, _ in group)), key=lambda e: e.end)
            found[-1] = replace(barre, last=last), names
        if 1 in stopped or same:
            chord |= {p.string: (p.fret, p.finger) for _, p in group}
        elif not laid:
            # it may lie on, unseen, for a note to come
            chord |= {p.string: (-1, 0) for _, p in group}
    return found


def _both(before: Barre, now: Barre) -> Barre:
    """One barre of a note before and a note now."""
    return replace(
        before,
        kind="full" if "full" in (before.kind, now.kind) else before.kind,
        last=now.last,
        strings=(min(before.strings[0], now.strings[0]), max(before.strings[1], now.strings[1])),
    )


def _lifted(barre: Barre, placed: Sequence[Placement]) -> bool:
    """Has finger 1 left its fret, is something stopped behind it, does a string between its outer ones sound open.

    Over one string alone it also lies no more where one sounds open on the side of its base.
    """
    high, low = barre.strings
    on = [p.string for p in placed if p.finger == 1]
    if len(on) == 1 and any(p.fret == 0 and p.string < on[0] for p in placed):
        return True
    return any(
        (p.finger == 1 and p.fret != barre.fret) or 0 < p.fret < barre.fret or (p.fret == 0 and high <= p.string <= low)
        for p in placed
    )
