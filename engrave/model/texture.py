"""What a stretch of music is made of, as the plucking hand meets it, and how a player likes to pluck."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

LINE, BROKEN, TREMOLO, BLOCK, LAYERS, REST = (
    "line",
    "broken chord",
    "tremolo",
    "block chord",
    "melody and bass",
    "rest",
)
TEXTURES = (LINE, BROKEN, TREMOLO, BLOCK, LAYERS)
"""textures a stretch that sounds can have"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Texture:
    """A stretch of one texture."""

    kind: str
    """one of TEXTURES, or "rest" where nothing sounds"""
    start: Fraction
    """quarters from the passage's start"""
    end: Fraction
    """quarters from the passage's start; where the next stretch begins"""
    figures: tuple[tuple[str, ...], ...] = ()
    """ids of the notes that begin in it, in playing order, from the lowest string up where they begin together:
    for broken chords and tremolo a tuple a figure (one chord broken once, one bass with what is repeated over it),
    else all in one"""
    basses: frozenset[str] = frozenset()
    """ids of those that belong to the bass, where there is a melody over it or a chord is broken"""
    why: str = ""
    """what shows it, in words"""
    asked: bool = False
    """a plan says so"""

    def __post_init__(self) -> None:
        if self.kind not in (*TEXTURES, REST):
            raise ValueError(f"texture {self.kind!r} is not one of {', '.join(TEXTURES)}")
        if self.start >= self.end:
            raise ValueError(f"a stretch from {self.start} to {self.end} holds nothing")


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedTexture:
    """A plan's word on what some bars are."""

    bars: str
    """bars as printed, e.g. "3-4" or "7" """
    kind: str
    """one of TEXTURES"""


PAIRS = ("i-m", "m-a", "i-a")
"""pairs a line can be played with throughout"""
BASS_LINES = ("pair", "p")


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """How a player plucks where the page leaves a choice."""

    pair: str = "i-m"
    """the two fingers a line is played with, of PAIRS"""
    bass_line: str = "pair"
    """what plays a line on the bass strings: pair, or p throughout"""
    little: bool = False
    """whether the little finger plays in chords of five and more"""
