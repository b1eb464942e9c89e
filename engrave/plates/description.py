"""The music in words, for someone who cannot see it: bar, beat, note, string, fret, finger, letter, in that order.

What holds for all notes of a system is said once before them.
"""

from __future__ import annotations

from functools import lru_cache

from engrave.model import Bar, Event, Note, Pitch, Placement, Value
from engrave.model.errors import beat_text
from engrave.model.said import say, strung
from engrave.plates.score import IndexedScore

_KINDS = {
    0: say("double whole"),
    1: say("whole"),
    2: say("half"),
    4: say("quarter"),
    8: say("eighth"),
    16: say("sixteenth"),
    32: say("thirty-second"),
    64: say("sixty-fourth"),
    128: say("hundred-and-twenty-eighth"),
    256: say("two-hundred-and-fifty-sixth"),
}
_MARKS = {"accent": say("accented"), "marcato": say("strongly accented"), "arpeggio": say("spread")}
_BARRES = {"full": say("full barre"), "half": say("half barre"), "hinge": say("hinge barre")}
_STROKES = {"free": say("free stroke"), "rest": say("rest stroke")}
_TUPLETS = {3: say("triplet"), 5: say("quintuplet"), 6: say("sextuplet"), 7: say("septuplet")}
# for the translator: names of notes, as they are read aloud; the number of the octave follows
_NOTES = {
    ("C", -2): say("C double flat"),
    ("C", -1): say("C flat"),
    ("C", 0): say("C"),
    ("C", 1): say("C sharp"),
    ("C", 2): say("C double sharp"),
    ("D", -2): say("D double flat"),
    ("D", -1): say("D flat"),
    ("D", 0): say("D"),
    ("D", 1): say("D sharp"),
    ("D", 2): say("D double sharp"),
    ("E", -2): say("E double flat"),
    ("E", -1): say("E flat"),
    ("E", 0): say("E"),
    ("E", 1): say("E sharp"),
    ("E", 2): say("E double sharp"),
    ("F", -2): say("F double flat"),
    ("F", -1): say("F flat"),
    ("F", 0): say("F"),
    ("F", 1): say("F sharp"),
    ("F", 2): say("F double sharp"),
    ("G", -2): say("G double flat"),
    ("G", -1): say("G flat"),
    ("G", 0): say("G"),
    ("G", 1): say("G sharp"),
    ("G", 2): say("G double sharp"),
    ("A", -2): say("A double flat"),
    ("A", -1): say("A flat"),
    ("A", 0): say("A"),
    ("A", 1): say("A sharp"),
    ("A", 2): say("A double sharp"),
    ("B", -2): say("B double flat"),
    ("B", -1): say("B flat"),
    ("B", 0): say("B"),
    ("B", 1): say("B sharp"),
    ("B", 2): say("B double sharp"),
}


def in_words(score: IndexedScore, first: int, last: int) -> str:
    """Bars first to last in words. A length is said where it changes; several voices are told one after the other."""
    strokes = _strokes(score, first, last)
    same = len(strokes) == 1
    said: list[str] = [say("Rest stroke throughout.")] if strokes == {"rest"} else []
    for index in range(first, last + 1):
        bar = score.passage.bars[index]
        events = [e for e in score.events if e.bar == index and not e.space]
        lines: list[str] = []
        for voice in sorted({e.voice for e in events}):
            line = _voice(score, bar, [e for e in events if e.voice == voice], strokes=not same)
            lines.append(say("voice {voice}: {line}", voice=voice, line=line) if score.several else line)
        if bar.repeat_end:
            lines.append(say("repeat ends, {n} times", n=bar.repeat_end))
        said.append(say("{opening}: {music}.", opening=_opening(score, index), music=strung(lines, "; ")))
    return strung(said)


def _strokes(score: IndexedScore, first: int, last: int) -> set[str]:
    """The kinds of stroke there are."""
    return {n.stroke.kind for e in score.events if first <= e.bar <= last for n in e.notes if n.stroke}


def _opening(score: IndexedScore, index: int) -> str:
    bar = score.passage.bars[index]
    before = score.passage.bars[index - 1] if index else None
    continued = bar.label.startswith("(")
    opening = [say("Bar {bar} continued", bar=bar.label[1:-1]) if continued else say("Bar {bar}", bar=bar.label)]
    if before is None or before.metre != bar.metre:
        metre = f"{'+'.join(map(str, bar.metre.beats))}/{bar.metre.unit}"
        opening.append(say("{metre} time", metre=metre))
    if bar.repeat_start:
        opening.append(say("repeat starts"))
    if bar.ending:
        opening.append(say("ending {number}", number=bar.ending))
    return strung(opening, ", ")


def _voice(score: IndexedScore, bar: Bar, events: list[Event], *, strokes: bool) -> str:
    """The events of one voice in a bar, each beat named where its first event begins."""
    parts: list[str] = []
    length = ""
    begins, to_come = bar.onset - bar.offset, bar.onset
    for event in events:
        kind = "grace" if event.grace else "bar" if event.bar_rest else ""
        now = _length(kind, event.value, tuple((tuplet.actual, tuplet.normal) for tuplet in event.tuplets))
        said = [now if now != length else "", _event(score, event, strokes=strokes)]
        length = now
        if event.onset >= to_come and not event.grace and not event.bar_rest:
            where = 1 + (event.onset - begins) / bar.metre.beat
            to_come = begins + int(where) * bar.metre.beat
            said = [say("beat {beat}", beat=beat_text(where)), *said]
        parts.append(strung(said))
    return strung(parts, ", ")


@lru_cache(maxsize=200)
def _length(kind: str, value: Value, tuplets: tuple[tuple[int, int], ...]) -> str:
    """A length in words; `tuplets` are so many in the time of so many."""
    if kind:
        return say("grace") if kind == "grace" else say("whole bar")
    plain, dots = _KINDS[value.kind], value.dots
    dotted = {0: plain, 1: say("dotted {value}", value=plain), 2: say("double dotted {value}", value=plain)}
    return strung(
        [dotted.get(dots) or say("{n} times dotted {value}", n=dots, value=plain), *(_tuplet(*one) for one in tuplets)]
    )


def _tuplet(actual: int, normal: int) -> str:
    """A tuplet as musicians call it: triplet for three in the time of two; others say in the time of how many."""
    if actual == 3 and normal == 2:
        return _TUPLETS[3]
    name = _TUPLETS.get(actual) or say("group of {n}", n=actual)
    return say("{tuplet} in the time of {n}", tuplet=name, n=normal)


def _event(score: IndexedScore, event: Event, *, strokes: bool) -> str:
    if not event.notes:
        # for the translator: a silence
        return say("rest")
    notes = _together([_note(score, note, strokes=strokes) for note in event.notes])
    marks = [_MARKS.get(mark, mark) for mark in event.marks]
    return strung([notes, *marks])


def _together(notes: list[str]) -> str:
    """Notes of one chord."""
    *front, last = notes
    return say("{notes} with {note}", notes=_together(front), note=last) if front else last


def _note(score: IndexedScore, note: Note, *, strokes: bool) -> str:
    if note.tied_back:
        return say("{note} held", note=_spoken(note.pitch))
    return _sounded(
        None if note.muted else note.pitch,
        note.placement,
        note.stroke and (note.stroke.finger, score.marks.little, note.stroke.kind if strokes else ""),
        bool(note.slurred_from) + (bool(note.slurred_from) and note.slide),
    )


@lru_cache(maxsize=2_000)
def _sounded(pitch: Pitch | None, place: Placement | None, stroke: tuple[str, str, str] | None, slurred: int) -> str:
    """A note that begins: its pitch unless it is damped, and where and how it is played.

    `stroke` is the finger, the little finger's letter and the kind where that is said; `slurred` is 0, 1, or 2 for a
    slide. A book says the notes of one line again on every page, so what is said is kept.
    """
    parts: list[str] = [say("damped") if pitch is None else _spoken(pitch)]
    if place is not None and place.fret == 0:
        parts.append(say("string {string} open", string=place.string))
    elif place is not None:
        where = {"string": place.string, "fret": place.fret, "finger": place.finger}
        parts.append(say("string {string} fret {fret} finger {finger}", **where))
        if place.barre:
            parts.append(_BARRES[place.barre])
    if stroke is not None:
        finger, little, kind = stroke
        parts.append(_letter(finger, little))
        if kind:
            parts.append(_STROKES[kind])
    elif slurred:
        parts.append(say("slid") if slurred == 2 else say("slurred"))
    return strung(parts)


def _letter(finger: str, little: str) -> str:
    """A letter so that it is not taken for a word: a voice reads a bare "a" as the article."""
    if finger == "a":
        return say("ring finger {letter}", letter="a")
    return say("little finger {letter}", letter=little) if finger == "c" else finger


def _spoken(pitch: Pitch) -> str:
    return say("{note} {octave}", note=_NOTES[pitch.step, pitch.alter], octave=pitch.octave)
