"""What the two hands do to one note, and how far a fretting hand reaches."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

PLUCKING = "pimac"
"""plucking fingers from the thumb: p i m a and the little finger, which prints as the letter the player chose"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Where and with which finger a note is stopped."""

    string: int
    """1 = highest"""
    fret: int
    """0 = open, counted from the nut or capo"""
    finger: int
    """0 = open, 1 to 4"""
    position: int = 1
    """fret over which finger 1 lies while this note is stopped (kept through open strings)"""
    barre: str = ""
    """full, half or hinge where the finger lies over several strings"""

    def __post_init__(self) -> None:
        if self.string < 1 or self.fret < 0 or not 0 <= self.finger <= 4:
            raise ValueError(f"no such placement: string {self.string}, fret {self.fret}, finger {self.finger}")
        if (self.fret == 0) != (self.finger == 0):
            raise ValueError(f"fret {self.fret} and finger {self.finger} disagree about an open string")

    @property
    def home(self) -> int:
        """The fret over which finger 1 lies if this finger lies a finger a fret; of a stopped note."""
        return self.fret - self.finger + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """How a note is plucked."""

    finger: str
    """one of PLUCKING"""
    kind: str = "free"
    """free (tirando) or rest (apoyando)"""

    def __post_init__(self) -> None:
        if len(self.finger) != 1 or self.finger not in PLUCKING:
            raise ValueError(f"plucking finger {self.finger!r} is not one of {' '.join(PLUCKING)}")
        if self.kind not in ("free", "rest"):
            raise ValueError(f"stroke {self.kind!r} is neither free nor rest")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """A fretting hand's reach between two fingertips, in mm along the string."""

    name: str
    label: str = ""
    comfortable: Mapping[tuple[int, int], float]
    """finger pair (lower, higher) → mm without effort"""
    practical: Mapping[tuple[int, int], float]
    """finger pair → mm that can be held"""
    source: str = ""

    def __post_init__(self) -> None:
        pairs = {(a, b) for a in range(1, 5) for b in range(a + 1, 5)}
        if set(self.comfortable) != pairs or set(self.practical) != pairs:
            raise ValueError(f"hand {self.name}: needs a reach for each of the six finger pairs")
        if any(not 0 < self.comfortable[p] <= self.practical[p] for p in pairs):
            raise ValueError(f"hand {self.name}: comfortable reach must be above 0 and no wider than practical reach")
