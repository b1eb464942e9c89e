"""Slurs, hammer-ons, pull-offs and slides of a variation, as numbered starts and stops at their notes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from engrave.model import Note, Passage

_MOST = 16
"""curves of one kind that MusicXML tells apart at one time (number-level)"""
_SIGNS = {"hammer-on": "H", "pull-off": "P"}


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """One end of a curve."""

    kind: str
    """slur, slide, hammer-on or pull-off"""
    type: str
    """start or stop"""
    number: int
    text: str = ""


def ends(passage: Passage) -> dict[str, tuple[End, ...]]:
    """Note id → the ends of curves at it, stops first.

    What the fretting hand sounds (Note.slurred_from) is a hammer-on or pull-off under a slur, or a slide; the slurs
    that remain are phrase marks. Numbers tell curves of one kind apart from the one end in the file to the other, where
    voices stand one after another.
    """
    written = sorted(passage.events, key=lambda event: (event.bar, event.voice))
    notes = {note.id: note for event in written for note in event.notes}
    order = {name: index for index, name in enumerate(notes)}
    spans = {curve: sorted((order[curve[1]], order[curve[2]])) for curve in _curves(passage, notes)}
    made: dict[str, list[End]] = {}
    busy: dict[str, dict[int, int]] = {}
    for (kind, start, stop), (low, high) in sorted(spans.items(), key=lambda item: (item[1], item[0])):
        taken = busy.setdefault(kind, {})
        number = next((n for n in range(1, _MOST + 1) if taken.get(n, -1) <= low), _MOST)
        taken[number] = high
        made.setdefault(start, []).append(End(kind=kind, type="start", number=number, text=_SIGNS.get(kind, "")))
        made.setdefault(stop, []).append(End(kind=kind, type="stop", number=number))
    return {
        name: tuple(sorted(found, key=lambda end: (end.type != "stop", end.kind, end.number)))
        for name, found in made.items()
    }


def _curves(passage: Passage, notes: Mapping[str, Note]) -> Iterator[tuple[str, str, str]]:
    """(kind, first note, last note) of each curve between two of these notes."""
    for note in notes.values():
        before = notes.get(note.slurred_from)
        if before is None:
            continue
        rises = note.pitch.midi > before.pitch.midi
        for kind in ("slide",) if note.slide else ("slur", "hammer-on" if rises else "pull-off"):
            yield kind, before.id, note.id
    yield from ((s.kind, s.start, s.stop) for s in passage.slurs if s.start in notes and s.stop in notes)
