"""What a part's strings tell: tuning, capo, and the octave in which it is meant.

Rules: guitar music is written an octave higher than it sounds (common practice). MusicXML says so by an octave clef or
a <transpose>; many files say neither. Then the strings and frets decide where there are any; else a part on a plain
treble clef that is named for a guitar, or for nothing at all, is taken an octave lower, unless that would lead below
the lowest string. A part named for another instrument sounds as written. What was decided is told, with the option that
changes it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from xml.etree.ElementTree import Element

from engrave.instruments import find_instrument
from engrave.model import Note, Notice, Passage, Pitch
from engrave.model.said import Said, say, say_count, strung
from engrave.reading.musicxml.transposition import Transposition
from engrave.reading.numbers import decimal, whole
from engrave.reading.octave import AN_OCTAVE_LOWER, TOO_LOW, moved
from engrave.reading.tally import Tally

_LOWEST = 38
"""D2, the sixth string let down a tone, where the source names no tuning"""
_WRITTEN_HIGH = 50
"""a lowest string of D3 or above is one written an octave up"""
_CLEFS = {
    "F": say("written on a bass clef; printed on the guitar's treble clef"),
    "C": say("written on a C clef; printed on the guitar's treble clef"),
    "percussion": say("written on a percussion clef; printed on the guitar's treble clef"),
    "none": say("written without a clef; printed on the guitar's treble clef"),
}
_OTHERS = say("read as written; guitar music on a plain treble clef would sound an octave lower: --octave -1")
_UNDO = say("if it is meant as written: --octave 1")
_LOWER_BY_STRINGS = say("read an octave lower than written, as its strings and frets say")
_HIGHER_BY_STRINGS = say("read an octave higher than written, as its strings and frets say")
_AS_WRITTEN = say("read at its written pitch, as its strings and frets say")

Clefs = Sequence[tuple[str, int]]
"""(sign, octave change) of each clef of the staff, in order"""


def strings_of(details: Sequence[Element], tally: Tally) -> tuple[tuple[Pitch, ...] | None, int]:
    """Open strings, the first (highest) first, and the capo, from the <staff-details> of a part."""
    strings: tuple[Pitch, ...] | None = None
    capo = 0
    for found in details:
        lines: dict[int, Pitch] = {}
        for line in found.findall("staff-tuning"):
            place, pitch = whole(line.get("line"), 1, 12), _tuned(line)
            if place is None or pitch is None:
                tally.add(say("left out: a string tuning that cannot be read"), "")
                continue
            lines[place] = pitch
        if lines and strings is None:
            strings = tuple(lines[place] for place in sorted(lines, reverse=True))
        capo = capo or whole(found.findtext("capo"), 0, 24) or 0
    return strings, capo


def _tuned(line: Element) -> Pitch | None:
    step = (line.findtext("tuning-step") or "").strip()
    octave = whole(line.findtext("tuning-octave"), 0, 8)
    alter = decimal(line.findtext("tuning-alter") or "0")
    if step not in tuple("ABCDEFG") or octave is None or alter not in (-2, -1, 0, 1, 2):
        return None
    return Pitch(step=step, alter=int(alter), octave=octave)


def tell_writing(clefs: Clefs, moves: Sequence[Transposition], tally: Tally) -> None:
    """Says where the page will look or sound other than the source."""
    signs = [_CLEFS[sign] for sign, _ in clefs if sign in _CLEFS]
    if signs:
        tally.add(signs[0], "")
    steps = {move.chromatic for move in moves}
    if len(steps) == 1 and moves[0].chromatic % 12:
        tally.add(_transposed(moves[0].chromatic), "")
    elif any(step % 12 for step in steps):
        tally.add(say("a part that changes its transposition: read as it sounds"), "")


def _transposed(semitones: int) -> Said:
    """How a part sounds off its written pitch."""
    if semitones < 0:
        return say_count(
            "a transposing part: read as it sounds, {n} semitone lower than written",
            "a transposing part: read as it sounds, {n} semitones lower than written",
            -semitones,
        )
    return say_count(
        "a transposing part: read as it sounds, {n} semitone higher than written",
        "a transposing part: read as it sounds, {n} semitones higher than written",
        semitones,
    )


def settle(passage: Passage, *, named: bool, nameless: bool, clefs: Clefs, told: bool) -> Passage:
    """A passage in the octave it is meant in, told in a notice where something was decided.

    Args:
        passage: as the file says, `capo` and `tuning` as written.
        named: whether the source names a guitar or its kin.
        nameless: whether it names nothing at all.
        clefs: clefs of the staff read.
        told: whether the source says how it transposes.
    """
    passage = _tuned_down(passage)
    strings = passage.tuning or find_instrument("standard").strings
    plain = not told and all(sign in ("G", "TAB") and change == 0 for sign, change in clefs)
    plain = plain and any(sign == "G" for sign, _ in clefs)
    shifts = Counter(_shifts(passage.notes, strings))
    usual = shifts.most_common(1)[0][0] if shifts else 0
    said: list[Said] = []
    move = 0
    if shifts and usual in (12, 24, -12, -24):
        move = -usual
        said.append(_LOWER_BY_STRINGS if usual > 0 else _HIGHER_BY_STRINGS)
    elif shifts:
        said += [_AS_WRITTEN] if plain and usual in (0, passage.capo) else []
    elif plain and (named or nameless or _for_strings(passage, strings)):
        lowest = min((note.pitch.midi for note in passage.notes), default=127)
        floor = min(pitch.midi for pitch in passage.tuning) if passage.tuning else _LOWEST
        move = -12 if lowest - 12 >= floor else 0
        sure = named or _for_strings(passage, strings)
        lower = AN_OCTAVE_LOWER if sure else strung([AN_OCTAVE_LOWER, _UNDO], "; ")
        said.append(lower if move else TOO_LOW)
    elif plain:
        said.append(_OTHERS)
    capo = passage.capo if shifts and usual + move == passage.capo else 0
    if passage.capo and not capo:
        text = say("the capo at fret {fret} is left out: the notes are read as fingered from it", fret=passage.capo)
        said.append(text)
    notices = (*passage.notices, *(Notice(text=text) for text in said))
    return replace(moved(passage, move // 12), capo=capo, notices=notices)


def _shifts(notes: Iterable[Note], strings: Sequence[Pitch]) -> Iterator[int]:
    """Semitones by which each note with a string and a fret lies above them."""
    for note in notes:
        string, fret = note.given.string, note.given.fret
        if string is not None and fret is not None and string <= len(strings):
            yield note.pitch.midi - strings[string - 1].midi - fret


def _for_strings(passage: Passage, strings: Sequence[Pitch]) -> bool:
    """Whether the marks are a plucked instrument's: strings, letters, or open-string digits an octave too high."""
    if passage.tuning or any(n.given.string or n.given.fret is not None or n.given.pluck for n in passage.notes):
        return True
    opened = [note.pitch.midi for note in passage.notes if note.given.finger == 0]
    pitches = {pitch.midi for pitch in strings}
    return bool(opened) and all(p - 12 in pitches for p in opened) and not all(p in pitches for p in opened)


def _tuned_down(passage: Passage) -> Passage:
    """A tuning given as written, an octave above any guitar's, is taken down."""
    strings = passage.tuning
    if strings is None or len(strings) < 6 or strings[-1].midi < _WRITTEN_HIGH:
        return passage
    return replace(passage, tuning=tuple(replace(pitch, octave=pitch.octave - 1) for pitch in strings))


def damped(passage: Passage, tally: Tally) -> Passage:
    """A passage whose crossed heads name their open string, or are ordinary heads where no string is known."""
    if not any(note.muted for note in passage.notes):
        return passage
    strings = passage.tuning or find_instrument("standard").strings
    events = []
    for event in passage.events:
        notes = []
        for note in event.notes:
            string = note.given.string
            if note.muted and string is not None and string <= len(strings):
                notes.append(replace(note, pitch=strings[string - 1]))
                continue
            if note.muted:
                said = say("cross heads without a string are printed as ordinary heads")
                tally.add(said, passage.bars[event.bar].label)
            notes.append(replace(note, muted=False))
        notes.sort(key=lambda note: note.pitch.midi)
        events.append(replace(event, notes=tuple(notes)))
    return replace(passage, events=tuple(events))
