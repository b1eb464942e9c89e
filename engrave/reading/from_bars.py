"""Bars of a source become a Passage.

Rules: a bar is as long as its longest voice, and a notice says so where the metre asks for something else and no
pickup, repeat or double bar explains it.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from engrave.model import Bar, Direction, Event, Key, Metre, Passage, ReadError
from engrave.model.said import say
from engrave.reading.event_writer import Writer
from engrave.reading.source_bars import Extras, SourceBar, SourceEvent
from engrave.reading.tally import Tally

_BROKEN = ("double", "final", "dotted")
"""bar lines at which a bar may be cut in two"""


def passage_from_bars(source: Sequence[SourceBar], name: str, extras: Extras) -> Passage:
    """The Passage of these bars; `name` is the file's, for messages and `Passage.source`.

    Raises ReadError where something cannot be written as notes; every fault of the bars is in it.
    """
    reading = _Reading(name)
    for index, bar in enumerate(source):
        reading.bar(bar, index)
    reading.uneven(source)
    if reading.writer.faults:
        raise ReadError(*reading.writer.faults)
    heads = {note.id for event in reading.events for note in event.notes}
    return Passage(
        title=extras.title,
        composer=extras.composer,
        rights=extras.rights,
        source=name,
        part=extras.part,
        tempo=extras.tempo,
        tuning=extras.tuning,
        capo=extras.capo,
        bars=tuple(reading.bars),
        events=tuple(reading.events),
        slurs=tuple(slur for slur in extras.slurs if slur.start in heads and slur.stop in heads),
        directions=_directions(extras, reading.bars, reading.events),
        notices=(*extras.notices, *reading.tally.notices()),
    )


class _Reading:
    """One conversion: the state that runs from bar to bar."""

    def __init__(self, name: str) -> None:
        self.writer = Writer(name)
        self.tally = Tally()
        self.metre = Metre(beats=(4,), unit=4)
        self.key = Key()
        self.bars: list[Bar] = []
        self.events: list[Event] = []
        self.short: Fraction | None = None
        """length so far of a bar that a repeat or a line end has cut"""

    def bar(self, known: SourceBar, index: int) -> None:
        """One bar with all its voices."""
        self.metre = known.metre or self.metre
        self.key = known.key or self.key
        raws = known.events
        ends = [raw.onset + raw.length for raw in raws if not raw.bar_rest]
        length = max(ends, default=Fraction(0)) or self.metre.length
        bar = Bar(
            label=known.label,
            onset=self.bars[-1].end if self.bars else Fraction(0),
            length=length,
            metre=self.metre,
            key=self.key,
            offset=self._offset(length, known),
            repeat_start=known.repeat_start,
            repeat_end=known.repeat_end,
            ending=known.ending,
            barline=known.barline,
        )
        self.bars.append(bar)
        made: list[Event] = []
        for voice in sorted({raw.voice for raw in raws}):
            mine = [raw for raw in raws if raw.voice == voice]
            self._padded(mine, bar)
            made += self.writer.voice(mine, bar, index)
        made = made or [self.writer.bar_rest(bar, index, SourceEvent(length=length))]
        self.events += sorted(made, key=lambda e: (e.onset, not e.grace, e.voice))

    def _padded(self, raws: Sequence[SourceEvent], bar: Bar) -> None:
        end = max(raw.onset + raw.length for raw in raws)
        if end < bar.length and not any(raw.bar_rest for raw in raws):
            said = say("a voice stops before its bar ends; filled up with a rest that is not printed")
            self.tally.add(said, bar.label)

    def uneven(self, known: Sequence[SourceBar]) -> None:
        """Tells of bars longer or shorter than their metre that nothing explains."""
        for index, (bar, marks) in enumerate(zip(self.bars, known, strict=True)):
            full = bar.metre.length
            if bar.length == full or marks.unmetred or (bar.length < full and self._explained(index, marks)):
                continue
            figures = {"length": bar.length, "metre": str(bar.metre), "full": full}
            if bar.length > full:
                said = say(
                    "too much in a bar: {length} quarters where {metre} has {full}; read as it stands", **figures
                )
            else:
                said = say(
                    "too little in a bar: {length} quarters where {metre} has {full}; read as it stands", **figures
                )
            self.tally.add(said, bar.label)

    def _explained(self, index: int, marks: SourceBar) -> bool:
        """Whether a short bar is a pickup, the last one, next to a repeat or double bar, or part of a bar cut up."""
        bar, before = self.bars[index], self.bars[index - 1] if index else None
        edge = marks.first or index == len(self.bars) - 1 or bar.barline in _BROKEN
        repeated = bar.repeat_start or bar.repeat_end or bar.ending
        after = before is not None and (before.repeat_end or before.barline in _BROKEN)
        if edge or marks.implicit or repeated or after:
            return True
        start = stop = index
        while start and self.bars[start - 1].length < self.bars[start - 1].metre.length:
            start -= 1
        while stop + 1 < len(self.bars) and self.bars[stop + 1].length < self.bars[stop + 1].metre.length:
            stop += 1
        return sum((b.length for b in self.bars[start : stop + 1]), Fraction(0)) == bar.metre.length

    def _offset(self, length: Fraction, known: SourceBar) -> Fraction:
        """Where in the metre a bar starts: a pickup at its end, the second half of a cut bar after the first."""
        full = self.metre.length
        before, self.short = self.short, None
        if length >= full:
            return Fraction(0)
        if known.first:
            return full - length
        if before is not None and before + length <= full:
            self.short = before + length if before + length < full else None
            return before
        if self.bars and (self.bars[-1].repeat_end or self.bars[-1].barline in _BROKEN):
            return full - length
        self.short = length
        return Fraction(0)


def _directions(extras: Extras, bars: Sequence[Bar], events: Sequence[Event]) -> tuple[Direction, ...]:
    """Signs at their times; one that a source nudged aside stands over the nearest note or rest of its bar."""
    onsets: dict[int, list[Fraction]] = {}
    for event in events:
        onsets.setdefault(event.bar, []).append(event.onset)
    made: list[Direction] = []
    for sign in extras.signs:
        place = bars[sign.bar].onset + sign.at
        onset = min(onsets[sign.bar], key=lambda onset: abs(onset - place))
        end = None
        if sign.end_bar is not None:
            end = max(onset, bars[sign.end_bar].onset + min(sign.end_at, bars[sign.end_bar].length))
        made.append(Direction(kind=sign.kind, text=sign.text, bar=sign.bar, onset=onset, end=end, fret=sign.fret))
    return tuple(made)
