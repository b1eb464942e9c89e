"""Spelled pitches and keys. A pitch is the SOUNDING one; guitar music is written an octave higher."""

from __future__ import annotations

import re
from dataclasses import dataclass

STEPS = "CDEFGAB"
LINE = "FCGDAEB"
"""steps in the order of fifths, as key signatures take them up"""
SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_NAME = re.compile(r"([A-G])(##|bb|#|b|♯♯|♭♭|♯|♭)?(-?\d+)\Z")
_ALTERS = {"": 0, "#": 1, "##": 2, "b": -1, "bb": -2, "♯": 1, "♯♯": 2, "♭": -1, "♭♭": -2}
_SIGNS = {-2: "♭♭", -1: "♭", 0: "", 1: "♯", 2: "♯♯"}


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteName:
    """A note of any octave, as a place in a sentence holds it."""

    step: str
    alter: int = 0

    def __str__(self) -> str:
        return self.step + _SIGNS[self.alter]


def on_line(place: int) -> NoteName:
    """The note at a place on the line of fifths: … B♭ = -2, F = -1, C = 0, G = 1 … F♯ = 6."""
    alter, step = divmod(place + 1, 7)
    return NoteName(step=LINE[step], alter=alter)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pitch:
    """A spelled, sounding pitch, e.g. the open sixth string of a guitar: step E, alter 0, octave 2 (82.41 Hz)."""

    step: str
    """one of C D E F G A B"""
    alter: int = 0
    """semitones up from the step, -2 to 2"""
    octave: int
    """scientific octave of the step, middle C = C4"""

    def __post_init__(self) -> None:
        if self.step not in SEMITONES:
            raise ValueError(f"step {self.step!r} is not one of C D E F G A B")
        if not -2 <= self.alter <= 2:
            raise ValueError(f"alter {self.alter} is outside -2 to 2")

    @property
    def midi(self) -> int:
        """MIDI note number of the sounding pitch, middle C = 60."""
        return 12 * (self.octave + 1) + SEMITONES[self.step] + self.alter

    @property
    def height(self) -> int:
        """Diatonic height: steps above C0. One staff place is one unit; the written place lies 7 higher."""
        return 7 * self.octave + STEPS.index(self.step)

    @property
    def name(self) -> str:
        """The name without the octave, e.g. F♯."""
        return str(self.note)

    @property
    def note(self) -> NoteName:
        """Its name as a place in a sentence holds it, so that it is said in the language of the page."""
        return NoteName(step=self.step, alter=self.alter)

    def __str__(self) -> str:
        return f"{self.name}{self.octave}"

    @classmethod
    def parse(cls, text: str) -> Pitch:
        """A pitch from its name: E2, F#3, Bb3, C♯4. Raises ValueError."""
        match = _NAME.match(text.strip())
        if not match:
            raise ValueError(f"{text!r} is not a pitch name like E2, F#3 or Bb3")
        return cls(step=match[1], alter=_ALTERS[match[2] or ""], octave=int(match[3]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """A key signature."""

    fifths: int = 0
    """sharps (positive) or flats (negative), -7 to 7"""
    mode: str = ""
    """major, minor or empty when the source does not say"""

    def __post_init__(self) -> None:
        if not -7 <= self.fifths <= 7:
            raise ValueError(f"a key signature of {self.fifths} fifths is outside -7 to 7")

    def alter(self, step: str) -> int:
        """Semitones the signature puts on `step`."""
        if self.fifths > 0:
            return 1 if step in LINE[: self.fifths] else 0
        return -1 if self.fifths < 0 and step in LINE[self.fifths :] else 0
