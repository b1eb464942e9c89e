"""A score of the parser (music21) becomes a Passage.

Rules: pitches are taken as they sound in the score; the parts of the score become voices, in order; a bar is as long as
its longest voice, and a notice says so where the metre asks for something else and no pickup, repeat or double bar
explains it. Marks, bar numbers and bar lines come from `extras` where the caller has them, else from the score.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from engrave.model import Bar, Direction, Event, Fault, Key, Metre, Passage, Place, ReadError
from engrave.model.said import say
from engrave.reading.event_writer import Writer
from engrave.reading.extras import BarMarks, EventMarks, Extras
from engrave.reading.music21_marks import bar_marks, event_marks, slurs_in_parts
from engrave.reading.raw_notes import Raw, tag_of
from engrave.reading.tally import Tally

_BROKEN = ("double", "final", "dotted")
"""bar lines at which a bar may be cut in two"""


def passage_from_score(score: Any, name: str, *, extras: Extras | None = None) -> Passage:
    """The Passage a music21 score holds.

    Args:
        score: a music21 Score (its parts become voices, the first uppermost) or Part, with pitches as they sound.
        name: the file's name, for messages and `Passage.source`.
        extras: what is known beside the score, its heads and rests named by `style.color`; None: all comes from the
            score.

    Raises:
        ReadError: where something cannot be written as notes; every fault of the score is in it.
    """
    parts: list[Any] = list(getattr(score, "parts", ())) or [score]
    columns = [list(part.getElementsByClass("Measure")) for part in parts]
    count = max((len(column) for column in columns), default=0)
    if not count:
        raise ReadError(Fault(fact="there is no bar with notes in it", place=Place(file=name)))
    reading = _Reading(name, extras)
    known = extras.bars if extras and extras.bars else bar_marks(parts, count)
    for index in range(count):
        row = [column[index] for column in columns if index < len(column)]
        reading.bar(row, index, known[index])
    reading.uneven(known)
    if reading.writer.faults:
        raise ReadError(*reading.writer.faults)
    facts = extras or Extras()
    slurs = facts.slurs if extras else slurs_in_parts(parts, reading.writer.ids)
    heads = {note.id for event in reading.events for note in event.notes}
    return Passage(
        title=facts.title,
        composer=facts.composer,
        rights=facts.rights,
        source=name,
        part=facts.part,
        tempo=facts.tempo,
        tuning=facts.tuning,
        capo=facts.capo,
        bars=tuple(reading.bars),
        events=tuple(reading.events),
        slurs=tuple(slur for slur in slurs if slur.start in heads and slur.stop in heads),
        directions=_directions(facts, reading.bars, reading.events),
        notices=(*facts.notices, *reading.tally.notices()),
    )


class _Reading:
    """One conversion: the state that runs from bar to bar."""

    def __init__(self, name: str, extras: Extras | None) -> None:
        self.extras = extras
        self.writer = Writer(name, extras)
        self.tally = Tally()
        self.metre = Metre(beats=(4,), unit=4)
        self.key = Key()
        self.bars: list[Bar] = []
        self.events: list[Event] = []
        self.short: Fraction | None = None
        """length so far of a bar that a repeat or a line end has cut"""

    def bar(self, row: Sequence[Any], index: int, known: BarMarks) -> None:
        """One bar of every part."""
        self._signatures(row[0], known)
        raws = self._raws(row)
        ends = [raw.onset + raw.length for raw in raws if not raw.marks.bar_rest]
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
        made = made or [self.writer.bar_rest(bar, index)]
        places = {id(event): place for place, event in enumerate(made)}
        self.events += sorted(made, key=lambda e: (e.onset, not e.grace, e.voice, places[id(e)]))

    def _padded(self, raws: Sequence[Raw], bar: Bar) -> None:
        end = max(raw.onset + raw.length for raw in raws)
        if end < bar.length and not any(raw.marks.bar_rest for raw in raws):
            said = say("a voice stops before its bar ends; filled up with a rest that is not printed")
            self.tally.add(said, bar.label)

    def _signatures(self, measure: Any, known: BarMarks) -> None:
        for found in measure.recurse().getElementsByClass("TimeSignature"):
            if "SenzaMisura" not in type(found).__name__ and found.offset == 0:
                self._set_metre(found, known)
        for found in measure.recurse().getElementsByClass("KeySignature"):
            if found.offset != 0:
                self.tally.add(say("a key that changes inside a bar is printed from its start"), known.label)
            if not -7 <= found.sharps <= 7:
                self.writer.fault(f"a key signature of {found.sharps} fifths is outside -7 to 7", known.label)
                continue
            mode = getattr(found, "mode", "") or ""
            self.key = Key(fifths=found.sharps, mode=mode if mode in ("major", "minor") else "")

    def _set_metre(self, found: Any, known: BarMarks) -> None:
        terms = [text.split("/") for text in found.ratioString.split("+")]
        unit = max(int(below) for _, below in terms)
        beats = tuple(int(top) * unit // int(below) for top, below in terms)
        try:
            self.metre = Metre(beats=beats, unit=unit, sign=found.symbol if found.symbol in ("common", "cut") else "")
        except ValueError:
            hint = "lower figures are 1 2 4 8 16 32 64"
            self.writer.fault(f"a metre of {found.ratioString} cannot be printed", known.label, hint)

    def _raws(self, row: Sequence[Any]) -> list[Raw]:
        """Every chord, note and rest of a bar, each stream of it a voice."""
        raws: list[Raw] = []
        lane = 0
        for measure in row:
            for stream in (measure, *measure.voices):
                elements = list(stream.notesAndRests)
                lane += bool(elements)
                start = Fraction(stream.offset) if stream is not measure else Fraction(0)
                raws += [self._raw(element, start, lane) for element in elements]
        return raws

    def _raw(self, element: Any, start: Fraction, lane: int) -> Raw:
        first = element.notes[0] if getattr(element, "isChord", False) else element
        marks = self.extras.events.get(tag_of(first)) if self.extras else event_marks(element, lane)
        length = Fraction(0) if element.duration.isGrace else _exact(element.duration.quarterLength)
        if marks is None:  # a rest the parser puts into an empty bar
            marks = EventMarks(voice=lane, bar_rest=bool(element.isRest) and length == self.metre.length)
        onset = _exact(start + Fraction(element.offset))
        if marks.onset is not None and marks.length is not None and not marks.bar_rest:
            onset, length = marks.onset, marks.length
        return Raw(element=element, voice=marks.voice, onset=onset, length=length, marks=marks)

    def uneven(self, known: Sequence[BarMarks]) -> None:
        """Tells of bars longer or shorter than their metre that nothing explains."""
        for index, (bar, marks) in enumerate(zip(self.bars, known, strict=False)):
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

    def _explained(self, index: int, marks: BarMarks) -> bool:
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

    def _offset(self, length: Fraction, known: BarMarks) -> Fraction:
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


def _exact(length: Any) -> Fraction:
    """The parser's float or fraction as the fraction it stands for."""
    return Fraction(length).limit_denominator(65_535)


def _directions(facts: Extras, bars: Sequence[Bar], events: Sequence[Event]) -> tuple[Direction, ...]:
    """Signs at their times; one that a source nudged aside stands over the nearest note or rest of its bar."""
    onsets: dict[int, list[Fraction]] = {}
    for event in events:
        onsets.setdefault(event.bar, []).append(event.onset)
    made: list[Direction] = []
    for sign in facts.signs:
        place = bars[sign.bar].onset + sign.at
        onset = min(onsets[sign.bar], key=lambda onset: abs(onset - place))
        end = None
        if sign.end_bar is not None:
            end = max(onset, bars[sign.end_bar].onset + min(sign.end_at, bars[sign.end_bar].length))
        made.append(Direction(kind=sign.kind, text=sign.text, bar=sign.bar, onset=onset, end=end, fret=sign.fret))
    return tuple(made)
