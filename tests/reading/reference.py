"""What music21 hears in a score, to hold a reading against."""

from __future__ import annotations

import importlib
import warnings
from collections import Counter
from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from engrave.model import Passage

Sounding = tuple[int, Fraction, Fraction, int, bool]
"""index of the bar, quarters from its start, length in quarters, MIDI note number, tied on (where it is asked)"""


def quarters(value: Any) -> Fraction:
    """A length of music21 as the fraction it stands for."""
    return Fraction(value).limit_denominator(5040)


def parsed(source: str, **how: Any) -> tuple[Any, ...]:
    """The parts of a file or text as music21 reads them, at sounding pitch."""
    converter: Any = importlib.import_module("music21.converter")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        score = converter.parse(source, forceSource=True, **how)
        score.toSoundingPitch(inPlace=True)
    return tuple(score.parts)


def theirs(measures: Iterable[Any], *, ties: bool = False) -> Counter[Sounding]:
    """Every note of these bars of music21; grace notes and what has no pitch apart."""
    found: Counter[Sounding] = Counter()
    for index, measure in enumerate(measures):
        for element in measure.recurse().notes:
            if element.duration.isGrace or {"Harmony", "Unpitched", "PercussionChord"} & set(element.classes):
                continue
            at, length = quarters(element.getOffsetInHierarchy(measure)), quarters(element.duration.quarterLength)
            for note in element.notes if element.isChord else [element]:
                tied = ties and note.tie is not None and note.tie.type in ("start", "continue")
                found[index, at, length, note.pitch.midi, tied] += 1
    return found


def ours(passage: Passage, *, ties: bool = False) -> Counter[Sounding]:
    """Every note of a passage, grace notes apart."""
    return Counter(
        (event.bar, event.onset - passage.bars[event.bar].onset, event.duration, note.pitch.midi, ties and note.tied_on)
        for event in passage.events
        if not event.grace
        for note in event.notes
    )


def lowered(heard: Counter[Sounding]) -> Counter[Sounding]:
    """The notes an octave lower."""
    return Counter({(bar, at, length, midi - 12, tied): n for (bar, at, length, midi, tied), n in heard.items()})
