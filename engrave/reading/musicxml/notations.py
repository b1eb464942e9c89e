"""Marks on the <note> elements of MusicXML: what guitarists print is kept, everything else is counted.

Rules: `fingering` is the fretting hand's, `pluck` the plucking hand's (MusicXML 4.0); p i m a in `fingering` are the
plucking hand's; c e x o q s and ch all mean the little finger; string 1 is the highest; digits that all stand on the
first head of a chord belong to its heads in order.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element

from engrave.model import MARKS, Given
from engrave.model.errors import one_line
from engrave.model.said import Said, say
from engrave.reading.musicxml.guitar_words import stroke_of
from engrave.reading.musicxml.sign_names import left_out
from engrave.reading.musicxml.timed_notes import TimedNote
from engrave.reading.numbers import whole
from engrave.reading.tally import Tally

PLUCKING = {letter: letter for letter in "pima"} | dict.fromkeys(("c", "e", "x", "o", "q", "s", "ch"), "c")
"""letters of the plucking hand as editions print them → ours"""
_ARTICULATIONS = {
    "accent": ("accent",),
    "strong-accent": ("marcato",),
    "staccato": ("staccato",),
    "tenuto": ("tenuto",),
    "detached-legato": ("staccato", "tenuto"),
    "staccatissimo": ("staccato",),
    "spiccato": ("staccato",),
}
_CHANGED = {
    "staccatissimo": say("printed as staccato: staccatissimo"),
    "spiccato": say("printed as staccato: spiccato"),
}
_KEPT = frozenset(
    ("tied", "slur", "tuplet", "slide", "glissando", "fermata", "arpeggiate", "technical", "articulations", "ornaments")
)
_QUIET = frozenset(("footnote", "level", "other-notation"))
_ELSEWHERE = frozenset(("hammer-on", "pull-off"))
_CROSSES = ("x", "circle-x", "cross")


def each(note: Element, tag: str) -> Iterator[Element]:
    """Every `tag` directly inside a <notations> of a note."""
    for notations in note.findall("notations"):
        yield from notations.findall(tag)


def technical(note: Element) -> Iterator[Element]:
    """Every technical indication of a note."""
    for group in each(note, "technical"):
        yield from group


def tied(note: Element, kind: str) -> bool:
    """Whether a <note> has a tie of this kind (start or stop), sounding or only drawn."""
    if any(found.get("type") == kind for found in note.findall("tie")):
        return True
    return any(found.get("type") in (kind, "continue") for found in each(note, "tied"))


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadMarks:
    """What the source prints for one head."""

    given: Given = Given()
    muted: bool = False


@dataclass(slots=True)
class _Hands:
    """The marks of one head while they are gathered."""

    fingers: list[int]
    string: int | None = None
    fret: int | None = None
    pluck: str = ""
    stroke: str = ""

    def take(self, found: Element) -> Said | None:
        """Takes one technical indication; what could not be taken, for a notice, else None."""
        text = (found.text or "").strip()
        letter = text.casefold().strip(".() ")
        match found.tag:
            case "fingering" if found.get("alternate") == "yes":
                return say("left out: alternative fingerings")
            case "fingering" if whole(text.strip("()[]-–. "), 0, 4) is not None:
                self.fingers.append(int(text.strip("()[]-–. ")))
            case "fingering" | "pluck" if letter in PLUCKING:
                self.pluck = self.pluck or PLUCKING[letter]
            case "fingering" | "pluck" if text:
                return _unread(found.tag, text)
            case "string" if whole(text, 1, 20) is not None:
                self.string = int(text)
            case "fret" if whole(text, 0, 36) is not None:
                self.fret = int(text)
            case "string" | "fret":
                return _unread(found.tag, text)
            case "arrow" if self.pluck == "p" and (found.findtext("arrow-direction") or "").strip() == "up":
                # the thumb's one stroke over several strings, which p on each of them says already
                pass
            case "open-string":
                self.fingers = self.fingers or [0]
            case _ if stroke_of(text):
                self.stroke = stroke_of(text)
            case tag if tag not in _ELSEWHERE and tag not in ("fingering", "pluck"):
                return left_out(tag)
        return None


def _unread(tag: str, text: str) -> Said:
    """Tells that the text of a technical indication is none of those it may have."""
    shown = repr(one_line(text, 12))
    match tag:
        case "fingering":
            return say("left out: a fingering that is not a digit 0 to 4: {text}", text=shown)
        case "pluck":
            return say("left out: a pluck that is not p i m a or c: {text}", text=shown)
        case "string":
            return say("left out: a string that is no number: {text}", text=shown)
    return say("left out: a fret that is no number: {text}", text=shown)


def hand_marks(item: TimedNote, bar: str, tally: Tally) -> dict[str, HeadMarks]:
    """Fretting digit, string, fret, plucking letter and stroke kind of each head of an item, by id."""
    hands: list[_Hands] = []
    for head in item.heads:
        hand = _Hands([])
        for found in technical(head.element):
            complaint = hand.take(found)
            if complaint is not None:
                tally.add(complaint, bar)
        for found in each(head.element, "other-notation"):
            hand.stroke = hand.stroke or stroke_of(found.text or "")
        hands.append(hand)
    if len(hands) > 1 and len(hands[0].fingers) == len(hands) and not any(hand.fingers for hand in hands[1:]):
        for hand, finger in zip(hands, list(hands[0].fingers), strict=True):
            hand.fingers = [finger]
    marks: dict[str, HeadMarks] = {}
    for head, hand in zip(item.heads, hands, strict=True):
        digit = hand.fingers[0] if hand.fingers else None
        if len(set(hand.fingers)) > 1:
            tally.add(say("left out: the second digit on a note (a change of finger)"), bar)
        given = Given(finger=digit, string=hand.string, fret=hand.fret, pluck=hand.pluck, stroke=hand.stroke)
        marks[head.id] = HeadMarks(given=given, muted=_shape(head.element, bar, tally))
    return marks


def _shape(note: Element, bar: str, tally: Tally) -> bool:
    """Whether a head is a cross; other odd heads are told."""
    shape = (note.findtext("notehead") or "normal").strip()
    if shape in _CROSSES:
        return True
    if shape not in ("", "normal"):
        tally.add(say("heads of another shape are printed as ordinary heads"), bar)
    return False


def event_marks(item: TimedNote, bar: str, tally: Tally) -> tuple[str, ...]:
    """Marks of a chord, note or rest, in the order of MARKS; a rest keeps only its fermata."""
    names: set[str] = set()
    for note in [head.element for head in item.heads] or [item.element]:
        for group in each(note, "articulations"):
            for found in group:
                names.update(_ARTICULATIONS.get(found.tag, ()))
                if found.tag in _CHANGED:
                    tally.add(_CHANGED[found.tag], bar)
                elif found.tag not in _ARTICULATIONS:
                    tally.add(left_out(found.tag), bar)
        names.update("fermata" for _ in each(note, "fermata"))
        names.update("arpeggio" for _ in each(note, "arpeggiate"))
        _leave_out(note, bar, tally)
    if not item.heads:
        names &= {"fermata"}
    return tuple(mark for mark in MARKS if mark in names)


def _leave_out(note: Element, bar: str, tally: Tally) -> None:
    for group in each(note, "ornaments"):
        for found in group:
            tally.add(left_out(found.tag), bar)
    for notations in note.findall("notations"):
        for found in notations:
            if found.tag not in _KEPT and found.tag not in _QUIET:
                tally.add(left_out(found.tag), bar)
            elif found.tag == "other-notation" and not stroke_of(found.text or ""):
                tally.add(say("left out: other notations"), bar)
    if any(found.get("type") == "let-ring" for found in each(note, "tied")):
        tally.add(say("left out: let-ring ties"), bar)


def plucked(marks: HeadMarks, letter: str) -> HeadMarks:
    """Marks with a plucking letter, where they have none."""
    return marks if marks.given.pluck else replace(marks, given=replace(marks.given, pluck=letter))
