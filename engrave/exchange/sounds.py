"""What is heard of a variation: each struck or slurred note with its start, length, loudness and string, in quarters.

House defaults, none of them a rule: a plain note at velocity 80, an accent 24 louder, a note the fretting hand sounds
16 softer, a damped one 20 softer and short; staccato sounds half its length; grace notes last a 32nd each, but no more
than half of the note they lead to, and begin on its beat; a rolled chord spreads from the lowest note, a 64th apart,
within half its length. Repeats are played as they are printed: once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from engrave.model import Event, Note, Variation

PLAIN, ACCENT, SLURRED, MUTED = 80, 24, -16, -20
"""velocity of a plain note and what marks add to it"""
_GRACE = Fraction(1, 8)
_ROLL = Fraction(1, 16)
_DAMPED = Fraction(1, 8)
"""longest time a damped string is heard, in quarters"""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardNote:
    """One note as it is heard."""

    note: str
    """id of the note it begins with"""
    start: Fraction
    """quarters from the passage's start"""
    length: Fraction
    """quarters, above 0"""
    midi: int
    velocity: int
    """1 to 127"""
    string: int
    """1 = highest; 0 where nothing says so"""


def sounds(variation: Variation) -> list[HeardNote]:
    """Every sound in the order of its start; tied notes are one. A string's sound ends where its next one begins."""
    instrument = variation.instrument
    made: list[HeardNote] = []
    sounding: dict[tuple[int, int], int] = {}
    """(voice, MIDI number) → index of a sound that is tied on"""
    graces: dict[int, list[Event]] = {}
    for event in variation.passage.events:
        if event.grace:
            graces.setdefault(event.voice, []).append(event)
            continue
        before = graces.pop(event.voice, [])
        lead = min(_GRACE * len(before), event.duration / 2)
        for index, grace in enumerate(before):
            start = event.onset + lead * index / len(before)
            made += [_sound(note, grace, start, lead / len(before), len(instrument.strings)) for note in grace.notes]
        for place, note in enumerate(event.notes):
            tied = sounding.pop((event.voice, note.pitch.midi), None) if note.tied_back else None
            if tied is not None:
                made[tied] = replace(made[tied], length=event.end - made[tied].start)
            else:
                late = lead + _rolled(event, place)
                made.append(_sound(note, event, event.onset + late, event.duration - late, len(instrument.strings)))
                tied = len(made) - 1
            if note.tied_on:
                sounding[event.voice, note.pitch.midi] = tied
    return _one_a_string(sorted(made, key=lambda sound: (sound.start, sound.midi, sound.string)))


def _rolled(event: Event, place: int) -> Fraction:
    """How much later a note of a rolled chord begins."""
    if "arpeggio" not in event.marks:
        return Fraction(0)
    return min(_ROLL, event.duration / 2 / len(event.notes)) * place


def _sound(note: Note, event: Event, start: Fraction, length: Fraction, strings: int) -> HeardNote:
    velocity = PLAIN
    velocity += ACCENT if "accent" in event.marks or "marcato" in event.marks else 0
    velocity += SLURRED if note.slurred_from else 0
    if note.muted:
        velocity, length = velocity + MUTED, min(length, _DAMPED)
    elif "staccato" in event.marks:
        length /= 2
    placed = note.placement.string if note.placement is not None else note.given.string
    return HeardNote(
        note=note.id,
        start=start,
        length=length,
        midi=note.pitch.midi,
        velocity=max(1, min(127, velocity)),
        string=placed if placed is not None and placed <= strings else 0,
    )


def _one_a_string(heard: Sequence[HeardNote]) -> list[HeardNote]:
    """No two sounds of one pitch, nor of one string, overlap: the earlier ends."""
    made = list(heard)
    latest: dict[tuple[str, int], int] = {}
    for index, sound in enumerate(made):
        keys = [("pitch", sound.midi)] + ([("string", sound.string)] if sound.string else [])
        for key in keys:
            before = latest.get(key)
            if before is not None and made[before].start < sound.start < made[before].start + made[before].length:
                made[before] = replace(made[before], length=sound.start - made[before].start)
            latest[key] = index
    return made
