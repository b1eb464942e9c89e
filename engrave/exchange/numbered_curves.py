"""Slurs, hammer-ons, pull-offs and slides of a variation, as numbered starts and stops at their notes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from engrave.model import Note, Passage, Slur

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


Ends = dict[str, tuple[End, ...]]
"""note id → ends of curves"""


def ends(passage: Passage) -> Ends:
    """Note id → the ends of curves at it, stops first.

    What the fretting hand sounds (Note.slurred_from) is a hammer-on or pull-off under a slur, or a slide; the slurs
    that remain are phrase marks. Numbers tell curves of one kind apart from the one end in the file to the other, where
    voices stand one after another.
    """
    written = sorted(passage.events, key=lambda event: (event.bar, event.voice))
    notes = {note.id: note for event in written for note in event.notes}
    order = {name: index for index, name in enumerate(notes)}
    spans: dict[tuple[str, str, str], tuple[int, int]] = {}
    for kind, slur in _curves(passage, notes):
        places = order[slur.start], order[slur.stop]
        spans[kind, slur.start, slur.stop] = min(places), max(places)
    made: dict[str, list[End]] = {}
    busy: dict[str, dict[int, int]] = {}
    for (kind, start, stop), (low, high) in sorted(spans.items(), key=lambda item: (item[1], item[0])):
        taken = busy.setdefault(kind, {})
        number = next((n for n in range(1, _MOST + 1) if taken.get(n, -1) <= low), _MOST)
        taken[number] = high
        made.setdefault(start, []).append(End(kind=kind, type="start", number=number, text=_SIGNS.get(kind, "")))
        made.setdefault(stop, []).append(End(kind=kind, type="stop", number=number))
    return {name: _sorted(found) for name, found in made.items()}


def _curves(passage: Passage, notes: Mapping[str, Note]) -> list[tuple[str, Slur]]:
    """(kind, curve) of each curve between two of these notes."""
    curves: list[tuple[str, Slur]] = []
    for note in notes.values():
        before = notes.get(note.slurred_from)
        if before is not None:
            curves += _played(before, note)
    return curves + [(s.kind, s) for s in passage.slurs if s.start in notes and s.stop in notes]


def _sorted(found: Sequence[End]) -> tuple[End, ...]:
    return tuple(sorted(found, key=lambda end: (end.type != "stop", end.kind, end.number)))


def _played(before: Note, note: Note) -> list[tuple[str, Slur]]:
    """The curves of a note that the fretting hand sounds."""
    slur = Slur(start=before.id, stop=note.id)
    if note.slide:
        return [("slide", slur)]
    rises = note.pitch.midi > before.pitch.midi
    return [("slur", slur), ("hammer-on" if rises else "pull-off", slur)]
