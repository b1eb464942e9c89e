"""The music in words, for someone who cannot see the plate: bar by bar, note, string, fret, finger, stroke."""

from __future__ import annotations

from engrave.model import Event, Note
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
_FINGERS = {"p": "p", "i": "i", "m": "m", "a": "a"}
_MARKS = {"accent": "accented", "marcato": "strongly accented", "arpeggio": "spread"}


def in_words(score: IndexedScore, first: int, last: int) -> str:
    """Bars first to last in words. A length is said where it changes; several voices are told one after the other."""
    said: list[str] = []
    for index in range(first, last + 1):
        bar = score.passage.bars[index]
        before = score.passage.bars[index - 1] if index else None
        opening = f"Bar {bar.label[1:-1]} continued" if bar.label.startswith("(") else f"Bar {bar.label}"
        if before is None or before.metre != bar.metre:
            opening += f", {'+'.join(map(str, bar.metre.beats))}/{bar.metre.unit} time"
        if bar.repeat_start:
            opening += ", repeat starts"
        if bar.ending:
            opening += f", ending {bar.ending}"
        events = [e for e in score.events if e.bar == index and not e.space]
        voices = sorted({e.voice for e in events})
        lines: list[str] = []
        for voice in voices:
            line = _voice(score, [e for e in events if e.voice == voice])
            lines.append(f"voice {voice}: {line}" if score.several else line)
        closing = f"; repeat ends, {bar.repeat_end} times" if bar.repeat_end else ""
        said.append(f"{opening}: {'; '.join(lines)}{closing}.")
    return " ".join(said)


def _voice(score: IndexedScore, events: list[Event]) -> str:
    parts: list[str] = []
    length = ""
    for event in events:
        now = _length(event)
        parts.append((f"{now} " if now != length else "") + _event(score, event))
        length = now
    return ", ".join(parts)


def _length(event: Event) -> str:
    if event.grace:
        return "grace"
    if event.bar_rest:
        return "whole bar"
    dots = {0: "", 1: "dotted ", 2: "double dotted "}.get(event.value.dots, f"{event.value.dots} times dotted ")
    tuplets = "".join(f" in {t.actual}:{t.normal}" for t in event.tuplets)
    return f"{dots}{_KINDS[event.value.kind]}{tuplets}"


def _event(score: IndexedScore, event: Event) -> str:
    if not event.notes:
        return "rest"
    notes = " with ".join(_note(score, note) for note in event.notes)
    marks = [_MARKS.get(mark, mark) for mark in event.marks]
    return " ".join([notes, *marks])


def _note(score: IndexedScore, note: Note) -> str:
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
        letter = score.marks.little if note.stroke.finger == "c" else note.stroke.finger
        parts.append(letter + (" rest stroke" if note.stroke.kind == "rest" else ""))
    elif note.slurred_from:
        parts.append("slid" if note.slide else "slurred")
    return " ".join(parts)


def _spoken(note: Note) -> str:
    pitch = note.pitch
    signs = {-2: " double flat", -1: " flat", 0: "", 1: " sharp", 2: " double sharp"}
    return f"{pitch.step}{signs[pitch.alter]} {pitch.octave}"
