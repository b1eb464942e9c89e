"""Bars as a source writes them, before they become a Passage, and what it says besides them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from engrave.model import Key, Metre, Note, Notice, Pitch, Slur, Value
from engrave.reading.note_values import Chain


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceEvent:
    """A chord, note or rest."""

    voice: int = 1
    onset: Fraction = Fraction(0)
    """quarters from the start of its bar"""
    length: Fraction
    """quarters, 0 for a grace note"""
    value: Value | None = None
    """as written; None where the source does not say, or no single value of ours writes it"""
    tuplets: Chain = ()
    """those of one key stand under one bracket"""
    notes: tuple[Note, ...] = ()
    """empty for a rest"""
    marks: tuple[str, ...] = ()
    slash: bool = False
    space: bool = False
    """a rest that is not printed"""
    bar_rest: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceBar:
    """A bar as the source prints it."""

    label: str
    events: tuple[SourceEvent, ...]
    """of all voices, each voice in order"""
    metre: Metre | None = None
    key: Key | None = None
    """where one begins here; else the one before stays in force"""
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
    """What a source says besides its bars."""

    slurs: tuple[Slur, ...] = ()
    signs: tuple[PrintedSign, ...] = ()
    title: str = ""
    composer: str = ""
    rights: str = ""
    part: str = ""
    tempo: Fraction | None = None
    tuning: tuple[Pitch, ...] | None = None
    capo: int = 0
    notices: tuple[Notice, ...] = ()
