"""What is known of an ABC tune while its body is taken apart: voices, bars, notes, faults."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from engrave.model import Fault, Metre, Pitch, Place
from engrave.model.said import Said
from engrave.reading.abc.fields import Signature, Sounding
from engrave.reading.limits import LIMITS, Limits

MOST_FAULTS = 40
"""faults of one file beyond which nobody reads on"""


@dataclass(slots=True, kw_only=True)
class TuneHead:
    """One note of a chord."""

    step: str
    octave: int
    alter: int
    finger: int | None = None
    tie: bool = False
    """a tie is typed behind it"""
    id: str = ""
    tied_back: bool = False
    tied_on: bool = False
    """tied to heads that are there"""

    @property
    def pitch(self) -> Pitch:
        """As written: C is middle C."""
        return Pitch(step=self.step, alter=self.alter, octave=self.octave)


@dataclass(slots=True, kw_only=True)
class TuneNote:
    """A note, chord or rest."""

    heads: list[TuneHead]
    """empty for a rest"""
    length: Fraction
    """written, without its tuplet"""
    grace: bool = False
    slash: bool = False
    space: bool = False
    whole: bool = False
    """a rest of a whole bar (Z)"""
    marks: list[str] = field(default_factory=list)
    tuplet: tuple[int, int, int] | None = None
    """number in the voice, actual, normal"""
    opens: int = 0
    """slurs that start here"""
    closes: int = 0


@dataclass(slots=True, kw_only=True)
class AbcBar:
    """One bar of one voice."""

    lanes: list[list[TuneNote]]
    """more than one where & lays voices over each other"""
    metre: Metre | None
    signature: Signature
    line: int
    repeat_start: bool = False
    repeat_end: bool = False
    ending: str = ""
    barline: str = "single"


@dataclass(slots=True)
class Voice:
    """A voice while it is read."""

    name: str
    sound: Sounding
    unit: Fraction
    metre: Metre | None
    signature: Signature
    bars: list[AbcBar] = field(default_factory=list)
    lanes: list[list[TuneNote]] = field(default_factory=lambda: [[]])
    held: dict[tuple[str, int], int] = field(default_factory=dict)
    """step and octave → accidental in this bar"""
    tied: dict[tuple[str, int], int] = field(default_factory=dict)
    repeat_start: bool = False
    ending: str = ""
    broken: Fraction | None = None
    """factor for the next note"""
    tuplet: list[int] = field(default_factory=list)
    """number, actual, normal, notes left"""
    tuplets: int = 0
    opens: int = 0
    wanted: list[str] = field(default_factory=list)
    """decorations for the next note"""


@dataclass(slots=True)
class Scan:
    """The reading of one body: what is found, left out and wrong."""

    file: str
    limits: Limits = LIMITS
    propagate: str = "pitch"
    title: str = ""
    composer: str = ""
    tempo: Fraction | None = None
    voices: dict[str, Voice] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    left_out: dict[Said, int] = field(default_factory=dict)
    notes: int = 0
    current: Voice | None = None

    @property
    def items(self) -> Iterator[TuneNote]:
        """Every note and rest."""
        return (item for voice in self.voices.values() for bar in voice.bars for lane in bar.lanes for item in lane)

    def fault(self, fact: str, hint: str, line: int) -> None:
        """Note a fault, as long as anyone would read it."""
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(Fault(fact=fact, hint=hint, place=Place(file=self.file, line=line)))

    def leave(self, what: Said) -> None:
        """Note that something is left out."""
        if what in self.left_out or len(self.left_out) < 100:
            self.left_out[what] = self.left_out.get(what, 0) + 1


def close_bar(voice: Voice, line: int) -> None:
    """Put away the bar that is being filled."""
    voice.bars.append(
        AbcBar(
            lanes=[lane for lane in voice.lanes if lane],
            metre=voice.metre,
            signature=voice.signature,
            line=line,
            repeat_start=voice.repeat_start,
            ending=voice.ending,
        )
    )
    voice.lanes, voice.held, voice.repeat_start = [[]], {}, False
