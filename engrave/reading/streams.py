"""A score of the parser (music21) becomes a Passage.

Rules: pitches are taken as they sound in the score; the parts of the score become voices, in order; a voice that leaves a
gap is filled with spaces; a bar is as long as its longest voice where it is the first, marked as incomplete or broken by
a repeat, and also where it holds too much or too little, which a notice then says. Lengths that no single value can
write are tied together. Marks come from `extras` where the caller has them, else from the score.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from engrave.model import (
    Bar,
    Direction,
    Event,
    Fault,
    Key,
    Metre,
    Note,
    Notice,
    Passage,
    Pitch,
    Place,
    ReadError,
    Slur,
    Tuplet,
    Value,
)
from engrave.reading.extras import BarMarks, EventMarks, Extras, HeadMarks
from engrave.reading.streammarks import bar_marks, event_marks, head_marks, stream_slurs
from engrave.reading.values import brackets, written

_KINDS = {
    "breve": 0,
    "whole": 1,
    "half": 2,
    "quarter": 4,
    "eighth": 8,
    "16th": 16,
    "32nd": 32,
    "64th": 64,
    "128th": 128,
    "256th": 256,
}
_WHOLE = Value(kind=1)


def passage_from_score(score: Any, name: str, *, extras: Extras | None = None) -> Passage:
    """The Passage a music21 score holds.

    Args:
        score: a music21 Score (its parts become voices, the first uppermost) or Part, with pitches as they sound.
        name: the file's name, for messages and `Passage.source`.
        extras: what is known beside the score; None: marks, bar numbers and bar lines come from the score itself.

    Raises:
        ReadError: where something cannot be written as notes; every fault of the score is in it.
    """
    return _Reading(score, name, extras).passage()


@dataclass(slots=True)
class _Raw:
    """One chord, note or rest of the parser with its place."""

    element: Any
    voice: int
    onset: Fraction
    """in the bar"""
    length: Fraction
    marks: EventMarks


class _Reading:
    """One conversion: the state that runs from bar to bar."""

    def __init__(self, score: Any, name: str, extras: Extras | None) -> None:
        self.parts: list[Any] = list(getattr(score, "parts", ())) or [score]
        self.name = name
        self.given = extras
        self.extras = extras or Extras()
        self.faults: list[Fault] = []
        self.notices: list[Notice] = list(self.extras.notices)
        self.metre = Metre(beats=(4,), unit=4)
        self.key = Key()
        self.bars: list[Bar] = []
        self.events: list[Event] = []
        self.counter = 0
        self.tuplets = 0
        self.ids: dict[int, str] = {}
        self.short: Fraction | None = None
        self.filled: list[str] = []

    def passage(self) -> Passage:
        """The whole conversion."""
        columns = [list(part.getElementsByClass("Measure")) for part in self.parts]
        count = max((len(column) for column in columns), default=0)
        if not count:
            raise ReadError(Fault(fact="there is no bar with notes in it", place=Place(file=self.name)))
        known = self.extras.bars or bar_marks(self.parts, count)
        onset = Fraction(0)
        for index in range(count):
            row = [column[index] for column in columns if index < len(column)]
            onset = self._bar(row, index, known[index], onset, last=index == count - 1)
        if self.faults:
            raise ReadError(*self.faults)
        if self.filled:
            text = "a voice stops before its bar ends; filled with a rest that is not printed: bars "
            self.notices.append(Notice(text=text + ", ".join(dict.fromkeys(self.filled))))
        slurs: tuple[Slur, ...] = self.extras.slurs if self.given else stream_slurs(self.parts, self.ids)
        heads = {note.id for event in self.events for note in event.notes}
        return Passage(
            title=self.extras.title,
            composer=self.extras.composer,
            rights=self.extras.rights,
            source=self.name,
            part=self.extras.part,
            tempo=self.extras.tempo,
            tuning=self.extras.tuning,
            capo=self.extras.capo,
            bars=tuple(self.bars),
            events=tuple(self.events),
            slurs=tuple(slur for slur in slurs if slur.start in heads and slur.stop in heads),
            directions=self._directions(),
            notices=tuple(self.notices),
        )

    # one bar

    def _bar(self, row: Sequence[Any], index: int, known: BarMarks, onset: Fraction, *, last: bool) -> Fraction:
        for measure in row[:1]:
            self._signatures(measure, known)
        raws = self._raws(row, known)
        full = self.metre.length
        solid = [raw for raw in raws if not raw.marks.bar_rest]
        ends = [raw.onset + raw.length for raw in solid]
        longest = max(ends, default=Fraction(0))
        length = self._length(longest, full, known, bool(solid), last=last)
        offset = self._offset(length, full, known)
        bar = Bar(
            label=known.label,
            onset=onset,
            length=length,
            metre=self.metre,
            key=self.key,
            offset=offset,
            repeat_start=known.repeat_start,
            repeat_end=known.repeat_end,
            ending=known.ending,
            barline=known.barline,
        )
        self.bars.append(bar)
        made: list[Event] = []
        for voice in sorted({raw.voice for raw in raws}):
            made += self._voice([raw for raw in raws if raw.voice == voice], bar, index)
        if not made:
            made = [self._bar_rest(bar, index, 1)]
        order = {id(event): place for place, event in enumerate(made)}
        self.events += sorted(made, key=lambda e: (e.onset, not e.grace, e.voice, order[id(e)]))
        return bar.end

    def _signatures(self, measure: Any, known: BarMarks) -> None:
        for found in measure.recurse().getElementsByClass("TimeSignature"):
            if Fraction(found.offset) == 0:
                self._set_metre(found, known)
        for found in measure.recurse().getElementsByClass("KeySignature"):
            if Fraction(found.offset) != 0:
                self._say("the key changes inside the bar; printed from the next bar on", known)
            if not -7 <= found.sharps <= 7:
                self._fault(f"a key signature of {found.sharps} fifths is outside -7 to 7", known)
                continue
            mode = getattr(found, "mode", "") or ""
            self.key = Key(fifths=found.sharps, mode=mode if mode in ("major", "minor") else "")

    def _set_metre(self, found: Any, known: BarMarks) -> None:
        if "SenzaMisura" in type(found).__name__:
            return
        parts = [(int(top), int(unit)) for top, unit in (text.split("/") for text in found.ratioString.split("+"))]
        unit = max(unit for _, unit in parts)
        beats = tuple(top * unit // below for top, below in parts)
        sign = found.symbol if found.symbol in ("common", "cut") else ""
        try:
            self.metre = Metre(beats=beats, unit=unit, sign=sign)
        except ValueError:
            self._fault(
                f"a metre of {found.ratioString} cannot be printed", known, "lower figures are 1 2 4 8 16 32 64"
            )

    def _raws(self, row: Sequence[Any], known: BarMarks) -> list[_Raw]:
        raws: list[_Raw] = []
        lanes = 0
        for measure in row:
            streams = [measure, *measure.voices]
            for stream in streams:
                found = list(stream.notesAndRests)
                if not found:
                    continue
                lanes += 1
                for element in found:
                    raws.append(self._raw(element, stream, measure, lanes, known))
        return raws

    def _raw(self, element: Any, stream: Any, measure: Any, lane: int, known: BarMarks) -> _Raw:
        start = Fraction(element.offset) + (Fraction(stream.offset) if stream is not measure else 0)
        first = element.notes[0] if getattr(element, "isChord", False) else element
        marks = self.extras.events.get(self._tag(first)) if self.given else event_marks(element, lane)
        length = Fraction(0) if element.duration.isGrace else _exact(Fraction(element.duration.quarterLength))
        del known
        return _Raw(element, marks.voice if marks else lane, _exact(start), length, marks or EventMarks(voice=lane))

    @staticmethod
    def _tag(head: Any) -> str:
        return str(head.style.color or "") if head.hasStyleInformation else ""

    def _length(self, longest: Fraction, full: Fraction, known: BarMarks, solid: bool, *, last: bool) -> Fraction:
        if not solid or longest == full or longest == 0:
            return full
        if longest > full:
            if not known.unmetred:
                text = (
                    f"holds {_quarters(longest)} quarters where {self.metre} has {_quarters(full)}; read as it stands"
                )
                self._say(text, known)
            return longest
        broken = (
            known.first
            or known.implicit
            or last
            or self.short is not None
            or known.repeat_end
            or known.repeat_start
            or known.barline != "single"
            or known.ending
            or (self.bars and (self.bars[-1].repeat_end or self.bars[-1].barline not in ("single", "dashed")))
        )
        if not broken and not known.unmetred:
            text = f"holds {_quarters(longest)} quarters where {self.metre} has {_quarters(full)}; read as it stands"
            self._say(text, known)
        return longest

    def _offset(self, length: Fraction, full: Fraction, known: BarMarks) -> Fraction:
        """Where in the metre a bar starts: a pickup at its end, the second half of a broken bar after the first."""
        before, self.short = self.short, None
        if length >= full:
            return Fraction(0)
        if known.first:
            return full - length
        if before is not None and before + length <= full:
            self.short = before + length if before + length < full else None
            return before
        starts_section = self.bars and (self.bars[-1].repeat_end or self.bars[-1].barline in ("double", "final"))
        if starts_section:
            return full - length
        self.short = length
        return Fraction(0)

    # one voice of a bar

    def _voice(self, raws: list[_Raw], bar: Bar, index: int) -> list[Event]:
        raws = sorted(raws, key=lambda raw: (raw.onset, raw.length > 0))
        voice = raws[0].voice
        if len(raws) == 1 and raws[0].marks.bar_rest:
            return [self._bar_rest(bar, index, voice, space=raws[0].marks.space)]
        here = Fraction(0)
        events: list[Event] = []
        ids = self._brackets(raws)
        for raw, tuplets in zip(raws, ids, strict=True):
            if raw.onset > here:
                events += self._spaces(raw.onset - here, bar, index, voice, here)
                here = raw.onset
            made = self._events(raw, tuplets, bar, index, here)
            events += made
            here = max((e.end for e in made), default=bar.onset + here) - bar.onset
        if here < bar.length:
            if voice == 1 or all(raw.marks.space for raw in raws[-1:]):
                pass
            self.filled.append(bar.label)
            events += self._spaces(bar.length - here, bar, index, voice, here)
        return events

    def _brackets(self, raws: list[_Raw]) -> list[tuple[Tuplet, ...]]:
        """The tuplets over each note, with one id a bracket: as the score marks them, else by counting."""
        chains = [[] if raw.length == 0 else _ratios(raw.element) for raw in raws]
        flagged = any(t.type for raw in raws for t in raw.element.duration.tuplets)
        counted: list[bool] = []
        if not flagged:
            run = [
                (raw.length, _value_quarters(raw), chain[0] if chain else (1, 1), _beamed(raw.element))
                for raw, chain in zip(raws, chains, strict=True)
                if raw.length
            ]
            counted = brackets(run)
        opened: list[Tuplet] = []
        closing: list[bool] = []
        out: list[tuple[Tuplet, ...]] = []
        turn = iter(counted)
        for raw, chain in zip(raws, chains, strict=True):
            if raw.length == 0:
                out.append(())
                continue
            fresh = next(turn) if not flagged else False
            marks = [t.type for t in raw.element.duration.tuplets]
            keep = 0
            while keep < min(len(chain), len(opened)):
                same = (opened[keep].actual, opened[keep].normal) == chain[keep]
                if closing[keep] or not same or fresh or marks[keep] in ("start", "startStop"):
                    break
                keep += 1
            del opened[keep:], closing[keep:]
            for actual, normal in chain[keep:]:
                self.tuplets += 1
                opened.append(Tuplet(id=self.tuplets, actual=actual, normal=normal))
                closing.append(False)
            for depth, kind in enumerate(marks[: len(opened)]):
                closing[depth] = kind in ("stop", "startStop")
            out.append(tuple(opened))
        return out

    def _events(self, raw: _Raw, tuplets: tuple[Tuplet, ...], bar: Bar, index: int, here: Fraction) -> list[Event]:
        element = raw.element
        grace = bool(element.duration.isGrace)
        value = _value(element)
        pieces: list[tuple[Value, tuple[Tuplet, ...]]]
        if grace:
            pieces = [(value or Value(kind=8), ())]
        elif value is not None and _notated(value, tuplets) == raw.length:
            pieces = [(value, tuplets)]
        else:
            cut = written(raw.length)
            if cut is None:
                self._fault(
                    f"a length of {raw.length} quarters cannot be written as notes", _label(bar), "check <duration>"
                )
                return []
            values, ratio = cut
            if ratio == (1, 1):
                pieces = [(v, ()) for v in values]
            else:
                self.tuplets += 1
                bracket = Tuplet(id=self.tuplets, actual=ratio[0], normal=ratio[1])
                pieces = [(v, (bracket,)) for v in values]
        events: list[Event] = []
        onset = bar.onset + here
        for number, (piece, over) in enumerate(pieces):
            notes = self._notes(raw, bar, first=number == 0, last=number == len(pieces) - 1, piece=number)
            made = Event(
                id=self._name("e"),
                bar=index,
                voice=raw.voice,
                onset=onset,
                duration=Fraction(0) if grace else _notated(piece, over),
                value=piece,
                tuplets=over,
                notes=notes,
                grace=grace,
                slash=raw.marks.slash and grace,
                space=raw.marks.space and not notes,
                marks=raw.marks.marks if number == 0 else (),
            )
            onset = made.end
            events.append(made)
        return events

    def _notes(self, raw: _Raw, bar: Bar, *, first: bool, last: bool, piece: int) -> tuple[Note, ...]:
        element = raw.element
        if element.isRest:
            return ()
        heads = list(element.notes) if element.isChord else [element]
        notes: list[Note] = []
        for head in heads:
            pitch = self._pitch(head, bar)
            if pitch is None:
                continue
            tag = self._tag(head) if self.given else self.ids.get(id(head)) or self._name("n")
            self.ids[id(head)] = tag
            marks = self.extras.heads.get(tag, HeadMarks()) if self.given else head_marks(head, element)
            tie = (head.tie or element.tie) if element.isChord else head.tie
            kind = tie.type if tie else ""
            notes.append(
                Note(
                    id=tag if piece == 0 else f"{tag}.{piece + 1}",
                    pitch=pitch,
                    tied_back=not first or kind in ("stop", "continue"),
                    tied_on=not last or kind in ("start", "continue"),
                    muted=marks.muted,
                    given=marks.given,
                )
            )
        return tuple(sorted(notes, key=lambda note: note.pitch.midi))

    def _pitch(self, head: Any, bar: Bar) -> Pitch | None:
        if not hasattr(head, "pitch"):
            self._fault("a note has no pitch (percussion)", _label(bar), "choose a part with pitches")
            return None
        found = head.pitch
        alter = found.accidental.alter if found.accidental else 0
        if alter != int(alter):
            self._fault(f"{found} is a quarter tone, which no fret plays", _label(bar))
            return None
        if not -2 <= alter <= 2:
            found = found.simplifyEnharmonic()
            alter = found.accidental.alter if found.accidental else 0
        pitch = Pitch(step=found.step, alter=int(alter), octave=int(found.implicitOctave))
        if not 0 <= pitch.midi <= 127:
            self._fault(f"the pitch {pitch} is outside what MIDI counts (0 to 127)", _label(bar))
            return None
        return pitch

    # spaces, rests, names

    def _spaces(self, length: Fraction, bar: Bar, index: int, voice: int, here: Fraction) -> list[Event]:
        cut = written(length)
        if cut is None:
            self._fault(f"a gap of {length} quarters cannot be written as rests", _label(bar))
            return []
        values, ratio = cut
        over: tuple[Tuplet, ...] = ()
        if ratio != (1, 1):
            self.tuplets += 1
            over = (Tuplet(id=self.tuplets, actual=ratio[0], normal=ratio[1]),)
        events: list[Event] = []
        onset = bar.onset + here
        for value in values:
            made = Event(
                id=self._name("e"),
                bar=index,
                voice=voice,
                onset=onset,
                duration=_notated(value, over),
                value=value,
                tuplets=over,
                space=True,
            )
            onset = made.end
            events.append(made)
        return events

    def _bar_rest(self, bar: Bar, index: int, voice: int, *, space: bool = False) -> Event:
        return Event(
            id=self._name("e"),
            bar=index,
            voice=voice,
            onset=bar.onset,
            duration=bar.length,
            value=_WHOLE,
            bar_rest=True,
            space=space,
        )

    def _directions(self) -> tuple[Direction, ...]:
        made: list[Direction] = []
        for sign in self.extras.signs:
            bar = self.bars[sign.bar]
            end = None
            if sign.end_bar is not None:
                last = self.bars[sign.end_bar]
                end = last.onset + min(sign.end_at, last.length)
            start = bar.onset + min(sign.at, bar.length)
            made.append(Direction(kind=sign.kind, text=sign.text, bar=sign.bar, onset=start, end=end, fret=sign.fret))
        return tuple(made)

    def _name(self, letter: str) -> str:
        self.counter += 1
        return f"{letter}{self.counter}"

    def _fault(self, fact: str, known: BarMarks, hint: str = "") -> None:
        self.faults.append(Fault(fact=fact, hint=hint, place=Place(file=self.name, bar=known.label)))

    def _say(self, text: str, known: BarMarks) -> None:
        self.notices.append(Notice(text=text, place=Place(bar=known.label)))


def _label(bar: Bar) -> BarMarks:
    return BarMarks(label=bar.label)


def _exact(length: Fraction) -> Fraction:
    """The parser's float or fraction as the fraction it stands for."""
    return length.limit_denominator(65_535)


def _quarters(length: Fraction) -> str:
    return str(length) if length.denominator != 1 else str(length.numerator)


def _value(element: Any) -> Value | None:
    kind = _KINDS.get(element.duration.type)
    dots = int(element.duration.dots)
    return Value(kind=kind, dots=dots) if kind is not None and dots <= 4 else None


def _value_quarters(raw: _Raw) -> Fraction:
    value = _value(raw.element)
    return value.quarters if value else raw.length


def _ratios(element: Any) -> list[tuple[int, int]]:
    return [(int(t.numberNotesActual), int(t.numberNotesNormal)) for t in element.duration.tuplets]


def _beamed(element: Any) -> bool:
    beams = getattr(element, "beams", None)
    return any(b.number == 1 and b.type in ("start", "continue") for b in beams) if beams else False


def _notated(value: Value, tuplets: tuple[Tuplet, ...]) -> Fraction:
    length = value.quarters
    for t in tuplets:
        length *= Fraction(t.normal, t.actual)
    return length
