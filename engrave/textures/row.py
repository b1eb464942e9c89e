"""A passage as a row of onsets, the way textures are found in it.

Written length says nothing here, but for silence: many files put every note in one voice and give a bass the length of
the note above it. Voices say which notes are the bass only where one of two goes under the other throughout.
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
    """whether the lowest lies on a bass string; where a bass is written out, whether it is of that"""
    written: bool = False
    """whether the bass is written out, as a voice of its own"""

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


_MOST = Fraction(3, 4)
"""part of the bars in which two voices sound, and of the lower one's notes that lie on bass strings, from which this is
the bass written out (house figure)"""


def written_bass(variation: Variation) -> int | None:
    """The voice in which the bass is written out; None where the voices do not say so."""
    voices = {e.voice for e in variation.passage.events if e.notes and not e.grace}
    if len(voices) != 2:
        return None
    upper, lower = sorted(voices)
    groups = [group for group in onset_groups(variation.passage) if not group.grace]
    own = {voice: [s for group in groups for s in group.sounds if s.event.voice == voice] for voice in voices}
    bars = [{s.event.bar for s in own[voice]} for voice in (upper, lower)]
    deep = sum(s.placement.string >= bass_from(variation) for s in own[lower])
    together = [
        {voice: [s.note.pitch.midi for s in g.sounds if s.event.voice == voice] for voice in voices} for g in groups
    ]
    under = all(max(row[lower]) < min(row[upper]) for row in together if row[lower] and row[upper])
    throughout = len(bars[0] & bars[1]) >= _MOST * len(bars[0] | bars[1])
    # more notes than over it are an accompaniment
    bass = throughout and under and len(own[lower]) <= len(own[upper]) and deep >= _MOST * len(own[lower])
    return lower if bass else None


def row_of(variation: Variation) -> tuple[Onset, ...]:
    """The onsets of a line that has its placements, in order; grace notes belong to the note they lead to."""
    bass, lower = bass_from(variation), written_bass(variation)
    row: list[Onset] = []
    graces: tuple[str, ...] = ()
    for group in onset_groups(variation.passage):
        ids = tuple(s.note.id for s in group.sounds)
        if group.grace:
            graces += ids
            continue
        low = group.sounds[0]
        under = low.placement.string >= bass if lower is None else low.event.voice == lower
        written = lower is not None
        row.append(
            Onset(at=group.onset, bar=group.bar, sounds=group.sounds, ids=(*graces, *ids), bass=under, written=written)
        )
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
