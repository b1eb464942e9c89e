"""What the parser loses: facts of a source kept by note, event and bar beside the parsed score.

The parser knows pitches, lengths, voices and metres. What it drops or misreads (plucking letters, which head of a chord
a digit belongs to, printed bar numbers …) travels here, matched to its notes by id.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from types import MappingProxyType

from engrave.model import Given, Notice, Pitch, Slur, Value


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadMarks:
    """What the source prints for one head."""

    given: Given = Given()
    muted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TupletBracket:
    """One tuplet over a note, and whether it begins or ends with it."""

    actual: int
    normal: int
    start: bool
    stop: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class EventMarks:
    """What the source says about a chord, note or rest as a whole."""

    voice: int = 1
    marks: tuple[str, ...] = ()
    slash: bool = False
    space: bool = False
    """a rest that is not printed"""
    bar_rest: bool = False
    brackets: tuple[TupletBracket, ...] | None = None
    """tuplets over it, outermost first; None: as the score has them"""
    onset: Fraction | None = None
    length: Fraction | None = None
    """exact place in its bar and length in quarters, which the parser rounds; None: the parser's"""
    value: Value | None = None
    """as the source writes it; None: as the parser makes it of the length"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BarMarks:
    """A bar as the source prints it."""

    label: str
    implicit: bool = False
    """the source says that the bar is not counted or not meant to be full"""
    first: bool = False
    """the first bar of the piece"""
    repeat_start: bool = False
    repeat_end: int = 0
    ending: str = ""
    barline: str = "single"
    unmetred: bool = False
    """the source gives no metre here"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedSign:
    """A direction before the lengths of the bars are known; see engrave.model.Direction."""

    kind: str
    text: str
    bar: int
    at: Fraction = Fraction(0)
    """quarters from the start of its bar"""
    end_bar: int | None = None
    end_at: Fraction = Fraction(0)
    """quarters from the start of the bar it ends in"""
    fret: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Extras:
    """Everything kept beside one parsed score."""

    heads: Mapping[str, HeadMarks] = field(default_factory=lambda: MappingProxyType({}))
    """by id of the head"""
    events: Mapping[str, EventMarks] = field(default_factory=lambda: MappingProxyType({}))
    """by id of the event's first head or of the rest"""
    bars: tuple[BarMarks, ...] = ()
    """one for each bar of the score, or none at all"""
    slurs: tuple[Slur, ...] = ()
    """by ids of heads"""
    signs: tuple[PrintedSign, ...] = ()
    title: str = ""
    composer: str = ""
    rights: str = ""
    part: str = ""
    tempo: Fraction | None = None
    tuning: tuple[Pitch, ...] | None = None
    capo: int = 0
    notices: tuple[Notice, ...] = ()
