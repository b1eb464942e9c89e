"""How to read the marks: only those that the plates of the book really show."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from engrave.model import PLUCKING, Marks, Variation
from engrave.model.wording import listed
from engrave.pages.images import Impression
from engrave.pages.sign_font import CIRCLED
from engrave.pages.words import finger_name

_PLUCKING = {"p": "thumb", "i": "index", "m": "middle", "a": "ring", "c": "little finger"}
_FRETTING = {"1": "first", "2": "second", "3": "third", "4": "fourth"}
_WORDS = {
    "sim.": "go on plucking in the same way",
    "rest stroke": "the finger comes to rest on the next string (apoyando), until another word",
    "place": "set all the fingers of the chord on their strings before it is played",
    "free stroke": "the finger clears the next string (tirando), until another word",
}
_BARRES = {
    "C": "barre: one finger lies across all the strings it reaches at this fret, as long as the bracket",
    "½C": "half barre: the finger lies across the upper strings only",
    "hinge": "hinge barre: the finger presses with its base while its tip is free, or the other way round",
}
_EVENTS = {
    "accent": (">", "accent: this note louder than its neighbours"),
    "marcato": ("^", "strong accent"),
    "staccato": ("dot", "over or under a head: short, stop the string at once"),
    "tenuto": ("dash", "over or under a head: held for its full length"),
    "fermata": ("fermata", "hold as long as you like"),
    "arpeggio": ("wavy line", "the notes of the chord one after the other, from the lowest"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LegendEntry:
    """One mark and what it says."""

    sign: str
    meaning: str
    kind: str = "word"
    """letter, digit, circle or word: how the sign is set"""


def legend(variations: Iterable[Variation], plates: Iterable[Impression], marks: Marks) -> tuple[LegendEntry, ...]:
    """The marks of `plates`, which show `variations`: the plucking hand's first, then the fretting hand's."""
    shown: dict[str, set[str]] = {}
    for plate in plates:
        for role, text in plate.shown:
            shown.setdefault(role, set()).add(text)
    music = tuple(variations)
    return (*_plucking(shown, marks), *_fretting(shown, marks), *_slurs(music), *_events(music), *_staff(shown))


def _plucking(shown: dict[str, set[str]], marks: Marks) -> Iterator[LegendEntry]:
    letters = shown.get("letter", set())
    used = [f for f in PLUCKING if finger_name(f, marks.little) in letters]
    if used:
        sign = " ".join(finger_name(f, marks.little) for f in used)
        yield LegendEntry(sign=sign, meaning=f"plucking hand: {listed(_PLUCKING[f] for f in used)}", kind="letter")
    if "sweep" in shown:
        yield LegendEntry(sign="upright arrow", meaning="the thumb takes these strings in one stroke, from the lowest")
    for word, meaning in _WORDS.items():
        if word in shown.get("words", set()) | letters:
            yield LegendEntry(sign=word, meaning=meaning)


def _fretting(shown: dict[str, set[str]], marks: Marks) -> Iterator[LegendEntry]:
    digits = shown.get("digit", set())
    stopped = [digit for digit in _FRETTING if digit in digits]
    if stopped:
        names = listed(_FRETTING[digit] for digit in stopped)
        yield LegendEntry(sign=" ".join(stopped), meaning=f"fretting hand: {names} finger", kind="digit")
    if "0" in digits:
        yield LegendEntry(sign="0", meaning="open string", kind="digit")
    strings = sorted(int(text) for text in shown.get("string", set()) if text.isdecimal())
    if strings:
        sign = "".join(CIRCLED[s] for s in strings if s < len(CIRCLED))
        line = "; the broken line reaches as far as it holds" if "string line" in shown else ""
        when = "" if marks.strings == "always" else ", printed where it changes"
        yield LegendEntry(sign=sign, meaning=f"the string, ① the highest{when}{line}", kind="circle")
    if "position" in shown:
        yield LegendEntry(sign="II", meaning="position: the fret over which the first finger lies, in Roman numerals")
    for start, meaning in _BARRES.items():
        if any(text.startswith(start) for text in shown.get("barre", set())):
            yield LegendEntry(sign=f"{start} II", meaning=meaning)


def _slurs(variations: tuple[Variation, ...]) -> Iterator[LegendEntry]:
    slurred = [n for variation in variations for n in variation.passage.notes if n.slurred_from]
    if any(not note.slide for note in slurred):
        yield LegendEntry(
            sign="slur", meaning="pluck the first note only; the fretting hand sounds the next on that string"
        )
    if any(note.slide for note in slurred):
        yield LegendEntry(
            sign="slanting line", meaning="slide: the finger stays on the string from one note to the other"
        )


def _events(variations: tuple[Variation, ...]) -> Iterator[LegendEntry]:
    used = {mark for variation in variations for event in variation.passage.events for mark in event.marks}
    for mark, (sign, meaning) in _EVENTS.items():
        if mark in used:
            yield LegendEntry(sign=sign, meaning=meaning, kind="digit" if len(sign) == 1 else "word")
    if any(note.muted for variation in variations for note in variation.passage.notes):
        yield LegendEntry(sign="×", meaning="damped string, no pitch")


def _staff(shown: dict[str, set[str]]) -> Iterator[LegendEntry]:
    if "tab" in shown:
        meaning = "lower staff: a line for each string, the highest on top, and the fret to stop; 0 is open"
        yield LegendEntry(sign="tablature", meaning=meaning)
