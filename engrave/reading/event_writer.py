"""Notes, chords and rests of the parser (music21) become events, one voice of one bar at a time.

Rules: an event is as long as its value and tuplets spell; a length no single value can write is tied together from
several; gaps are filled with spaces; brackets are those the score marks, else they are counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from engrave.model import Bar, Event, Fault, Note, Pitch, Place, Tuplet, Value
from engrave.model.errors import one_line
from engrave.reading.extras import Extras, HeadMarks
from engrave.reading.music21_marks import head_marks
from engrave.reading.note_values import written
from engrave.reading.raw_notes import Raw, brackets_over, tag_of, value_of

_WHOLE = Value(kind=1)
_Piece = tuple[Value, tuple[Tuplet, ...]]


class Writer:
    """Writes events; the state is the ids and brackets given out so far, and the faults found."""

    def __init__(self, name: str, extras: Extras | None) -> None:
        self.name = name
        self.extras = extras
        self.faults: list[Fault] = []
        self.ids: dict[int, str] = {}
        """identity of a head of the parser → its id"""
        self.counter = 0
        self.tuplets = 0

    def voice(self, raws: Sequence[Raw], bar: Bar, index: int) -> list[Event]:
        """The events of one voice of bar number `index`, filling the bar."""
        raws = sorted(raws, key=lambda raw: (raw.onset, raw.length > 0))
        if len(raws) == 1 and raws[0].marks.bar_rest:
            return [self.bar_rest(bar, index, raws[0])]
        here = Fraction(0)
        events: list[Event] = []
        for raw, over in zip(raws, self._brackets(raws), strict=True):
            events += self._spaces(here, raw.onset, bar, index, raw.voice)
            here = max(here, raw.onset)
            pieces = self._pieces(raw, over, bar)
            made = self._events(raw, pieces, bar, index, bar.onset + here)
            events += made
            here = made[-1].end - bar.onset if made else here + raw.length
        return events + self._spaces(here, bar.length, bar, index, raws[0].voice)

    def bar_rest(self, bar: Bar, index: int, raw: Raw | None = None) -> Event:
        """A rest for a whole bar."""
        return Event(
            id=self._name("e"),
            bar=index,
            voice=raw.voice if raw else 1,
            onset=bar.onset,
            duration=bar.length,
            value=_WHOLE,
            bar_rest=True,
            space=raw.marks.space if raw else False,
            marks=raw.marks.marks if raw else (),
        )

    def fault(self, fact: str, bar: str, hint: str = "") -> None:
        """One thing wrong in the bar printed as `bar`."""
        self.faults.append(Fault(fact=fact, hint=hint, place=Place(file=self.name, bar=bar)))

    def _name(self, letter: str) -> str:
        self.counter += 1
        return f"{letter}{self.counter}"

    def _bracket(self, actual: int, normal: int) -> Tuplet:
        self.tuplets += 1
        return Tuplet(id=self.tuplets, actual=actual, normal=normal)

    # time

    def _pieces(self, raw: Raw, over: tuple[Tuplet, ...], bar: Bar) -> list[_Piece]:
        """The values that together last as long as a note: one as a rule."""
        value = raw.marks.value or value_of(raw.element)
        if raw.length == 0:
            return [(value or Value(kind=8), ())]
        if value is not None and _notated(value, over) == raw.length:
            return [(value, over)]
        pieces = self._written(raw.length)
        if pieces is None:
            self.fault(f"a length of {raw.length} quarters cannot be written as notes", bar.label, "check its duration")
        return pieces or []

    def _written(self, length: Fraction) -> list[_Piece] | None:
        cut = written(length)
        if cut is None:
            return None
        values, (actual, normal) = cut
        over = () if actual == normal else (self._bracket(actual, normal),)
        return [(value, over) for value in values]

    def _spaces(self, start: Fraction, stop: Fraction, bar: Bar, index: int, voice: int) -> list[Event]:
        if start >= stop:
            return []
        pieces = self._written(stop - start)
        if pieces is None:
            self.fault(f"a gap of {stop - start} quarters cannot be written as rests", bar.label, "check the durations")
            return []
        onset = bar.onset + start
        events: list[Event] = []
        for value, over in pieces:
            length = _notated(value, over)
            events.append(
                Event(
                    id=self._name("e"),
                    bar=index,
                    voice=voice,
                    onset=onset,
                    duration=length,
                    value=value,
                    tuplets=over,
                    space=True,
                )
            )
            onset += length
        return events

    def _brackets(self, raws: Sequence[Raw]) -> list[tuple[Tuplet, ...]]:
        """The tuplets over each note, one id a bracket."""
        opened: list[Tuplet] = []
        closed: list[bool] = []
        out: list[tuple[Tuplet, ...]] = []
        for raw, found in zip(raws, brackets_over(raws), strict=True):
            if not raw.length:
                out.append(())
                continue
            keep = 0
            while keep < min(len(found), len(opened)):
                same = (opened[keep].actual, opened[keep].normal) == (found[keep].actual, found[keep].normal)
                if found[keep].start or closed[keep] or not same:
                    break
                keep += 1
            opened[keep:] = [self._bracket(bracket.actual, bracket.normal) for bracket in found[keep:]]
            closed = [bracket.stop for bracket in found]
            out.append(tuple(opened))
        return out

    # notes

    def _events(self, raw: Raw, pieces: Sequence[_Piece], bar: Bar, index: int, onset: Fraction) -> list[Event]:
        events: list[Event] = []
        for number, (value, over) in enumerate(pieces):
            notes = self._notes(raw, bar, number, len(pieces))
            length = _notated(value, over) if raw.length else Fraction(0)
            events.append(
                Event(
                    id=self._name("e"),
                    bar=index,
                    voice=raw.voice,
                    onset=onset,
                    duration=length,
                    value=value,
                    tuplets=over,
                    notes=notes,
                    grace=not raw.length,
                    slash=raw.marks.slash and not raw.length,
                    space=raw.marks.space and not notes,
                    marks=raw.marks.marks if number == 0 else (),
                )
            )
            onset += length
        return events

    def _notes(self, raw: Raw, bar: Bar, number: int, count: int) -> tuple[Note, ...]:
        """The heads of one piece of a chord or note; a piece is tied to the next."""
        element = raw.element
        if element.isRest:
            return ()
        notes: list[Note] = []
        for head in list(element.notes) if element.isChord else [element]:
            pitch = self._pitch(head, bar)
            if pitch is None:
                continue
            name, marks = self._marks(head, element)
            tie = head.tie
            kind = tie.type if tie else ""
            notes.append(
                Note(
                    id=name if number == 0 else f"{name}.{number + 1}",
                    pitch=pitch,
                    tied_back=number > 0 or kind in ("stop", "continue"),
                    tied_on=number < count - 1 or kind in ("start", "continue"),
                    muted=marks.muted,
                    given=marks.given,
                )
            )
        return tuple(sorted(notes, key=lambda note: note.pitch.midi))

    def _marks(self, head: Any, element: Any) -> tuple[str, HeadMarks]:
        if self.extras is not None:
            name = tag_of(head)
            self.ids[id(head)] = name
            return name, self.extras.heads.get(name, HeadMarks())
        if id(head) not in self.ids:
            self.ids[id(head)] = self._name("n")
        return self.ids[id(head)], head_marks(head, element)

    def _pitch(self, head: Any, bar: Bar) -> Pitch | None:
        found = getattr(head, "pitch", None)
        if found is None:
            self.fault("a note has no pitch (percussion)", bar.label, "choose a part with pitches")
            return None
        alter = found.accidental.alter if found.accidental else 0
        if alter != int(alter):
            self.fault(f"{one_line(str(found), 20)} is a quarter tone, which no fret plays", bar.label)
            return None
        if not -2 <= alter <= 2:
            found = found.simplifyEnharmonic()
            alter = found.accidental.alter if found.accidental else 0
        pitch = Pitch(step=found.step, alter=int(alter), octave=int(found.implicitOctave))
        if not 0 <= pitch.midi <= 127:
            self.fault(f"the pitch {pitch} is outside what MIDI counts (0 to 127)", bar.label)
            return None
        return pitch


def _notated(value: Value, tuplets: Sequence[Tuplet]) -> Fraction:
    length = value.quarters
    for t in tuplets:
        length *= Fraction(t.normal, t.actual)
    return length
