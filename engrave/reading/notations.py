"""Marks on a <note> of MusicXML: what guitarists print, kept; everything else, counted.

Rules: `fingering` is the fretting hand's, `pluck` the plucking hand's (MusicXML 4.0); a letter p i m a in `fingering` is
taken for the plucking hand; c e x o q s and ch all stand for the little finger; string 1 is the highest.
"""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree.ElementTree import Element

from engrave.model import MARKS, Given
from engrave.model.errors import one_line
from engrave.reading.extras import HeadMarks
from engrave.reading.tally import Tally
from engrave.reading.words import stroke_of

_PLUCK = {"p": "p", "i": "i", "m": "m", "a": "a"} | dict.fromkeys(("c", "e", "x", "o", "q", "s", "ch"), "c")
_ARTICULATIONS = {
    "accent": ("accent",),
    "strong-accent": ("marcato",),
    "staccato": ("staccato",),
    "tenuto": ("tenuto",),
    "detached-legato": ("staccato", "tenuto"),
    "staccatissimo": ("staccato",),
    "spiccato": ("staccato",),
}
_CHANGED = {"staccatissimo": "printed as staccato: staccatissimo", "spiccato": "printed as staccato: spiccato"}
_KEPT = frozenset(
    ("tied", "slur", "tuplet", "slide", "glissando", "fermata", "arpeggiate", "technical", "articulations")
)
_CURVES = frozenset(("hammer-on", "pull-off"))
LEFT_OUT = {
    "lyric": "left out: lyrics",
    "dynamics": "left out: dynamics",
    "ornaments": "left out: ornaments",
    "harmonic": "left out: harmonics (the note is printed as an ordinary one)",
    "bend": "left out: bends",
    "up-bow": "left out: bowing marks",
    "down-bow": "left out: bowing marks",
    "thumb-position": "left out: thumb-position signs",
    "tap": "left out: taps",
    "non-arpeggiate": "left out: brackets against rolling a chord",
    "accidental-mark": "left out: accidentals over a note",
    "breath-mark": "left out: breath marks",
    "caesura": "left out: breaks (caesura)",
}


def each(note: Element, tag: str) -> Iterator[Element]:
    """Every `tag` directly inside a <notations> of a note."""
    for notations in note.findall("notations"):
        yield from notations.findall(tag)


def technical(note: Element) -> Iterator[Element]:
    """Every technical indication of a note."""
    for group in each(note, "technical"):
        yield from group


def head_marks(note: Element, bar: str, tally: Tally) -> HeadMarks:
    """Fretting digit, string, fret, plucking letter and stroke kind of one head."""
    finger: int | None = None
    string: int | None = None
    fret: int | None = None
    pluck = stroke = ""
    for found in technical(note):
        text = (found.text or "").strip()
        match found.tag:
            case "fingering" if found.get("alternate") == "yes":
                tally.add("left out: alternative fingerings", bar)
            case "fingering" if text.isdecimal() and text in ("0", "1", "2", "3", "4"):
                if finger is None:
                    finger = int(text)
                elif finger != int(text):
                    tally.add("left out: the second digit on a note (change of finger)", bar)
            case "fingering" | "pluck" if text.casefold().strip(".") in _PLUCK:
                pluck = pluck or _PLUCK[text.casefold().strip(".")]
            case "fingering" if text:
                tally.add(f"left out: a fingering that is not a digit 0 to 4: {one_line(text, 12)!r}", bar)
            case "pluck" if text:
                tally.add(f"left out: a plucking letter that is not p i m a or c: {one_line(text, 12)!r}", bar)
            case "string":
                string = _small(text, 1, 20, string, "a string that is not a number from 1", bar, tally)
            case "fret":
                fret = _small(text, 0, 36, fret, "a fret that is not a number from 0 to 36", bar, tally)
            case "open-string":
                finger = 0 if finger is None else finger
            case "other-technical" | "other-notation" if stroke_of(text):
                stroke = stroke_of(text)
            case tag if tag in _CURVES:
                pass
            case tag:
                tally.add(LEFT_OUT.get(tag, f"left out: technical marks ({tag})"), bar)
    crossed = (note.findtext("notehead") or "").strip() in ("x", "circle-x", "cross")
    given = Given(finger=finger, string=string, fret=fret, pluck=pluck, stroke=stroke)
    return HeadMarks(given=given, muted=crossed)


def _small(text: str, low: int, high: int, before: int | None, fact: str, bar: str, tally: Tally) -> int | None:
    if text.isdecimal() and len(text) < 4 and low <= int(text) <= high:
        return int(text)
    tally.add(f"left out: {fact}: {one_line(text, 12)!r}", bar)
    return before


def event_marks(notes: list[Element], bar: str, tally: Tally) -> tuple[str, ...]:
    """Marks of a chord, note or rest from all of its <note> elements, in the order of MARKS."""
    names: set[str] = set()
    for note in notes:
        for group in each(note, "articulations"):
            for found in group:
                kept = _ARTICULATIONS.get(found.tag, ())
                names.update(kept)
                if found.tag in _CHANGED:
                    tally.add(_CHANGED[found.tag], bar)
                elif not kept:
                    tally.add(LEFT_OUT.get(found.tag, f"left out: articulations ({found.tag})"), bar)
        if any(True for _ in each(note, "fermata")):
            names.add("fermata")
        if any(True for _ in each(note, "arpeggiate")):
            names.add("arpeggio")
        _leave_out(note, bar, tally)
    return tuple(mark for mark in MARKS if mark in names)


def _leave_out(note: Element, bar: str, tally: Tally) -> None:
    if note.find("lyric") is not None:
        tally.add(LEFT_OUT["lyric"], bar)
    for notations in note.findall("notations"):
        for found in notations:
            if found.tag in LEFT_OUT:
                tally.add(LEFT_OUT[found.tag], bar)
            elif found.tag not in _KEPT and found.tag not in ("other-notation", "footnote", "level"):
                tally.add(f"left out: notations ({found.tag})", bar)
