"""Events as MusicXML notes: pitch, length, accidentals, beams, tuplets, ties, and the marks of both hands.

Pitches are written as they sound; the octave clef shows them an octave higher. An accidental is written where the pitch
is not what key and bar already say, and never on a tied note. Element order is the schema's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from engrave.exchange.numbered_curves import End
from engrave.exchange.tree import Element, add, add_text
from engrave.model import Event, Key, Note, Tuplet, Value
from engrave.model.passage import VALUE_NAMES
from engrave.model.time_spelling import single

_ACCIDENTALS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
_ARTICULATIONS = {"accent": "accent", "marcato": "strong-accent", "staccato": "staccato", "tenuto": "tenuto"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bracket:
    """One tuplet as it is printed."""

    first: str
    """id of the first event under it"""
    last: str
    unit: Value | None
    """the value it counts in; None where no single one is a part of it"""


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteWriter:
    """What every note of a document needs to know."""

    divisions: int
    """parts of a quarter"""
    ends: Mapping[str, tuple[End, ...]]
    """ends of curves by note"""
    brackets: Mapping[int, Bracket]
    """by id of the tuplet"""
    letters: Mapping[str, str]
    """plucking finger → the letter that is printed for it"""
    tab: bool
    """for tablature, which prints no accidentals and, beside its frets, no digits of fingers"""
    swept: frozenset[str] = frozenset()
    """ids of the lowest notes of those that the thumb takes in one stroke"""

    def duration(self, length: Fraction) -> int:
        """`length` quarters in divisions, from 0 up; what is left of one is dropped."""
        # whole numbers: a tenth of what the product of a fraction takes, which every note asks for
        numerator, denominator = length.as_integer_ratio()
        return numerator * self.divisions // denominator


def accidentals(events: Sequence[Event], key: Key) -> dict[str, int]:
    """Note id → the accidental it needs, in semitones, for the events of one bar with all its voices."""
    said: dict[tuple[str, int], int] = {}
    made: dict[str, int] = {}
    for event in sorted(events, key=lambda event: (event.onset, not event.grace, event.voice)):
        for note in event.notes:
            if note.tied_back or note.muted:
                continue
            place = (note.pitch.step, note.pitch.octave)
            if said.get(place, key.alter(note.pitch.step)) != note.pitch.alter:
                made[note.id] = note.pitch.alter
            said[place] = note.pitch.alter
    return made


def brackets(events: Sequence[Event]) -> dict[int, Bracket]:
    """Every tuplet of a passage, by its id."""
    under: dict[int, list[Event]] = {}
    ratios: dict[int, Tuplet] = {}
    written: dict[int, Fraction] = {}
    for event in events:
        length = event.value.quarters
        for over in reversed(event.tuplets):
            under.setdefault(over.id, []).append(event)
            ratios[over.id] = over
            written[over.id] = written.get(over.id, Fraction(0)) + length
            length = length * over.normal / over.actual
    return {
        name: Bracket(first=found[0].id, last=found[-1].id, unit=single(written[name] / ratios[name].actual))
        for name, found in under.items()
    }


def event_notes(
    measure: Element,
    event: Event,
    writer: NoteWriter,
    signs: Mapping[str, int],
    *,
    beams: tuple[str, ...],
    stem: str,
) -> None:
    """Write one event; `signs` are the accidentals of its bar."""
    for index, note in enumerate(event.notes or (None,)):
        hidden = {"print_object": "no"} if event.space else {}
        made = add(measure, "note", **hidden)
        _begin(made, event, note, chord=index > 0)
        if not event.grace:
            add_text(made, "duration", writer.duration(event.duration))
        _ties(made, "tie", note)
        add_text(made, "voice", event.voice)
        _value(made, event)
        if note is not None and note.id in signs:
            add_text(made, "accidental", _ACCIDENTALS[signs[note.id]])
        _ratio(made, event.tuplets)
        if stem and note is not None:
            add_text(made, "stem", stem)
        if note is not None and note.muted:
            add_text(made, "notehead", "x")
        for level, kind in enumerate(beams if index == 0 else (), start=1):
            add_text(made, "beam", kind, number=level)
        _notations(made, event, note, writer, first=index == 0)


def _begin(made: Element, event: Event, note: Note | None, *, chord: bool) -> None:
    """Grace sign, chord sign, pitch or rest."""
    if event.grace:
        add(made, "grace", **({"slash": "yes"} if event.slash else {}))
    if chord:
        add(made, "chord")
    if note is None:
        add(made, "rest", **({"measure": "yes"} if event.bar_rest else {}))
        return
    pitch = add(made, "pitch")
    add_text(pitch, "step", note.pitch.step)
    if note.pitch.alter:
        add_text(pitch, "alter", note.pitch.alter)
    add_text(pitch, "octave", note.pitch.octave)


def _ties(made: Element, tag: str, note: Note | None) -> None:
    if note is not None and note.tied_back:
        add(made, tag, type="stop")
    if note is not None and note.tied_on:
        add(made, tag, type="start")


def _value(made: Element, event: Event) -> None:
    if event.bar_rest:
        return
    add_text(made, "type", VALUE_NAMES[event.value.kind])
    for _ in range(event.value.dots):
        add(made, "dot")


def _ratio(made: Element, tuplets: tuple[Tuplet, ...]) -> None:
    """The product of the tuplets an event stands under."""
    if not tuplets:
        return
    actual = normal = 1
    for over in tuplets:
        actual, normal = actual * over.actual, normal * over.normal
    changed = add(made, "time-modification")
    add_text(changed, "actual-notes", actual)
    add_text(changed, "normal-notes", normal)


def _notations(made: Element, event: Event, note: Note | None, writer: NoteWriter, *, first: bool) -> None:
    """Everything that stands on a note; marks of the whole chord on its first head."""
    notations, technical = Element("notations"), Element("technical")
    _ties(notations, "tied", note)
    for end in writer.ends.get(note.id, ()) if note is not None else ():
        if end.kind in ("slur", "slide"):
            add(notations, end.kind, type=end.type, number=end.number)
        else:
            add_text(technical, end.kind, end.text, type=end.type, number=end.number)
    if first:
        _tuplets(notations, event, writer)
    if note is not None:
        _hands(technical, note, writer)
    if len(technical):
        notations.append(technical)
    marks = [_ARTICULATIONS[mark] for mark in event.marks if mark in _ARTICULATIONS] if first else []
    if marks:
        articulations = add(notations, "articulations")
        for mark in marks:
            add(articulations, mark)
    if "fermata" in event.marks and first:
        add(notations, "fermata")
    if "arpeggio" in event.marks:
        add(notations, "arpeggiate")
    if len(notations):
        made.append(notations)


def _tuplets(notations: Element, event: Event, writer: NoteWriter) -> None:
    """Brackets that begin or end here: outer ones begin first and end last."""
    numbered = list(enumerate(event.tuplets, start=1))
    for number, over in numbered:
        bracket = writer.brackets[over.id]
        if bracket.first == event.id:
            made = add(notations, "tuplet", type="start", number=number, bracket="yes")
            for tag, count in (("tuplet-actual", over.actual), ("tuplet-normal", over.normal)):
                part = add(made, tag)
                add_text(part, "tuplet-number", count)
                if bracket.unit is not None:
                    add_text(part, "tuplet-type", VALUE_NAMES[bracket.unit.kind])
                    for _ in range(bracket.unit.dots):
                        add(part, "tuplet-dot")
    for number, over in reversed(numbered):
        if writer.brackets[over.id].last == event.id:
            add(notations, "tuplet", type="stop", number=number)


def _hands(technical: Element, note: Note, writer: NoteWriter) -> None:
    """Fretting digit, plucking letter, string, fret and stroke kind."""
    finger = note.placement.finger if note.placement is not None else note.given.finger
    if finger is not None and not note.tied_back and not note.muted and not writer.tab:
        add(technical, "open-string") if finger == 0 else add_text(technical, "fingering", finger)
    pluck = note.stroke.finger if note.stroke is not None else note.given.pluck
    if pluck and not note.tied_back:
        add_text(technical, "pluck", writer.letters.get(pluck, pluck))
    if note.id in writer.swept:
        # the thumb goes on over the next strings in one stroke
        arrow = add(technical, "arrow")
        add_text(arrow, "arrow-direction", "up")
    _place(technical, note)
    kind = note.stroke.kind if note.stroke is not None else note.given.stroke
    if kind == "rest" and not note.tied_back:
        add_text(technical, "other-technical", "rest stroke")


def _place(technical: Element, note: Note) -> None:
    """String and fret: where the note is placed, else where the source says."""
    string, fret = note.given.string, note.given.fret
    if note.placement is not None:
        string, fret = note.placement.string, note.placement.fret
    if string is not None:
        add_text(technical, "string", string)
    if fret is not None:
        add_text(technical, "fret", fret)
