"""Notes, chords and rests as the parser (music21) holds them, with their places and the tuplets over them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from engrave.model import Value
from engrave.reading.extras import EventMarks, TupletBracket
from engrave.reading.musicxml.timed_notes import TYPES
from engrave.reading.note_values import brackets


@dataclass(frozen=True, slots=True, kw_only=True)
class Raw:
    """One chord, note or rest of the parser, with its place."""

    element: Any
    voice: int
    onset: Fraction
    """quarters from the start of its bar"""
    length: Fraction
    """quarters, 0 for a grace note"""
    marks: EventMarks


def tag_of(head: Any) -> str:
    """The id a head or rest carries through the parser, empty where it has none."""
    return str(head.style.color or "") if head.hasStyleInformation else ""


def value_of(element: Any) -> Value | None:
    """The written value of a note, chord or rest of the parser, None where it has none or none we can print."""
    kind, dots = TYPES.get(element.duration.type), int(element.duration.dots)
    return Value(kind=kind, dots=dots) if kind is not None and dots <= 2 else None


def _ratios(element: Any) -> list[tuple[int, int]]:
    return [(int(t.numberNotesActual), int(t.numberNotesNormal)) for t in element.duration.tuplets]


def brackets_over(raws: Sequence[Raw]) -> list[tuple[TupletBracket, ...]]:
    """The brackets over each note: known beside the score, else as the score marks them, else counted."""
    if any(raw.marks.brackets is not None for raw in raws):
        return [raw.marks.brackets or () for raw in raws]
    marked = [
        tuple(
            TupletBracket(
                actual=a, normal=n, start=t.type in ("start", "startStop"), stop=t.type in ("stop", "startStop")
            )
            for (a, n), t in zip(_ratios(raw.element), raw.element.duration.tuplets, strict=True)
        )
        for raw in raws
    ]
    if any(bracket.start for row in marked for bracket in row):
        return marked
    starts = _counted(raws)
    return [
        tuple(replace(bracket, start=start and place == 0) for place, bracket in enumerate(row))
        for row, start in zip(marked, starts, strict=True)
    ]


def _counted(raws: Sequence[Raw]) -> list[bool]:
    """Where a bracket begins, by counting; True for each note that opens one."""
    run: list[tuple[Fraction, Fraction, tuple[int, int], bool]] = []
    timed = [place for place, raw in enumerate(raws) if raw.length]
    for raw in (raws[place] for place in timed):
        chain = _ratios(raw.element)
        value = value_of(raw.element)
        joined = any(b.number == 1 and b.type in ("start", "continue") for b in getattr(raw.element, "beams", ()))
        run.append((raw.length, value.quarters if value else raw.length, chain[0] if chain else (1, 1), joined))
    starts = [False] * len(raws)
    for place, start in zip(timed, brackets(run), strict=True):
        starts[place] = start
    return starts
