"""Marks as the parser keeps them, for sources whose text is not looked at again (ABC).

One function for each of the kinds in engrave.reading.extras.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from engrave.model import MARKS, Given, Slur
from engrave.reading.extras import BarMarks, EventMarks, HeadMarks

_ARTICULATIONS = {"Accent": "accent", "StrongAccent": "marcato", "Staccato": "staccato", "Tenuto": "tenuto"}
_EXPRESSIONS = {"Fermata": "fermata", "ArpeggioMark": "arpeggio"}
_LINES = {"light-light": "double", "light-heavy": "final", "double": "double", "final": "final", "dashed": "dashed"}


def event_marks(element: Any, lane: int) -> EventMarks:
    """Marks of a note, chord or rest, as voice `lane`."""
    names = {_ARTICULATIONS.get(type(found).__name__, "") for found in element.articulations}
    names |= {_EXPRESSIONS.get(type(found).__name__, "") for found in element.expressions}
    return EventMarks(
        voice=lane,
        marks=tuple(mark for mark in MARKS if mark in names),
        slash=bool(element.duration.isGrace and getattr(element.duration, "slash", False)),
        space=bool(element.isRest and element.style.hideObjectOnPrint),
        bar_rest=bool(element.isRest and element.fullMeasure is True),
    )


def head_marks(head: Any, element: Any) -> HeadMarks:
    """Fretting digit of one head; a chord's digits belong to its heads in order."""
    owner = element if getattr(element, "isChord", False) else head
    digits = [f.fingerNumber for f in owner.articulations if type(f).__name__ == "Fingering"]
    place = list(element.notes).index(head) if owner is element and owner is not head else 0
    digit = digits[place] if place < len(digits) else None
    finger = int(digit) if digit is not None and str(digit).isdigit() and 0 <= int(digit) <= 4 else None
    return HeadMarks(given=Given(finger=finger))


def bar_marks(parts: Sequence[Any], count: int) -> tuple[BarMarks, ...]:
    """Number, repeats, ending and right bar line of each bar, from the first part."""
    endings: dict[int, str] = {}
    for bracket in parts[0].recurse().getElementsByClass("RepeatBracket"):
        for measure in bracket.getSpannedElements():
            endings[id(measure)] = str(bracket.number)
    bars: list[BarMarks] = []
    for index, measure in enumerate(list(parts[0].getElementsByClass("Measure"))[:count]):
        left, right = measure.leftBarline, measure.rightBarline
        bars.append(
            BarMarks(
                label=f"{measure.number}{measure.numberSuffix or ''}",
                first=index == 0,
                repeat_start=getattr(left, "direction", "") == "start",
                repeat_end=(right.times or 2) if getattr(right, "direction", "") == "end" else 0,
                ending=endings.get(id(measure), ""),
                barline="single" if hasattr(right, "direction") else _LINES.get(getattr(right, "type", ""), "single"),
            )
        )
    return (*bars, *(BarMarks(label=str(index + 1)) for index in range(len(bars), count)))


def slurs_in_parts(parts: Sequence[Any], ids: Mapping[int, str]) -> tuple[Slur, ...]:
    """Slurs between notes whose ids are known by the identity of their heads."""
    slurs: list[Slur] = []
    for part in parts:
        for found in part.recurse().getElementsByClass("Slur"):
            ends = [ids.get(id(_head(element)), "") for element in (found.getFirst(), found.getLast())]
            if all(ends) and ends[0] != ends[1]:
                slurs.append(Slur(start=ends[0], stop=ends[1]))
    return tuple(slurs)


def _head(element: Any) -> Any:
    return element.notes[-1] if getattr(element, "isChord", False) else element
