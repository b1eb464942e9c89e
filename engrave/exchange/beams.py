"""Beams: which short notes of a bar hang together, by the groups of the metre."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, cycle

from engrave.model import Bar, Event

_FLAGS = {8: 1, 16: 2, 32: 3, 64: 4, 128: 5, 256: 6}


def beams(events: Sequence[Event], bar: Bar) -> dict[str, tuple[str, ...]]:
    """Event id → for each beam from the outermost: begin, continue, end, forward hook or backward hook.

    `events` are one voice of one bar in order. Beams keep to the metre's groups, stop at rests and at notes without a
    flag, and grace notes are beamed among themselves.
    """
    made: dict[str, tuple[str, ...]] = {}
    # the ends of the metre's groups, one after another, as far as the events go
    borders = accumulate(cycle(bar.metre.groups), initial=bar.onset - bar.offset)
    next(borders)
    border = next(borders)
    group: list[Event] = []
    place: object = None
    for event in events:
        # what notes under one beam share
        here: object = ("grace", event.onset)
        if not event.grace:
            while event.onset >= border:
                border = next(borders)
            here = border
        if group and ((here is not place and here != place) or not _flags(event) or not event.notes):
            made |= _beamed(group)
            group = []
        if event.notes and _flags(event):
            group.append(event)
            place = here
    return made | _beamed(group)


def _flags(event: Event) -> int:
    return _FLAGS.get(event.value.kind, 0)


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
