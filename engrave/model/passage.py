"""The written music: bars, events, notes. Values only, and the laws they keep.

Conventions: time is a Fraction of a quarter from the passage's start; pitches sound (written an octave higher); events
stand in reading order (bar, onset, grace notes before their main event, voice); the notes of one event go from low to
high.
The same types carry a variation's music: `placement`, `stroke` and `slurred_from` are empty until the hands are
worked out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import lcm
from operator import is_

from engrave.model.errors import Place
from engrave.model.hands import Placement, Stroke
from engrave.model.pitch import Key, Pitch
from engrave.model.said import strung
from engrave.model.unchecked import replace_unchecked

MARKS = ("accent", "marcato", "staccato", "tenuto", "fermata", "arpeggio")
"""marks an event can carry; `accent` is the one the accent axis sets"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Metre:
    """A time signature."""

    beats: tuple[int, ...]
    """upper figure; more than one where it is a sum, e.g. (3, 2) for 3+2"""
    unit: int
    """lower figure: 1, 2, 4, 8, 16, 32"""
    sign: str = ""
    """common, cut, or empty for figures"""

    def __post_init__(self) -> None:
        if not self.beats or any(b < 1 for b in self.beats) or self.unit not in (1, 2, 4, 8, 16, 32, 64):
            raise ValueError(f"metre {self} is not one that can be written")

    @property
    def length(self) -> Fraction:
        """Length of a full bar in quarters."""
        return Fraction(4 * sum(self.beats), self.unit)

    @property
    def beat(self) -> Fraction:
        """Length in quarters of the beat a player counts: three units where the metre is compound."""
        compound = len(self.beats) == 1 and self.unit >= 8 and self.beats[0] % 3 == 0 and self.beats[0] > 3
        return Fraction(4, self.unit) * (3 if compound else 1)

    @property
    def groups(self) -> tuple[Fraction, ...]:
        """Lengths in quarters of the groups that beams keep to, adding up to a full bar."""
        unit = Fraction(4, self.unit)
        if len(self.beats) > 1:
            return tuple(unit * b for b in self.beats)
        if self.unit >= 8 and self.beats[0] == 3:
            return (self.length,)
        return (self.beat,) * int(self.length / self.beat)

    def __str__(self) -> str:
        return f"{'+'.join(map(str, self.beats))}/{self.unit}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One measure."""

    label: str
    """number as printed; the pickup is 0"""
    onset: Fraction
    """start, in quarters from the passage's start"""
    length: Fraction
    """how long it really is, in quarters; shorter than the metre for a pickup or a cut bar"""
    metre: Metre
    key: Key = Key()
    offset: Fraction = Fraction(0)
    """where in the metre the bar starts, in quarters: for a pickup the metre's length less its own"""
    repeat_start: bool = False
    repeat_end: int = 0
    """times the section is played where a repeat ends here (2 as a rule), else 0"""
    ending: str = ""
    """label of the ending (volta) this bar belongs to, e.g. "1", else empty"""
    barline: str = "single"
    """right bar line: single, double, final, dashed, dotted, invisible"""

    def __post_init__(self) -> None:
        if self.length <= 0:
            raise ValueError(f"bar {self.label} has length {self.length}")

    @property
    def end(self) -> Fraction:
        """End in quarters from the passage's start."""
        return self.onset + self.length


@dataclass(frozen=True, slots=True, kw_only=True)
class Tuplet:
    """A tuplet; all events that carry the same `id` stand under one bracket."""

    id: int
    actual: int
    """notes played"""
    normal: int
    """in the time of so many"""

    def __post_init__(self) -> None:
        if self.actual < 1 or self.normal < 1:
            raise ValueError(f"tuplet {self.actual}:{self.normal} is not one that can be written")


VALUE_NAMES = {
    0: "breve",
    1: "whole",
    2: "half",
    4: "quarter",
    8: "eighth",
    16: "16th",
    32: "32nd",
    64: "64th",
    128: "128th",
    256: "256th",
}
"""`Value.kind` → what MusicXML (4.0, note-type-value) calls it"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """A notated duration without its tuplets."""

    kind: int
    """1 whole, 2 half, 4 quarter, 8 eighth … 256; 0 is the double whole"""
    dots: int = 0

    def __post_init__(self) -> None:
        if self.kind not in VALUE_NAMES or not 0 <= self.dots <= 4:
            raise ValueError(f"a 1/{self.kind} note with {self.dots} dots cannot be written")

    @property
    def quarters(self) -> Fraction:
        """Length in quarters."""
        return _quarters(self.kind, self.dots)


def notated(value: Value, tuplets: tuple[Tuplet, ...]) -> Fraction:
    """Length in quarters that a value under these tuplets spells out."""
    length = value.quarters
    for t in tuplets:
        length *= _share(t.normal, t.actual)
    return length


@cache
def _share(normal: int, actual: int) -> Fraction:
    return Fraction(normal, actual)


@cache
def _quarters(kind: int, dots: int) -> Fraction:
    """Every event checks its length when it is made; a table of the few values there are spares half of that time."""
    base = Fraction(4, kind) if kind else Fraction(8)
    return base * (2 - Fraction(1, 2**dots))


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What the source prints for a note; law for the fretting engine."""

    finger: int | None = None
    """fretting finger 0 to 4"""
    string: int | None = None
    """1 = highest"""
    fret: int | None = None
    pluck: str = ""
    """plucking finger p i m a c, or empty"""
    stroke: str = ""
    """rest or free where the source says so"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """One head."""

    id: str
    """unique in the passage"""
    pitch: Pitch
    tied_back: bool = False
    """tied from the same pitch before: not struck again"""
    tied_on: bool = False
    """tied to the same pitch after"""
    muted: bool = False
    """a damped string with no pitch of its own: written with a cross, the pitch is the open string's"""
    given: Given = Given()
    placement: Placement | None = None
    stroke: Stroke | None = None
    """none where the note is tied, slurred or not plucked"""
    slurred_from: str = ""
    """id of the note on the same string from which the fretting hand sounds this one (hammer-on, pull-off, slide)"""
    slide: bool = False
    """the slur into this note is a slide of one finger"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """What one voice does at one time: a chord of one or more notes, a rest (no notes) or a space."""

    id: str
    bar: int
    """index into Passage.bars"""
    voice: int
    """1 is the upper; stems go down from the second on"""
    onset: Fraction
    """quarters from the passage's start"""
    duration: Fraction
    """quarters; 0 for a grace note"""
    value: Value
    tuplets: tuple[Tuplet, ...] = ()
    """outermost first"""
    notes: tuple[Note, ...] = ()
    """low to high; empty for a rest"""
    grace: bool = False
    slash: bool = False
    """a grace note with a stroke through its stem"""
    space: bool = False
    """a rest that is not printed"""
    bar_rest: bool = False
    """a rest that fills its bar, whatever the bar's length"""
    marks: tuple[str, ...] = ()
    """of MARKS, in that order"""

    def __post_init__(self) -> None:
        if self.grace and self.duration:
            raise ValueError(f"{self.id}: a grace note takes no time, this one {self.duration}")
        if not self.grace and not self.bar_rest and not _same(self.duration, self.notated):
            raise ValueError(f"{self.id}: lasts {self.duration} quarters but is written as {self.notated}")
        if self.space and self.notes:
            raise ValueError(f"{self.id}: a space holds no notes")

    @property
    def notated(self) -> Fraction:
        """Length in quarters that value and tuplets spell out."""
        return notated(self.value, self.tuplets)

    @property
    def end(self) -> Fraction:
        """End in quarters from the passage's start."""
        return self.onset + self.duration


@dataclass(frozen=True, slots=True, kw_only=True)
class Slur:
    """A curve of the source.

    Once the hands are known, those the fretting hand plays become Note.slurred_from; the rest
    stay here and are printed as phrase marks.
    """

    start: str
    """id of the first note"""
    stop: str
    """id of the last note"""
    kind: str = "slur"
    """slur, hammer-on, pull-off or slide"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Direction:
    """Words or signs of the source that belong to a place, not to one note."""

    kind: str
    """words, position, barre, stroke (text: rest or free), strokes (a sentence on all of them), tempo; in a loop also
    numeral: a position as its page has it, with no text where none is printed"""
    text: str
    bar: int
    onset: Fraction
    end: Fraction | None = None
    """where a barre or a position ends, if the source says so"""
    fret: int | None = None
    """fret of a barre or position"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """Something left out or changed, printed in the book."""

    text: str
    place: Place = Place()
    kind: str = ""
    """what sort of notice it is, where pages gather several of one kind, e.g. "unfit"; empty for all others"""
    of: tuple[str, ...] = ()
    """of an unfit study that the passage has nothing for: the textures it is for, in words"""
    many: int = 1
    """how many studies it speaks of"""
    about: str = ""
    """of an unfit study: its heading"""

    def __str__(self) -> str:
        return strung([str(self.place), self.text], ": ")


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """The music studied.

    Invariants: bars follow each other without gap; every event lies in its bar; each voice of a bar
    fills it exactly (voices absent from a bar have no event in it); note and event ids are unique.
    """

    title: str = ""
    composer: str = ""
    rights: str = ""
    source: str = ""
    """name of the file it was read from"""
    part: str = ""
    """part or staff it was cut from, if there was a choice"""
    cut: str = ""
    """bars it was cut to, as printed, e.g. "5-8"; empty for the whole"""
    tempo: Fraction | None = None
    """quarters a minute, if the source says so"""
    tuning: tuple[Pitch, ...] | None = None
    """open strings from the first (highest) down, if the source says so"""
    capo: int = 0
    bars: tuple[Bar, ...]
    events: tuple[Event, ...]
    slurs: tuple[Slur, ...] = ()
    directions: tuple[Direction, ...] = ()
    notices: tuple[Notice, ...] = ()

    def __post_init__(self) -> None:
        at = Fraction(0)
        for bar in self.bars:
            if bar.onset != at:
                raise ValueError(f"bar {bar.label} starts at {bar.onset}, not where the one before it ends, {at}")
            at = bar.end
        # times in whole parts of a quarter: a sum or a comparison of them takes a tenth of what it takes in fractions
        times = [time for bar in self.bars for time in (bar.onset, bar.end)]
        times += [time for event in self.events for time in (event.onset, event.duration)]
        parts = lcm(*{time.denominator for time in times})
        ids: set[str] = set()
        filled: dict[tuple[int, int], int] = {}
        for event in self.events:
            place = (event.bar, event.voice)
            bar = self.bars[event.bar]
            here = filled.get(place)
            if here is None:
                here = _parts(bar.onset, parts)
            if _parts(event.onset, parts) != here:
                where = f"{event.id}: bar {bar.label}, voice {event.voice}"
                raise ValueError(f"{where}: starts at {event.onset}, not {Fraction(here, parts)}")
            filled[place] = here + _parts(event.duration, parts)
            for name in (event.id, *(note.id for note in event.notes)):
                if name in ids:
                    raise ValueError(f"id {name} stands twice")
                ids.add(name)
        for (index, voice), full in filled.items():
            bar = self.bars[index]
            if full != _parts(bar.end, parts):
                end = Fraction(full, parts)
                raise ValueError(f"bar {bar.label}, voice {voice}: filled to {end}, the bar ends at {bar.end}")

    @property
    def notes(self) -> Iterator[Note]:
        """Every note in reading order."""
        return (note for event in self.events for note in event.notes)

    @property
    def voices(self) -> tuple[int, ...]:
        """Voices that occur, in order."""
        return tuple(sorted({event.voice for event in self.events}))

    def place(self, event: Event) -> Place:
        """Where an event stands, for a message: file, printed bar number, beat from 1."""
        bar = self.bars[event.bar]
        beat = (event.onset - bar.onset + bar.offset) / bar.metre.beat + 1
        return Place(file=self.source, bar=bar.label, beat=beat)


def with_notes(passage: Passage, changed: dict[str, Note]) -> Passage:
    """`passage` with each note whose id is a key of `changed` replaced by the value, which keeps that id."""

    def now(event: Event) -> Event:
        notes = tuple([changed.get(note.id, note) for note in event.notes])
        same = all(map(is_, notes, event.notes))
        return event if same else replace_unchecked(event, notes=notes)

    return replace_unchecked(passage, events=tuple([now(event) for event in passage.events]))


def _same(one: Fraction, other: Fraction) -> bool:
    """Whether two times are equal; a quarter of what `==` takes, and every event that is made asks it."""
    return one is other or one.as_integer_ratio() == other.as_integer_ratio()


def _parts(time: Fraction, parts: int) -> int:
    """A time in whole parts of a quarter, of which there are so many."""
    numerator, denominator = time.as_integer_ratio()
    return numerator * (parts // denominator)
