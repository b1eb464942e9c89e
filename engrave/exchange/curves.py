"""Slurs, hammer-ons, pull-offs and slides of a variation, as numbered starts and stops at their notes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from engrave.model import Note, Passage, Slur

MOST = 16
"""curves of one kind that MusicXML can tell apart at one time (number-level)"""
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
    that remain are phrase marks. Numbers tell curves of one kind apart while they overlap.
    """
    order = {note.id: index for index, note in enumerate(passage.notes)}
    notes = {note.id: note for note in passage.notes}
    curves: list[tuple[str, Slur]] = []
    for note in notes.values():
        before = notes.get(note.slurred_from)
        if before is not None:
            curves += _played(before, note)
    curves += [(s.kind, s) for s in passage.slurs if s.start in order and s.stop in order]
    made: dict[str, list[End]] = {}
    seen: set[tuple[str, str, str]] = set()
    busy: dict[str, list[int]] = {}
    for kind, slur in sorted(curves, key=lambda curve: (order[curve[1].start], order[curve[1].stop])):
        if (kind, slur.start, slur.stop) in seen:
            continue
        seen.add((kind, slur.start, slur.stop))
        free = busy.setdefault(kind, [-1] * MOST)
        number = next((n for n in range(MOST) if free[n] <= order[slur.start]), None)
        if number is None:
            continue
        free[number] = order[slur.stop]
        text = _SIGNS.get(kind, "")
        made.setdefault(slur.start, []).append(End(kind=kind, type="start", number=number + 1, text=text))
        made.setdefault(slur.stop, []).append(End(kind=kind, type="stop", number=number + 1))
    return {name: _sorted(found) for name, found in made.items()}


def _sorted(found: Sequence[End]) -> tuple[End, ...]:
    return tuple(sorted(found, key=lambda end: (end.type != "stop", end.kind, end.number)))


def _played(before: Note, note: Note) -> list[tuple[str, Slur]]:
    """The curves of a note that the fretting hand sounds."""
    slur = Slur(start=before.id, stop=note.id)
    if note.slide:
        return [("slide", slur)]
    rises = note.pitch.midi > before.pitch.midi
    return [("slur", slur), ("hammer-on" if rises else "pull-off", slur)]
