"""Beams: which short notes of a bar hang together, by the groups of the metre."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import accumulate

from engrave.model import Bar, Event

_FLAGS = {8: 1, 16: 2, 32: 3, 64: 4, 128: 5, 256: 6}


def beams(events: Sequence[Event], bar: Bar) -> dict[str, tuple[str, ...]]:
    """Event id → for each beam from the outermost: begin, continue, end, forward hook or backward hook.

    `events` are one voice of one bar in order. Beams keep to the metre's groups, stop at rests and at notes without a
    flag, and grace notes are beamed among themselves.
    """
    made: dict[str, tuple[str, ...]] = {}
    borders = list(accumulate(bar.metre.groups))
    group: list[Event] = []
    place: object = None
    for event in events:
        here = _place(event, bar, borders)
        if group and (here != place or not _flags(event) or not event.notes):
            made |= _beamed(group)
            group = []
        if event.notes and _flags(event):
            group.append(event)
            place = here
    return made | _beamed(group)


def _flags(event: Event) -> int:
    return _FLAGS.get(event.value.kind, 0)


def _place(event: Event, bar: Bar, borders: Sequence[Fraction]) -> tuple[object, ...]:
    """What notes under one beam share."""
    if event.grace:
        return ("grace", event.onset)
    at = event.onset - bar.onset + bar.offset
    whole, at = divmod(at, bar.metre.length)
    return (whole, sum(1 for border in borders if border <= at))


def _beamed(group: Sequence[Event]) -> dict[str, tuple[str, ...]]:
    """The beams of notes that hang together."""
    if len(group) < 2:
        return {}
    made: dict[str, tuple[str, ...]] = {}
    for index, event in enumerate(group):
        before = _flags(group[index - 1]) if index else 0
        after = _flags(group[index + 1]) if index + 1 < len(group) else 0
        made[event.id] = tuple(_kind(level, before, after) for level in range(1, _flags(event) + 1))
    return made


def _kind(level: int, before: int, after: int) -> str:
    if before >= level:
        return "continue" if after >= level else "end"
    if after >= level:
        return "begin"
    return "backward hook" if before else "forward hook"
