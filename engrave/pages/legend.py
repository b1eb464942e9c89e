"""How to read the marks: only those that occur in the book."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from engrave.model import PLUCKING, Marks, Note, Variation
from engrave.pages.signs import CIRCLED
from engrave.pages.words import listed

_FINGERS = {"p": "thumb", "i": "index finger", "m": "middle finger", "a": "ring finger", "c": "little finger"}
_FRETTING = {1: "first", 2: "second", 3: "third", 4: "fourth"}
_EVENT_MARKS = {
    "accent": (">", "accent: this note louder than its neighbours"),
    "marcato": ("^", "strong accent"),
    "staccato": ("·", "short: stop the string at once"),
    "tenuto": ("–", "held for its full length"),
    "fermata": ("fermata", "hold as long as you like"),
    "arpeggio": ("wavy line", "the notes of the chord one after the other, from the lowest"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """One mark and what it says."""

    sign: str
    meaning: str
    kind: str = "word"
    """letter, digit, circle or word: how the sign is set"""


_TAB = Sign(
    sign="tablature",
    meaning="lower staff: a line for each string, the highest on top, and the fret to stop; 0 is the open string",
)


def legend(variations: Iterable[Variation], marks: Marks, *, tab: bool) -> tuple[Sign, ...]:
    """The marks that `variations` are printed with, plucking hand first."""
    shown = tuple(variations)
    notes = tuple(note for variation in shown for note in variation.passage.notes)
    return (
        *_plucking(notes, marks),
        *_fretting(notes, marks),
        *_slurs(notes),
        *_marks(shown),
        *((_TAB,) if tab else ()),
    )


def _plucking(notes: tuple[Note, ...], marks: Marks) -> Iterator[Sign]:
    used = {note.stroke.finger for note in notes if note.stroke}
    if marks.letters != "none":
        for finger in PLUCKING:
            if finger in used:
                sign = marks.little if finger == "c" else finger
                yield Sign(sign=sign, meaning=_FINGERS[finger], kind="letter")
        if marks.letters == "first":
            yield Sign(sign="sim.", meaning="go on in the same way", kind="letter")
    kinds = {note.stroke.kind for note in notes if note.stroke}
    if "rest" in kinds:
        yield Sign(sign="rest stroke", meaning="the finger comes to rest on the next string (apoyando)")
        yield Sign(sign="free stroke", meaning="the finger clears the next string (tirando)")


def _fretting(notes: tuple[Note, ...], marks: Marks) -> Iterator[Sign]:
    placed = [note.placement for note in notes if note.placement]
    fingers = sorted({p.finger for p in placed})
    if marks.digits != "none" and fingers:
        stopped = [str(f) for f in fingers if f]
        if stopped:
            names = listed(_FRETTING[f] for f in fingers if f)
            yield Sign(sign=" ".join(stopped), meaning=f"fretting hand: {names} finger", kind="digit")
        if 0 in fingers:
            yield Sign(sign="0", meaning="open string", kind="digit")
    strings = sorted({p.string for p in placed if p.string < len(CIRCLED)})
    if marks.strings != "never" and strings:
        shown = "".join(CIRCLED[s] for s in strings)
        when = "" if marks.strings == "always" else "; printed where the string changes"
        yield Sign(sign=shown, meaning=f"the string, ① the highest{when}", kind="circle")
    if marks.positions and any(p.fret for p in placed):
        yield Sign(sign="II", meaning="position: the fret over which the first finger lies, in Roman numerals")
    if any(p.barre for p in placed):
        yield Sign(
            sign="C II", meaning="barre: one finger lies across several strings at this fret, as long as the bracket"
        )


def _slurs(notes: tuple[Note, ...]) -> Iterator[Sign]:
    by_id = {note.id: note for note in notes}
    slurred = [note for note in notes if note.slurred_from]
    if any(not note.slide for note in slurred):
        yield Sign(
            sign="slur", meaning="pluck the first note only; the fretting hand sounds the next on the same string"
        )
    if any(note.slide for note in slurred):
        yield Sign(sign="line", meaning="slide: the finger stays on the string from one note to the other")
    if any(note.muted for note in by_id.values()):
        yield Sign(sign="×", meaning="damped string, no pitch")


def _marks(variations: tuple[Variation, ...]) -> Iterator[Sign]:
    used = {mark for variation in variations for event in variation.passage.events for mark in event.marks}
    for mark, (sign, meaning) in _EVENT_MARKS.items():
        if mark in used:
            yield Sign(sign=sign, meaning=meaning, kind="digit" if len(sign) == 1 else "word")
