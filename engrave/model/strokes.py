"""Where a word for the kind of stroke stands: on the page and in files for other programs alike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from engrave.model.passage import Event, Passage
from engrave.model.said import say

_NAMES = {"free": say("free stroke"), "rest": say("rest stroke")}
"""kind, as in `Stroke.kind` → its word"""


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokeWord:
    """A word, or a variation's own sentence, on the strokes from its place on."""

    text: str
    bar: int
    onset: Fraction
    """quarters from the passage's start"""


def stroke_words(passage: Passage, *, named: bool = False) -> tuple[StrokeWord, ...]:
    """The kind of stroke where it begins and where it changes for more than a note, voice by voice, in order of time.

    A variation's own sentence stands instead where the kinds mix. Where all is free nothing is said, unless `named`
    asks for the word once.
    """
    said = [StrokeWord(text=d.text, bar=d.bar, onset=d.onset) for d in passage.directions if d.kind == "strokes"]
    if said:
        return tuple(said)
    voices = sorted({event.voice for event in passage.events})
    found = [word for voice in voices for word in _changes([e for e in passage.events if e.voice == voice])]
    found.sort(key=lambda word: word.onset)
    if all(word.text == _NAMES["free"] for word in found):
        return tuple(found[:1]) if named else ()
    return tuple(found)


def _changes(events: Sequence[Event]) -> list[StrokeWord]:
    """The words of one voice."""
    kinds = [(event, {note.stroke.kind for note in event.notes if note.stroke is not None}) for event in events]
    row = [(event, kind.pop()) for event, kind in kinds if len(kind) == 1]
    found: list[StrokeWord] = []
    now = ""
    for index, (event, kind) in enumerate(row):
        lasts = index + 1 == len(row) or row[index + 1][1] == kind
        if kind != now and (lasts or not now):
            now = kind
            found.append(StrokeWord(text=_NAMES[kind], bar=event.bar, onset=event.onset))
    return found
