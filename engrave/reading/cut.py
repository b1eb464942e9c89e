"""Bars and voices of a finished Passage, and the loose ends a cut leaves.

Rules: a note tied into the cut is struck anew, one tied out of it ends with it, and a notice says so; a slur with one
end outside is dropped; a repeat or an ending of which the cut holds only a piece is dropped; chosen voices are numbered
anew from 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from engrave.model import Bar, Event, Fault, Note, Notice, Passage, Place, ReadError, Value
from engrave.model.errors import one_line
from engrave.model.said import say
from engrave.reading.bar_numbers import bar_range, span
from engrave.reading.tally import Tally, bar_list

REPEATS = say("repeats are kept as printed, not played out")


def voices_left_out(names: Sequence[str]) -> Notice:
    """Tells that some voices are not read."""
    return Notice(text=say("left out: voice {voices}", voices=", ".join(names)))


def hold_to_voices(wanted: Sequence[str], known: Sequence[str], name: str) -> None:
    """Raise ReadError for each voice wanted that is not known to have notes."""
    hint = f"voices with notes here: {', '.join(known) or 'none'}"
    facts = [f"voice {one_line(voice, 30)!r} has no notes here" for voice in wanted if voice not in known]
    if facts:
        raise ReadError(*(Fault(fact=fact, hint=hint, place=Place(file=name)) for fact in dict.fromkeys(facts)))


def cut(passage: Passage, *, voice: str = "", bars: str = "") -> Passage:
    """A passage cut to voices (numbers with commas) and bars (as printed); empty takes all. Loose ends are tied off.

    Raises:
        ReadError: voices or bars that are not there, or nothing but rests in what is left.
    """
    if voice.strip():
        passage = _voices(passage, voice)
    start = 0
    if bars.strip():
        start, stop = bar_range([bar.label for bar in passage.bars], bars, passage.source)
        said = span(passage.bars[start].label, passage.bars[stop].label)
        passage = replace(_bars(passage, start, stop), cut=said)
    if not any(event.notes for event in passage.events):
        where = f"bars {one_line(bars, 40)}" if bars.strip() else "the piece"
        raise ReadError.at(passage.source, f"there is no note in {where}")
    return without_loose_ends(passage, whole_start=start == 0)


def _voices(passage: Passage, asked: str) -> Passage:
    known = [str(v) for v in passage.voices if any(e.voice == v and e.notes for e in passage.events)]
    wanted = list(dict.fromkeys(part.strip() for part in asked.split(",") if part.strip()))
    hold_to_voices(wanted, known, passage.source)
    numbers = {int(part): number for number, part in enumerate(sorted(wanted, key=int), start=1)}
    kept = [replace(event, voice=numbers[event.voice]) for event in passage.events if event.voice in numbers]
    filled = {event.bar for event in kept}
    kept += [_bar_rest(bar, index) for index, bar in enumerate(passage.bars) if index not in filled]
    kept.sort(key=lambda event: event.bar)
    left = [part for part in known if part not in wanted]
    said = (voices_left_out(left),) if left else ()
    return replace(passage, events=tuple(kept), notices=passage.notices + said)


def _bar_rest(bar: Bar, index: int) -> Event:
    return Event(
        id=f"rest{index}", bar=index, voice=1, onset=bar.onset, duration=bar.length, value=Value(kind=1), bar_rest=True
    )


def _bars(passage: Passage, start: int, stop: int) -> Passage:
    zero, end = passage.bars[start].onset, passage.bars[stop].end
    inside = range(start, stop + 1)
    return replace(
        passage,
        bars=tuple(replace(bar, onset=bar.onset - zero) for bar in passage.bars[start : stop + 1]),
        events=tuple(replace(e, bar=e.bar - start, onset=e.onset - zero) for e in passage.events if e.bar in inside),
        directions=tuple(
            replace(d, bar=d.bar - start, onset=d.onset - zero, end=None if d.end is None else min(d.end, end) - zero)
            for d in passage.directions
            if d.bar in inside
        ),
    )


def without_loose_ends(passage: Passage, *, whole_start: bool) -> Passage:
    """A passage without ties, slurs, repeats and endings that lead nowhere.

    `whole_start` says that the passage begins where the piece does, so that a repeat may lead back to its start.
    """
    tally = Tally()
    events = _tied(passage, tally)
    heads = {note.id for note in passage.notes}
    slurs = tuple(slur for slur in passage.slurs if slur.start in heads and slur.stop in heads)
    for _ in range(len(passage.slurs) - len(slurs)):
        tally.add(say("left out: slurs that lead out of the passage"), "")
    bars = passage.bars if not passage.cut else _repeats(passage.bars, tally, whole_start=whole_start)
    notices = tuple(notice for notice in passage.notices if notice.text != REPEATS)
    repeated = [bar.label for bar in bars if bar.repeat_start or bar.repeat_end or bar.ending]
    if repeated:
        notices += (Notice(text=REPEATS),)
    return replace(passage, bars=bars, events=events, slurs=slurs, notices=(*notices, *tally.notices()))


def _tied(passage: Passage, tally: Tally) -> tuple[Event, ...]:
    """The events, with ties only where both ends are there."""
    leaving: dict[Fraction, set[int]] = {}
    arriving: dict[Fraction, set[int]] = {}
    for event in passage.events:
        for note in event.notes:
            if note.tied_on:
                leaving.setdefault(event.end, set()).add(note.pitch.midi)
            if note.tied_back:
                arriving.setdefault(event.onset, set()).add(note.pitch.midi)

    def tie_off(note: Note, event: Event) -> Note:
        back = note.tied_back and note.pitch.midi in leaving.get(event.onset, ())
        on = note.tied_on and note.pitch.midi in arriving.get(event.end, ())
        label = passage.bars[event.bar].label
        if note.tied_back and not back:
            tally.add(say("a note is tied to what is not before it; it is struck here"), label)
        if note.tied_on and not on:
            tally.add(say("a note is tied to what does not follow; it ends with its value"), label)
        return note if (back, on) == (note.tied_back, note.tied_on) else replace(note, tied_back=back, tied_on=on)

    tied_off = ((event, tuple(tie_off(note, event) for note in event.notes)) for event in passage.events)
    return tuple(event if notes == event.notes else replace(event, notes=notes) for event, notes in tied_off)


def _repeats(bars: Sequence[Bar], tally: Tally, *, whole_start: bool) -> tuple[Bar, ...]:
    """The bars of a cut, without repeats and endings of which only a piece is there."""
    opened: int | None = 0 if whole_start else None
    starts: set[int] = set()
    stops: set[int] = set()
    for index, bar in enumerate(bars):
        opened = index if bar.repeat_start else opened
        if bar.repeat_end and opened is not None:
            starts.add(opened)
            stops.add(index)
            opened = opened if bar.ending else index + 1
    labels = {bar.ending for bar in bars if bar.ending}
    kept = labels if stops and len(labels) > 1 else set()
    made = [
        replace(
            bar,
            repeat_start=bar.repeat_start and index in starts,
            repeat_end=bar.repeat_end if index in stops else 0,
            ending=bar.ending if bar.ending in kept else "",
        )
        for index, bar in enumerate(bars)
    ]
    lost = [old.label for old, new in zip(bars, made, strict=True) if old != new]
    if lost:
        tally.add(
            say("left out: repeats and endings of which the cut holds only a piece: {bars}", bars=bar_list(lost)), ""
        )
    return tuple(made)
