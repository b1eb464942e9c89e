"""A passage as a row of onsets, the way textures are found in it.

Written voices say nothing here, nor does written length, but for silence: many files put every note in one voice and
give a bass the length of the note above it.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from engrave.model import Variation
from engrave.textures.onsets import Sound, onset_groups, sounding_end


@dataclass(frozen=True, slots=True, kw_only=True)
class Onset:
    """What begins together."""

    at: Fraction
    """quarters from the passage's start"""
    bar: int
    """index of its bar"""
    sounds: tuple[Sound, ...]
    """from the lowest string up"""
    ids: tuple[str, ...]
    """ids of these notes, and before them of the grace notes that lead to them"""
    bass: bool
    """whether the lowest lies on a bass string"""

    @property
    def low(self) -> Sound:
        """Its lowest string's note."""
        return self.sounds[0]

    @property
    def top(self) -> Sound:
        """Its highest string's note."""
        return self.sounds[-1]

    @property
    def places(self) -> dict[int, int]:
        """String → fret."""
        return {s.placement.string: s.placement.fret for s in self.sounds}

    @property
    def single(self) -> bool:
        """Whether one string sounds alone."""
        return len(self.places) == 1


def bass_from(variation: Variation) -> int:
    """The highest bass string: the wound ones, four and lower on a guitar."""
    instrument = variation.instrument
    return min(instrument.wound & set(range(1, len(instrument.strings) + 1)), default=len(instrument.strings) + 1)


def row_of(variation: Variation) -> tuple[Onset, ...]:
    """The onsets of a line that has its placements, in order; grace notes belong to the note they lead to."""
    bass = bass_from(variation)
    row: list[Onset] = []
    graces: tuple[str, ...] = ()
    for group in onset_groups(variation.passage):
        ids = tuple(s.note.id for s in group.sounds)
        if group.grace:
            graces += ids
            continue
        low = group.sounds[0].placement.string
        row.append(Onset(at=group.onset, bar=group.bar, sounds=group.sounds, ids=(*graces, *ids), bass=low >= bass))
        graces = ()
    return tuple(row)


def silences(variation: Variation, row: tuple[Onset, ...]) -> tuple[tuple[Fraction, Fraction], ...]:
    """Where nothing sounds for a beat or longer: (start, end) in quarters."""
    passage = variation.passage
    if not passage.bars:
        return ()
    ends = sounding_end(passage)
    found: list[tuple[Fraction, Fraction]] = []
    until = Fraction(0)
    for onset in row:
        if onset.at - until >= passage.bars[onset.bar].metre.beat:
            found.append((until, onset.at))
        until = max(until, *(ends[s.note.id] for s in onset.sounds))
    last = passage.bars[-1]
    return (*found, (until, last.end)) if last.end - until >= last.metre.beat else tuple(found)
