"""What a part's strings tell: tuning, capo, and the octave in which it is meant.

Rules: guitar music is written an octave higher than it sounds (common practice). MusicXML says so with an octave clef or a
<transpose>; many files say neither. Then printed strings and frets decide where there are any; else a part for a guitar on
a plain treble clef is taken an octave lower, unless that would lead below the lowest string. Any other part sounds as
written. What was decided is told.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from xml.etree.ElementTree import Element

from engrave.instruments import find_instrument
from engrave.model import Note, Notice, Passage, Pitch
from engrave.reading.tally import Tally
from engrave.reading.timeline import decimal, number

_LOWEST = 38
"""D2, the sixth string let down a tone, where the source names no tuning"""


def tuning_of(details: Iterable[Element], tally: Tally) -> tuple[tuple[Pitch, ...] | None, int]:
    """Open strings from the highest line down, and the capo, from the <staff-details> of a part."""
    strings: tuple[Pitch, ...] | None = None
    capo = 0
    for found in details:
        lines: dict[int, Pitch] = {}
        for line in found.findall("staff-tuning"):
            place = number(line.get("line"), 1, 12)
            pitch = _pitch(line)
            if place is None or pitch is None:
                tally.add("left out: a string tuning that cannot be read", "")
                continue
            lines[place] = pitch
        if lines and strings is None:
            strings = tuple(lines[place] for place in sorted(lines, reverse=True))
        capo = capo or number(found.findtext("capo"), 0, 24) or 0
    return strings, capo


def _pitch(line: Element) -> Pitch | None:
    step = (line.findtext("tuning-step") or "").strip()
    octave = number(line.findtext("tuning-octave"), 0, 8)
    alter = decimal(line.findtext("tuning-alter") or "0")
    if step not in tuple("ABCDEFG") or octave is None or alter is None or alter not in (-2, -1, 0, 1, 2):
        return None
    return Pitch(step=step, alter=int(alter), octave=octave)


def settle(passage: Passage, *, fretted: bool, clefs: Mapping[str, int], told: bool) -> Passage:
    """A passage in the octave it is meant in, with its muted strings, told in a notice where something was decided.

    Args:
        passage: as the file says, `capo` and `tuning` as written.
        fretted: whether the source says that a guitar or its kin plays it, by name, sound, strings or plucking letters.
        clefs: signs of the clefs of the staff read → their octave change.
        told: whether the source says how it transposes.
    """
    strings = passage.tuning or find_instrument("standard").strings
    strings, passage = _tuning_octave(strings, passage)
    shifts = Counter(
        note.pitch.midi - strings[note.given.string - 1].midi - note.given.fret
        for note in passage.notes
        if note.given.string is not None and note.given.fret is not None and note.given.string <= len(strings)
    )
    notices: list[Notice] = []
    move = 0
    if shifts:
        usual, count = shifts.most_common(1)[0]
        if usual in (12, 24, -12, -24) and 2 * count > shifts.total():
            move = -usual
            notices.append(Notice(text="read an octave off its written pitch, as its strings and frets say"))
        elif usual == 0 and fretted and not told and clefs.get("G") == 0:
            notices.append(Notice(text="read at its written pitch, as its strings and frets say"))
        capo = passage.capo if usual + move == passage.capo else 0
    else:
        lowest = min((note.pitch.midi for note in passage.notes), default=127)
        floor = min(p.midi for p in passage.tuning) if passage.tuning else _LOWEST
        plain = not told and clefs.get("G") == 0 and set(clefs) <= {"G", "TAB", "percussion"}
        if fretted and plain and lowest - 12 >= floor:
            move = -12
            text = "read an octave lower than written, as guitar music on a plain treble clef sounds"
            notices.append(Notice(text=text))
        elif fretted and plain:
            text = "read at its written pitch: an octave lower it would lead below the lowest string"
            notices.append(Notice(text=text))
        capo = 0
    if passage.capo and not capo:
        text = f"the capo at fret {passage.capo} is left out: the notes are read as fingered from it"
        notices.append(Notice(text=text))
    passage = _moved(passage, move)
    return replace(passage, capo=capo, notices=(*passage.notices, *notices))


def _tuning_octave(strings: tuple[Pitch, ...], passage: Passage) -> tuple[tuple[Pitch, ...], Passage]:
    """A tuning given at written pitch, an octave above any guitar's, is taken down."""
    if passage.tuning and len(strings) >= 6 and strings[-1].midi >= 50:
        strings = tuple(replace(p, octave=p.octave - 1) for p in strings)
        return strings, replace(passage, tuning=strings)
    return strings, passage


def _moved(passage: Passage, semitones: int) -> Passage:
    if not semitones:
        return passage
    octaves = semitones // 12

    def lower(note: Note) -> Note:
        return replace(note, pitch=replace(note.pitch, octave=note.pitch.octave + octaves))

    events = tuple(replace(e, notes=tuple(lower(n) for n in e.notes)) if e.notes else e for e in passage.events)
    return replace(passage, events=events)


def damped(passage: Passage, tally: Tally) -> Passage:
    """A passage whose crossed heads name their open string, or are ordinary heads where no string is known."""
    strings = passage.tuning or find_instrument("standard").strings
    changed = []
    for event in passage.events:
        notes = []
        for note in event.notes:
            if note.muted and note.given.string is not None and note.given.string <= len(strings):
                notes.append(replace(note, pitch=strings[note.given.string - 1]))
            elif note.muted:
                tally.add("cross heads without a string are printed as ordinary heads", passage.bars[event.bar].label)
                notes.append(replace(note, muted=False))
            else:
                notes.append(note)
        notes.sort(key=lambda note: note.pitch.midi)
        changed.append(replace(event, notes=tuple(notes)) if notes else event)
    return replace(passage, events=tuple(changed))
