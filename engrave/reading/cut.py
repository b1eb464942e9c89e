"""Bars and voices of a finished Passage, and the loose ends a cut leaves.

Rules: a note tied into the cut is struck anew, one tied out of it ends with it, and a notice says so; a slur with one end
outside is dropped; a chosen voice becomes the first.
"""

from __future__ import annotations

from dataclasses import replace

from engrave.model import Event, Fault, Notice, Passage, Place, ReadError, Value
from engrave.model.errors import one_line
from engrave.reading.bars import bar_range
from engrave.reading.tally import bar_list


def cut(passage: Passage, *, voice: str = "", bars: str = "") -> Passage:
    """A passage cut to `voice` (its number) and `bars` (as printed). Empty takes all."""
    if voice.strip():
        passage = _voice(passage, voice.strip())
    if bars.strip():
        start, stop = bar_range([bar.label for bar in passage.bars], bars, passage.source)
        passage = _bars(passage, start, stop)
        passage = replace(passage, cut=bars.strip())
    if not any(event.notes for event in passage.events):
        where = f"bars {bars.strip()}" if bars.strip() else "the piece"
        raise ReadError(Fault(fact=f"there is no note in {where}", place=Place(file=passage.source)))
    return mended(passage)


def _voice(passage: Passage, asked: str) -> Passage:
    known = [str(v) for v in passage.voices if any(e.voice == v and e.notes for e in passage.events)]
    wanted = [part.strip() for part in asked.split(",") if part.strip()]
    missing = [part for part in wanted if part not in known]
    if missing:
        hint = f"voices with notes: {', '.join(known) or 'none'}"
        facts = [f"voice {one_line(part, 30)!r} has no notes here" for part in missing]
        raise ReadError(*(Fault(fact=fact, hint=hint, place=Place(file=passage.source)) for fact in facts))
    numbers = {int(part): place for place, part in enumerate(wanted, start=1)}
    left = [part for part in known if part not in wanted]
    kept = [replace(event, voice=numbers[event.voice]) for event in passage.events if event.voice in numbers]
    kept += [
        Event(id=f"r{i}", bar=i, voice=1, onset=bar.onset, duration=bar.length, value=Value(kind=1), bar_rest=True)
        for i, bar in enumerate(passage.bars)
        if not any(event.bar == i for event in kept)
    ]
    kept.sort(key=lambda e: (e.bar, e.onset, not e.grace, e.voice))
    notices = passage.notices
    if left:
        notices += (Notice(text=f"left out: voice {', '.join(left)}"),)
    return replace(passage, events=tuple(kept), notices=notices)


def _bars(passage: Passage, start: int, stop: int) -> Passage:
    zero = passage.bars[start].onset
    end = passage.bars[stop].end
    kept = tuple(replace(bar, onset=bar.onset - zero) for bar in passage.bars[start : stop + 1])
    events = tuple(
        replace(event, bar=event.bar - start, onset=event.onset - zero)
        for event in passage.events
        if start <= event.bar <= stop
    )
    directions = tuple(
        replace(
            found,
            bar=found.bar - start,
            onset=found.onset - zero,
            end=min(found.end, end) - zero if found.end is not None else None,
        )
        for found in passage.directions
        if start <= found.bar <= stop
    )
    return replace(passage, bars=kept, events=events, directions=directions)


def mended(passage: Passage) -> Passage:
    """A passage without ties and slurs that lead nowhere."""
    notices: list[Notice] = []
    arriving: dict[object, set[int]] = {}
    leaving: dict[object, set[int]] = {}
    for event in passage.events:
        for note in event.notes:
            if note.tied_on:
                leaving.setdefault(event.end, set()).add(note.pitch.midi)
            if note.tied_back:
                arriving.setdefault(event.onset, set()).add(note.pitch.midi)
    loose: dict[str, list[str]] = {}
    events: list[Event] = []
    for event in passage.events:
        notes = []
        for note in event.notes:
            back = note.tied_back and note.pitch.midi in leaving.get(event.onset, ())
            on = note.tied_on and note.pitch.midi in arriving.get(event.end, ())
            label = passage.bars[event.bar].label
            if note.tied_back and not back:
                loose.setdefault("a note is tied from outside; it is struck here", []).append(label)
            if note.tied_on and not on:
                loose.setdefault("a note is tied to what is not there; it ends with its value", []).append(label)
            notes.append(
                note if (back, on) == (note.tied_back, note.tied_on) else replace(note, tied_back=back, tied_on=on)
            )
        events.append(replace(event, notes=tuple(notes)) if notes else event)
    notices += [Notice(text=f"{text} ({bar_list(labels)})") for text, labels in loose.items()]
    heads = {note.id for note in passage.notes}
    slurs = tuple(slur for slur in passage.slurs if slur.start in heads and slur.stop in heads)
    if len(slurs) < len(passage.slurs):
        notices.append(Notice(text=f"left out: {len(passage.slurs) - len(slurs)} slurs that lead out of the passage"))
    return replace(passage, events=tuple(events), slurs=slurs, notices=(*passage.notices, *notices))
