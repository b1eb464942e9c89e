"""Writing a passage anew after its times have changed: bars, ties, beams' groups and tuplets.

A line is taken apart into runs of spans, one run a voice: a note with the notes it is tied to is one span. A setting
maps the times of all voices together, so that what sounds together stays together, or makes new spans of one voice;
then the spans are cut at the bar lines and written by engrave.model.time_spelling. The first written note of a span
keeps its id.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import chain, count, takewhile

from engrave.model import Bar, Direction, Event, Metre, Note, Passage, Value, replace_unchecked
from engrave.model.time_spelling import Piece, write
from engrave.textures.onsets import heads, remembered

TimeMap = Callable[[Fraction], Fraction]
"""old time → new time in quarters from the start; never falls"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """What one voice does for a stretch of time, however it will be written."""

    start: Fraction
    end: Fraction
    event: Event
    """the event it comes from: its marks, and its id"""
    notes: tuple[Note, ...] = ()
    """none for a rest"""
    graces: tuple[Event, ...] = ()
    """grace notes before it"""
    space: bool = False
    """a rest that is not printed"""


def spans(passage: Passage, voice: int) -> tuple[Span, ...]:
    """What a voice does, in order; where it is absent from a bar there is a gap."""
    return _spans(passage.events).get(voice, ())


@remembered
def _spans(events: tuple[Event, ...]) -> dict[int, tuple[Span, ...]]:
    """Voice → its spans; a change of rhythm asks for them three times."""
    rows: dict[int, list[Event]] = {}
    for event in events:
        rows.setdefault(event.voice, []).append(event)
    return {voice: _row(row) for voice, row in rows.items()}


def _row(events: list[Event]) -> tuple[Span, ...]:
    found: list[Span] = []
    graces: list[Event] = []
    for event in events:
        if event.grace:
            graces.append(event)
            continue
        before = found[-1] if found else None
        if before and not graces and _continues(before, event) and before.end == event.onset:
            found[-1] = replace_unchecked(before, end=event.end, notes=_joined(before.notes, event.notes))
        else:
            found.append(
                Span(
                    start=event.onset,
                    end=event.end,
                    event=event,
                    notes=event.notes,
                    graces=tuple(graces),
                    space=event.space,
                )
            )
        graces = []
    return tuple(found)


def _continues(before: Span, event: Event) -> bool:
    """Whether every note of an event is tied from the span before it, and the other way round."""
    # most notes are not tied at all
    return (
        bool(event.notes)
        and event.notes[0].tied_back
        and all(note.tied_back for note in event.notes)
        and all(note.tied_on for note in before.notes)
        and {note.pitch.midi for note in event.notes} == {note.pitch.midi for note in before.notes}
    )


def _joined(notes: tuple[Note, ...], others: tuple[Note, ...]) -> tuple[Note, ...]:
    later = {note.pitch.midi: note for note in others}
    return tuple([replace_unchecked(note, tied_on=later[note.pitch.midi].tied_on) for note in notes])


def rewritten(passage: Passage, voices: dict[int, tuple[Span, ...]], bars: tuple[Bar, ...], move: TimeMap) -> Passage:
    """`passage` with these spans in these bars; `move` carries its directions along.

    Raises ValueError where a span is shorter, or ends elsewhere, than can be written.
    """
    starts = [bar.onset for bar in bars]
    names = _Names(passage, voices)
    tuplets = 0
    ends = {voice: [span.end for span in row] for voice, row in voices.items()}
    events: list[Event] = []
    for voice in sorted(voices):
        for index, bar in enumerate(bars):
            here = _inside_bar(voices[voice], ends[voice], bar)
            if not here and (voice > min(voices) or any(_inside_bar(voices[v], ends[v], bar) for v in voices)):
                continue
            cut = [(max(s.start, bar.onset), min(s.end, bar.end), s) for s in here]
            full = _filled(cut, bar)
            lengths = tuple([((b - a).as_integer_ratio(), not (s and s.notes)) for a, b, s in full])
            at = bar.onset
            used = 0
            for (_, _, span), pieces in zip(full, _written(lengths, bar.metre, bar.offset), strict=True):
                for piece in pieces:
                    used = max([used, *[t.id for t in piece.tuplets]])
                    bare = Event(
                        id="",
                        bar=index,
                        voice=voice,
                        onset=at,
                        duration=piece.length,
                        value=piece.value,
                        tuplets=tuple([replace_unchecked(t, id=t.id + tuplets) for t in piece.tuplets]),
                    )
                    events += names.filled(bare, span)
                    at += piece.length
            tuplets += used
    events.sort(key=lambda e: (e.bar, e.onset, not e.grace, e.voice))
    moved = tuple(_moved(d, move, starts) for d in passage.directions if move(d.onset) < bars[-1].end)
    return names.reslurred(replace(passage, bars=bars, events=_whole_rests(events, bars), directions=moved))


@lru_cache(maxsize=512)
def _written(
    lengths: tuple[tuple[tuple[int, int], bool], ...], metre: Metre, offset: Fraction
) -> tuple[tuple[Piece, ...], ...]:
    """What `write` says of lengths as numerator and denominator, remembered: many bars of a line have the same rhythm.

    Two whole numbers are looked up in a sixth of the time that a fraction takes.
    """
    return write([(Fraction(*length), rest) for length, rest in lengths], metre, offset=offset)


def _inside_bar(row: tuple[Span, ...], ends: list[Fraction], bar: Bar) -> list[Span]:
    """The spans that sound in a bar; `ends` are those of the whole row."""
    return list(takewhile(lambda span: span.start < bar.end, row[bisect_right(ends, bar.onset) :]))


def fresh(taken: set[str], base: str, sign: str = ".") -> str:
    """An id beside those `taken`, and taken from now on: `base`, if need be with a sign and a number behind it."""
    ids = chain((base,), (f"{base}{sign}{number}" for number in count(2)))
    name = next(name for name in ids if name not in taken)
    taken.add(name)
    return name


class _Names:
    """Ids of what is written: the first piece of a span keeps its own, those tied to it get new ones."""

    def __init__(self, passage: Passage, voices: dict[int, tuple[Span, ...]]) -> None:
        self.taken = {e.id for e in passage.events} | {n.id for n in passage.notes} | {f"rest-{v}" for v in voices}
        self.taken |= {note.id for row in voices.values() for span in row for note in span.notes}
        self.used: set[str] = set()
        self.heads = heads(passage)
        self.last: dict[str, str] = {}

    def filled(self, bare: Event, span: Span | None) -> list[Event]:
        """One written piece of a span, `bare` so far, with its grace notes where it is the first."""
        if span is None:
            return [replace_unchecked(bare, id=fresh(self.taken, f"rest-{bare.voice}"), space=bare.voice > 1)]
        first, ends = span.start == bare.onset, bare.end == span.end
        name = span.event.id
        if name in self.used or not first:
            name = fresh(self.taken, name)
        self.used.add(name)
        notes = tuple([self._note(note, first=first, ends=ends) for note in span.notes])
        marks = tuple([m for m in span.event.marks if (ends if m == "fermata" else first)])
        graces = [replace_unchecked(g, bar=bare.bar, onset=bare.onset) for g in span.graces] if first else []
        return [*graces, replace_unchecked(bare, id=name, notes=notes, marks=marks, space=span.space)]

    def _note(self, note: Note, *, first: bool, ends: bool) -> Note:
        if first:
            self.last[note.id] = note.id
            return note if ends else replace_unchecked(note, tied_on=True)
        name = fresh(self.taken, note.id)
        self.last[note.id] = name
        return replace_unchecked(
            note,
            id=name,
            tied_back=True,
            tied_on=note.tied_on if ends else True,
            stroke=None,
            slurred_from="",
            slide=False,
        )

    def reslurred(self, passage: Passage) -> Passage:
        """Slurs out of a note that is written in pieces start from its last one."""

        def now(name: str) -> str:
            head = self.heads.get(name, name)
            return self.last.get(head, head)

        def renamed(note: Note) -> Note:
            return replace_unchecked(note, slurred_from=now(note.slurred_from)) if note.slurred_from else note

        present = {note.id for note in passage.notes}
        events = tuple(
            replace_unchecked(e, notes=tuple([renamed(n) for n in e.notes]))
            if any(n.slurred_from for n in e.notes)
            else e
            for e in passage.events
        )
        curves = (replace(s, start=self.heads.get(s.start, s.start), stop=now(s.stop)) for s in passage.slurs)
        slurs = tuple(s for s in curves if s.start in present and s.stop in present)
        return replace_unchecked(passage, events=events, slurs=slurs)


def _filled(cut: list[tuple[Fraction, Fraction, Span]], bar: Bar) -> list[tuple[Fraction, Fraction, Span | None]]:
    """The spans of one bar with what is missing between them, before and after, as rests."""
    made: list[tuple[Fraction, Fraction, Span | None]] = []
    at = bar.onset
    for start, end, span in cut:
        made += _rests(at, start, bar)
        made.append((start, end, span))
        at = end
    return [*made, *_rests(at, bar.end, bar)]


def _rests(start: Fraction, end: Fraction, bar: Bar) -> list[tuple[Fraction, Fraction, Span | None]]:
    """What is missing from `start` to `end`; a beat begun is completed first, so that a tuplet closes there."""
    if start >= end:
        return []
    beat = bar.metre.beat
    cut = bar.onset - bar.offset + -(-(start - bar.onset + bar.offset) // beat) * beat
    return [(start, cut, None), (cut, end, None)] if start < cut < end else [(start, end, None)]


def _whole_rests(events: list[Event], bars: tuple[Bar, ...]) -> tuple[Event, ...]:
    """The events, but a bar in which a voice only rests gets one rest for the whole bar, as is usual."""
    rows: dict[tuple[int, int], list[Event]] = {}
    for event in events:
        rows.setdefault((event.bar, event.voice), []).append(event)
    drop: set[str] = set()
    swap: dict[str, Event] = {}
    for (index, _), row in rows.items():
        bar = bars[index]
        if any(e.notes or e.space or e.grace for e in row) or bar.length != bar.metre.length:
            continue
        swap[row[0].id] = replace(row[0], duration=bar.length, value=Value(kind=1), tuplets=(), bar_rest=True)
        drop |= {e.id for e in row[1:]}
    return tuple(swap.get(e.id, e) for e in events if e.id not in drop)


def _moved(direction: Direction, move: TimeMap, starts: list[Fraction]) -> Direction:
    onset = move(direction.onset)
    end = None if direction.end is None else move(direction.end)
    return replace(direction, bar=max(0, bisect_right(starts, onset) - 1), onset=onset, end=end)
