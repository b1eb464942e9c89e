"""A clean, small score for the parser proper: exact lengths, one staff, nothing it would stumble over.

Each head and rest carries its id in the `color` attribute: of a note's attributes the parser keeps that one unread.
Brackets of tuplets stay out: the parser takes two of one ratio inside one another for one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from xml.etree.ElementTree import Element, SubElement

from engrave.reading.extras import TupletBracket
from engrave.reading.musicxml.metres import metre_pairs
from engrave.reading.musicxml.notations import each
from engrave.reading.musicxml.timed_notes import TYPES, NoteHead, TimedNote, Walked

_NAMES = {kind: name for name, kind in TYPES.items() if kind is not None}


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """One voice of one bar: items in order, none over another."""

    voice: int
    items: tuple[TimedNote, ...]
    brackets: tuple[tuple[TupletBracket, ...], ...]
    """of each item, outermost first"""


def skeleton(bars: Sequence[Walked], lanes: Sequence[Sequence[Lane]]) -> Element:
    """The chosen voices as a score-partwise element with one part. `lanes` are those of each bar."""
    root = Element("score-partwise", {"version": "4.0"})
    listed = SubElement(SubElement(root, "part-list"), "score-part", {"id": "P1"})
    SubElement(listed, "part-name").text = "Passage"
    part = SubElement(root, "part", {"id": "P1"})
    items = [item for row in lanes for lane in row for item in lane.items]
    divisions = lcm(*(part.denominator for item in items for part in (item.onset, item.length)))
    for index, bar in enumerate(bars):
        measure = SubElement(part, "measure", {"number": str(index + 1)})
        attributes = SubElement(measure, "attributes")
        if index == 0:
            SubElement(attributes, "divisions").text = str(divisions)
        _signatures(attributes, bar)
        at = Fraction(0)
        for lane in lanes[index]:
            _move(measure, at, Fraction(0), divisions, lane.voice)
            at = _voice(measure, lane, divisions)
    return root


def _signatures(attributes: Element, bar: Walked) -> None:
    if bar.key is not None:
        key = SubElement(attributes, "key")
        SubElement(key, "fifths").text = str(bar.key[0])
        if bar.key[1] in ("major", "minor"):
            SubElement(key, "mode").text = bar.key[1]
    pairs = metre_pairs(bar.metre)
    if not pairs or bar.metre is None:
        return
    sign = bar.metre.get("symbol", "")
    time = SubElement(attributes, "time", {"symbol": sign} if sign in ("common", "cut") else {})
    for tops, unit in pairs:
        SubElement(time, "beats").text = "+".join(map(str, tops))
        SubElement(time, "beat-type").text = str(unit)


def _move(measure: Element, at: Fraction, to: Fraction, divisions: int, voice: int) -> None:
    if at == to:
        return
    jump = SubElement(measure, "backup" if to < at else "forward")
    SubElement(jump, "duration").text = str(int(abs(to - at) * divisions))
    if to > at:
        SubElement(jump, "voice").text = str(voice)


def _voice(measure: Element, lane: Lane, divisions: int) -> Fraction:
    at = Fraction(0)
    for item in lane.items:
        _move(measure, at, item.onset, divisions, lane.voice)
        at = item.end
        for place, head in enumerate(item.heads or (None,)):
            note = SubElement(measure, "note", {"color": head.id if head else item.id})
            _pitched(note, item, head, chord=place > 0)
            _timed(note, item, divisions, lane.voice)
    return at


def _pitched(note: Element, item: TimedNote, head: NoteHead | None, *, chord: bool) -> None:
    if item.grace:
        SubElement(note, "grace")
    if chord:
        SubElement(note, "chord")
    if head is None:
        SubElement(note, "rest")
        return
    pitch = SubElement(note, "pitch")
    SubElement(pitch, "step").text = head.pitch.step
    SubElement(pitch, "alter").text = str(head.pitch.alter)
    SubElement(pitch, "octave").text = str(head.pitch.octave)
    for kind in ("stop", "start"):
        if _tied(head.element, kind):
            SubElement(note, "tie", {"type": kind})


def _timed(note: Element, item: TimedNote, divisions: int, voice: int) -> None:
    if not item.grace:
        SubElement(note, "duration").text = str(int(item.length * divisions))
    SubElement(note, "voice").text = str(voice)
    if item.value is not None and not item.bar_rest:
        SubElement(note, "type").text = _NAMES[item.value.kind]
        for _ in range(item.value.dots):
            SubElement(note, "dot")
    elif item.grace:
        SubElement(note, "type").text = "eighth"
    if item.ratio != (1, 1):
        changed = SubElement(note, "time-modification")
        SubElement(changed, "actual-notes").text = str(item.ratio[0])
        SubElement(changed, "normal-notes").text = str(item.ratio[1])


def _tied(note: Element, kind: str) -> bool:
    """Whether a <note> has a tie of this kind (start or stop), sounding or only drawn."""
    if any(found.get("type") == kind for found in note.findall("tie")):
        return True
    return any(found.get("type") in (kind, "continue") for found in each(note, "tied"))
