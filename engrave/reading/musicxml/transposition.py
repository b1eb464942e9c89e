"""From written to sounding pitch: transposing parts, and guitar parts written an octave higher without saying so."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.model import Pitch
from engrave.model.pitch import SEMITONES, STEPS


@dataclass(frozen=True, slots=True, kw_only=True)
class Transposition:
    """How far below or above the written pitch a part sounds."""

    diatonic: int = 0
    """staff steps"""
    chromatic: int = 0
    """semitones"""

    @property
    def fifths(self) -> int:
        """What it adds to a key signature: a step along the line of fifths is 7 semitones and 4 staff steps."""
        return 7 * self.chromatic - 12 * self.diatonic

    def key(self, fifths: int) -> tuple[int, int]:
        """A written key signature as it sounds, and how many staff steps the respelling into -7 … 7 adds."""
        moved = fifths + self.fifths
        steps = 0
        while moved > 7:
            moved, steps = moved - 12, steps + 1
        while moved < -7:
            moved, steps = moved + 12, steps - 1
        return moved, steps

    def pitch(self, step: str, alter: int, octave: int, respell: int = 0) -> Pitch:
        """The sounding pitch of a written one, spelled on its own staff step or the nearest that two signs reach."""
        height = 7 * octave + STEPS.index(step) + self.diatonic + respell
        midi = 12 * (octave + 1) + SEMITONES[step] + alter + self.chromatic
        for near in (0, 1, -1, 2, -2):
            place, letter = divmod(height + near, 7)
            alter = midi - (12 * (place + 1) + SEMITONES[STEPS[letter]])
            if -2 <= alter <= 2:
                return Pitch(step=STEPS[letter], alter=alter, octave=place)
        return spelled(midi)


def spelled(midi: int) -> Pitch:
    """A MIDI note number as a pitch with at most a sharp."""
    octave, place = divmod(midi, 12)
    step = max((s for s in STEPS if SEMITONES[s] <= place), key=lambda s: SEMITONES[s])
    return Pitch(step=step, alter=place - SEMITONES[step], octave=octave - 1)
