"""The music in words, for someone who cannot see it: bar, beat, note, string, fret, finger, letter, in that order.

What holds for all notes of a system is said once before them.
"""

from __future__ import annotations

from fractions import Fraction

from engrave.model import Bar, Event, Note, Tuplet
from engrave.model.errors import beat_text
from engrave.plates.score import IndexedScore

_KINDS = {
    0: "double whole",
    1: "whole",
    2: "half",
    4: "quarter",
    8: "eighth",
    16: "sixteenth",
    32: "thirty-second",
    64: "sixty-fourth",
    128: "hundred-and-twenty-eighth",
    256: "two-hundred-and-fifty-sixth",
}
_MARKS = {"accent": "accented", "marcato": "strongly accented", "arpeggio": "spread"}
_TUPLETS = {3: "triplet", 5: "quintuplet", 6: "sextuplet", 7: "septuplet"}


def in_words(score: IndexedScore, first: int, last: int) -> str:
    """Bars first to last in words. A length is said where it changes; several voices are told one after the other."""
    strokes = _strokes(score, first, last)
    same = len(strokes) == 1
    said = ["Rest stroke throughout."] if strokes == {"rest"} else []
    for index in range(first, last + 1):
        bar = score.passage.bars[index]
        events = [e for e in score.events if e.bar == index and not e.space]
        lines: list[str] = []
        for voice in sorted({e.voice for e in events}):
            line = _voice(score, bar, [e for e in events if e.voice == voice], strokes=not same)
            lines.append(f"voice {voice}: {line}" if score.several else line)
        closing = f"; repeat ends, {bar.repeat_end} times" if bar.repeat_end else ""
        said.append(f"{_opening(score, index)}: {'; '.join(lines)}{closing}.")
    return " ".join(said)


def _strokes(score: IndexedScore, first: int, last: int) -> set[str]:
    """The kinds of stroke there are."""
    return {n.stroke.kind for e in score.events if first <= e.bar <= last for n in e.notes if n.stroke}


def _opening(score: IndexedScore, index: int) -> str:
    bar = score.passage.bars[index]
    before = score.passage.bars[index - 1] if index else None
    opening = f"Bar {bar.label[1:-1]} continued" if bar.label.startswith("(") else f"Bar {bar.label}"
    if before is None or before.metre != bar.metre:
        opening += f", {'+'.join(map(str, bar.metre.beats))}/{bar.metre.unit} time"
    if bar.repeat_start:
        opening += ", repeat starts"
    if bar.ending:
        opening += f", ending {bar.ending}"
    return opening


def _voice(score: IndexedScore, bar: Bar, events: list[Event], *, strokes: bool) -> str:
    """The events of one voice in a bar, each beat named where its first event begins."""
    parts: list[str] = []
    length, beat = "", 0
    for event in events:
        now = _length(event)
        said = (f"{now} " if now != length else "") + _event(score, event, strokes=strokes)
        length = now
        where = 1 + (event.onset - bar.onset + bar.offset) / bar.metre.beat
        if not event.grace and not event.bar_rest and int(where) != beat:
            beat = int(where)
            said = f"beat {beat_text(Fraction(where))} {said}"
        parts.append(said)
    return ", ".join(parts)


def _length(event: Event) -> str:
    if event.grace:
        return "grace"
    if event.bar_rest:
        return "whole bar"
    dots = {0: "", 1: "dotted ", 2: "double dotted "}.get(event.value.dots, f"{event.value.dots} times dotted ")
    tuplets = "".join(f" {_tuplet(t)}" for t in event.tuplets)
    return f"{dots}{_KINDS[event.value.kind]}{tuplets}"


def _tuplet(tuplet: Tuplet) -> str:
    """A tuplet as musicians call it: triplet for three in the time of two; others say in the time of how many."""
    if tuplet.actual == 3 and tuplet.normal == 2:
        return _TUPLETS[3]
    name = _TUPLETS.get(tuplet.actual, f"group of {tuplet.actual}")
    return f"{name} in the time of {tuplet.normal}"


def _event(score: IndexedScore, event: Event, *, strokes: bool) -> str:
    if not event.notes:
        return "rest"
    notes = " with ".join(_note(score, note, strokes=strokes) for note in event.notes)
    marks = [_MARKS.get(mark, mark) for mark in event.marks]
    return " ".join([notes, *marks])


def _note(score: IndexedScore, note: Note, *, strokes: bool) -> str:
    if note.tied_back:
        return f"{_spoken(note)} held"
    parts = ["damped" if note.muted else _spoken(note)]
    place = note.placement
    if place is not None and place.fret == 0:
        parts.append(f"string {place.string} open")
    elif place is not None:
        parts.append(f"string {place.string} fret {place.fret} finger {place.finger}")
        if place.barre:
            parts.append(f"{place.barre} barre")
    if note.stroke is not None:
        parts.append(_letter(note.stroke.finger, score.marks.little))
        if strokes:
            parts.append(f"{note.stroke.kind} stroke")
    elif note.slurred_from:
        parts.append("slid" if note.slide else "slurred")
    return " ".join(parts)


def _letter(finger: str, little: str) -> str:
    """A letter so that it is not taken for a word: a voice reads a bare "a" as the article."""
    if finger == "a":
        return "ring finger a"
    return f"little finger {little}" if finger == "c" else finger


def _spoken(note: Note) -> str:
    pitch = note.pitch
    signs = {-2: " double flat", -1: " flat", 0: "", 1: " sharp", 2: " double sharp"}
    return f"{pitch.step}{signs[pitch.alter]} {pitch.octave}"
