"""Notes, chords and rests of a source become events, one voice of one bar at a time.

Rules: an event is as long as its value and tuplets spell; a length no single value can write is tied together from
several; gaps are filled with spaces.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import takewhile

from engrave.model import Bar, Event, Fault, Note, Place, Tuplet, Value
from engrave.model.passage import notated
from engrave.model.time_spelling import single
from engrave.reading.note_values import written
from engrave.reading.source_bars import SourceEvent

_QUARTER = Value(kind=4)
_Piece = tuple[Value, tuple[Tuplet, ...]]


class Writer:
    """Writes events; the state is the ids and brackets given out so far, and the faults found."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.faults: list[Fault] = []
        self.counter = 0
        self.tuplets = 0

    def voice(self, raws: Sequence[SourceEvent], bar: Bar, index: int) -> list[Event]:
        """The events of one voice of bar number `index`, filling the bar."""
        raws = sorted(raws, key=lambda raw: (raw.onset, raw.length > 0))
        if len(raws) == 1 and raws[0].bar_rest:
            return [self.bar_rest(bar, index, raws[0])]
        here = Fraction(0)
        events: list[Event] = []
        for raw, over in zip(raws, self._brackets(raws), strict=True):
            for note in raw.notes:
                if not 0 <= note.pitch.midi <= 127:
                    self._fault(f"the pitch {note.pitch} is outside what MIDI counts (0 to 127)", bar)
            events += self._spaces(here, raw.onset, bar, index, raw.voice)
            here = max(here, raw.onset)
            made = self._events(raw, self._pieces(raw, over, bar), index, bar.onset + here)
            events += made
            here = made[-1].end - bar.onset if made else here + raw.length
        return events + self._spaces(here, bar.length, bar, index, raws[0].voice)

    def bar_rest(self, bar: Bar, index: int, raw: SourceEvent) -> Event:
        """A rest for a whole bar."""
        return Event(
            id=self._name(),
            bar=index,
            voice=raw.voice,
            onset=bar.onset,
            duration=bar.length,
            value=Value(kind=1),
            bar_rest=True,
            space=raw.space,
            marks=raw.marks,
        )

    def _fault(self, fact: str, bar: Bar, hint: str = "") -> None:
        self.faults.append(Fault(fact=fact, hint=hint, place=Place(file=self.name, bar=bar.label)))

    def _name(self) -> str:
        self.counter += 1
        return f"e{self.counter}"

    def _bracket(self, actual: int, normal: int) -> Tuplet:
        self.tuplets += 1
        return Tuplet(id=self.tuplets, actual=actual, normal=normal)

    def _pieces(self, raw: SourceEvent, over: tuple[Tuplet, ...], bar: Bar) -> list[_Piece]:
        """The values that together last as long as a note: one as a rule."""
        if raw.length == 0:
            return [(raw.value or Value(kind=8), ())]
        value = raw.value or single(raw.length / notated(_QUARTER, over), most_dots=2)
        if value is not None and notated(value, over) == raw.length:
            return [(value, over)]
        pieces = self._written(raw.length)
        if pieces is None:
            self._fault(f"a length of {raw.length} quarters cannot be written as notes", bar, "check its duration")
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
            self._fault(f"a gap of {stop - start} quarters cannot be written as rests", bar, "check the durations")
            return []
        gap = SourceEvent(voice=voice, length=stop - start, space=True)
        return self._events(gap, pieces, index, bar.onset + start)

    def _brackets(self, raws: Sequence[SourceEvent]) -> list[tuple[Tuplet, ...]]:
        """The tuplets over each note, one id a bracket."""
        opened: list[tuple[int, Tuplet]] = []
        out: list[tuple[Tuplet, ...]] = []
        for raw in raws:
            if not raw.length:
                out.append(())
                continue
            pairs = zip(opened, raw.tuplets, strict=False)
            keep = len(list(takewhile(lambda pair: pair[0][0] == pair[1][0], pairs)))
            opened[keep:] = [(key, self._bracket(actual, normal)) for key, actual, normal in raw.tuplets[keep:]]
            out.append(tuple(over for _, over in opened))
        return out

    def _events(self, raw: SourceEvent, pieces: Sequence[_Piece], index: int, onset: Fraction) -> list[Event]:
        events: list[Event] = []
        for number, (value, over) in enumerate(pieces):
            length = notated(value, over) if raw.length else Fraction(0)
            events.append(
                Event(
                    id=self._name(),
                    bar=index,
                    voice=raw.voice,
                    onset=onset,
                    duration=length,
                    value=value,
                    tuplets=over,
                    notes=_notes(raw, number, len(pieces)),
                    grace=not raw.length,
                    slash=raw.slash and not raw.length,
                    space=raw.space and not raw.notes,
                    marks=raw.marks if number == 0 else (),
                )
            )
            onset += length
        return events


def _notes(raw: SourceEvent, number: int, count: int) -> tuple[Note, ...]:
    """The heads of one piece of a chord or note, of so many; a piece is tied to the next."""
    heads = sorted(raw.notes, key=lambda note: note.pitch.midi)
    if count == 1:
        return tuple(heads)
    return tuple(
        replace(
            note,
            id=note.id if number == 0 else f"{note.id}.{number + 1}",
            tied_back=number > 0 or note.tied_back,
            tied_on=number < count - 1 or note.tied_on,
        )
        for note in heads
    )
