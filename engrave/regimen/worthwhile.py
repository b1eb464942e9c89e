"""Whether a page shows something of its own, beside the line and the pages there are."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from fractions import Fraction

from engrave import axes
from engrave.model import Note, Notice, Placement, Variation
from engrave.model.said import say, say_count
from engrave.regimen.candidate import Candidate
from engrave.regimen.studies import AS_WRITTEN, IDLE, SAME

LITTLE_TOUCHED = 0.2
"""share of the notes that a page must change to be worth a page by itself (common practice)"""


def idle(candidate: Candidate, before: Sequence[Candidate], line: Variation) -> Notice | None:
    """Why a page would show nothing of its own; None where it does."""
    title = candidate.variation.title
    for other in before:
        if _figures(other) == _figures(candidate) and axes.alike(other.variation, candidate.variation):
            same = say(
                "“{study}” gets no page: it has the same notes and marks as “{other}”",
                study=title,
                other=other.variation.title,
            )
            return Notice(text=same, kind=SAME)
    if candidate.study.slurs not in (AS_WRITTEN.slurs, "none"):
        slurs = _in_slurs(candidate.variation) - _in_slurs(line)
        notes = max(1, candidate.variation.figures.notes)
        if len(slurs) >= LITTLE_TOUCHED * notes:
            return None
        few = say_count(
            "“{study}” gets no page: its slurs reach {touched} of {n} note",
            "“{study}” gets no page: its slurs reach {touched} of {n} notes",
            notes,
            study=title,
            touched=len(slurs),
        )
        return Notice(text=few, kind=IDLE)
    # where nothing is asked of the plucking hand, letters that fall otherwise are no work of their own
    letters = candidate.study.pluck != AS_WRITTEN.pluck
    known = _places(line, letters=letters)
    now = _places(candidate.variation, letters=letters)
    size = sum(len(notes) for _, _, notes in now.values())
    touched = sum(len(shown[2]) for place, shown in now.items() if known.get(place) != shown)
    # what is left out is changed as well
    gone = max(0, sum(len(notes) for _, _, notes in known.values()) - size)
    touched, size = touched + gone, size + gone
    if size and not _worded(candidate, line) and touched < LITTLE_TOUCHED * size:
        stops, moved = _stops(candidate.variation), _stops(line)
        if candidate.study.fret != AS_WRITTEN.fret and len(stops) == len(moved):
            # a note struck again is no more work for the fretting hand
            touched, size = sum(a.finger != b.finger for a, b in zip(stops, moved, strict=True)), len(stops)
            if touched >= LITTLE_TOUCHED * size:
                return None
            few = say_count(
                "“{study}” gets no page: it changes the finger on {touched} of {n} stopped place",
                "“{study}” gets no page: it changes the finger on {touched} of {n} stopped places",
                size,
                study=title,
                touched=touched,
            )
            return Notice(text=few, kind=IDLE)
        little = say_count(
            "“{study}” gets no page: it changes {touched} of {n} note",
            "“{study}” gets no page: it changes {touched} of {n} notes",
            size,
            study=title,
            touched=touched,
        )
        return Notice(text=little, kind=IDLE)
    return None


def _stops(variation: Variation) -> list[Placement]:
    """Where the fretting hand sets a finger, in order; a note struck again on its string is one with the last."""
    last: dict[int, Placement] = {}
    found: list[Placement] = []
    for note in variation.passage.notes:
        place = note.placement
        if place is None or note.tied_back:
            continue
        before = last.get(place.string)
        last[place.string] = place
        if place.fret and (before is None or before.fret != place.fret):
            found.append(place)
    return found


def _in_slurs(variation: Variation) -> set[str]:
    """Ids of the notes that a slur of the fretting hand joins."""
    pairs = ((note.id, note.slurred_from) for note in variation.passage.notes if note.slurred_from)
    return {name for pair in pairs for name in pair}


_Place = tuple[Fraction, int, bool]
_Shown = tuple[Fraction, tuple[str, ...], tuple[Hashable, ...]]


def _places(variation: Variation, *, letters: bool) -> dict[_Place, _Shown]:
    """Onset, voice and whether it is a grace note → what stands there: length, marks, and each note with both hands.

    By place, not by note: where chords are broken in another order, every note is at another place. Without `letters` a
    stroke is of a kind, not of a finger.
    """

    def stroke(note: Note) -> Hashable:
        return note.stroke if letters or note.stroke is None else note.stroke.kind

    return {
        (event.onset, event.voice, event.grace): (
            event.duration,
            event.marks,
            tuple((n.pitch, n.placement, stroke(n), bool(n.slurred_from)) for n in event.notes),
        )
        for event in variation.passage.events
        if event.notes
    }


def _figures(candidate: Candidate) -> tuple[object, ...]:
    found = candidate.variation.figures
    return found.notes, found.strokes, found.frettings, found.slurs, found.accents


def _worded(candidate: Candidate, line: Variation) -> bool:
    """Whether words over the staff say what to do, or the bars are others, so that the notes need not change."""
    here, there = candidate.variation.passage, line.passage
    return here.bars != there.bars or len(here.directions) > len([d for d in there.directions if d.kind != "tempo"])
