"""How to read the marks: only those that the plates of the book really show."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from engrave.model import PLUCKING, Marks, Variation
from engrave.model.neck import tells_itself
from engrave.model.said import say, strung
from engrave.model.wording import listed
from engrave.pages.images import Impression
from engrave.pages.sign_font import CIRCLED

_PLUCKING = {"p": say("thumb"), "i": say("index"), "m": say("middle"), "a": say("ring"), "c": say("little finger")}
_FRETTING = {"1": say("index"), "2": say("middle"), "3": say("ring"), "4": say("little finger")}
_WORDS = {
    "sim.": say("go on plucking in the same way"),
    "rest stroke": say("the finger comes to rest on the next string (apoyando), until another word"),
    "place": say("set all the fingers of the chord on their strings before it is played"),
    "free stroke": say("the finger clears the next string (tirando), until another word"),
}
_BARRES = {
    "C": say("barre: one finger lies across all the strings it reaches at this fret, as long as the bracket"),
    "½C": say("half barre: the finger lies across part of the strings"),
    "hinge": say("hinge barre: the finger presses with its base while its tip is free, or the other way round"),
}
_EVENTS = {
    "accent": (">", say("accent: this note louder than its neighbours")),
    "marcato": ("^", say("strong accent")),
    "staccato": (say("dot"), say("over or under a head: short, stop the string at once")),
    "tenuto": (say("dash"), say("over or under a head: held for its full length")),
    "fermata": (say("fermata"), say("hold as long as you like")),
    "arpeggio": (say("wavy line"), say("the notes of the chord one after the other, from the lowest")),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LegendEntry:
    """One mark and what it says."""

    sign: str
    meaning: str
    kind: str = "word"
    """letter, digit, circle or word: how the sign is set"""


_NECK = (
    LegendEntry(
        sign=say("picture of the neck"),
        meaning=say(
            "a circle with a digit: the finger that stops this string there, or does so most often; a ring beside the "
            "nut: the open string; a bracket below: the frets of a position"
        ),
    ),
)


def legend(
    variations: Iterable[Variation],
    plates: Iterable[Impression],
    marks: Marks,
    *,
    neck: bool = False,
    texts: Iterable[str] = (),
) -> tuple[LegendEntry, ...]:
    """The marks of `plates`, which show `variations`: the plucking hand's first, then the fretting hand's.

    `neck`: pictures of the neck stand under some of them. `texts` are printed beside them and may name strings.
    """
    shown: dict[str, set[str]] = {}
    for plate in plates:
        for role, text in plate.shown:
            shown.setdefault(role, set()).add(text)
    music = tuple(variations)
    return (
        *_tuning(music),
        *_plucking(shown, marks),
        *_fretting(shown),
        *_strings(shown, music, marks, "".join(texts)),
        *_left_hand(shown),
        *_slurs(music),
        *_events(music),
        *_staff(shown),
        *(_NECK if neck else ()),
    )


def _tuning(variations: tuple[Variation, ...]) -> Iterator[LegendEntry]:
    """The instrument, where it is not what everybody expects."""
    for name, label in {v.instrument.name: v.instrument.label for v in variations}.items():
        if name != "standard":
            yield LegendEntry(sign=say("instrument"), meaning=label)


def _plucking(shown: dict[str, set[str]], marks: Marks) -> Iterator[LegendEntry]:
    letters = shown.get("letter", set())
    names = {finger: marks.little if finger == "c" else finger for finger in PLUCKING}
    used = {finger: name for finger, name in names.items() if name in letters}
    if used:
        sign = " ".join(used.values())
        yield LegendEntry(
            sign=sign,
            meaning=say("plucking hand: {fingers}", fingers=listed(_PLUCKING[f] for f in used)),
            kind="letter",
        )
    if "sweep" in shown:
        yield LegendEntry(
            sign=say("upright arrow"),
            meaning=say(
                "the thumb takes these strings in one stroke, from the lowest; a string between them without a note is "
                "damped by the fretting hand"
            ),
        )
    printed = shown.get("words", set()) | letters
    for word, meaning in _WORDS.items():
        # a variation's own sentence may name a stroke: "bass rest stroke, the others free"
        if word in printed or (word.endswith("stroke") and any(word in text for text in printed)):
            yield LegendEntry(sign=word if word == "sim." else say(word), meaning=meaning)


def _fretting(shown: dict[str, set[str]]) -> Iterator[LegendEntry]:
    digits = shown.get("digit", set())
    stopped = [digit for digit in _FRETTING if digit in digits]
    if stopped:
        fingers = listed(_FRETTING[digit] for digit in stopped)
        meaning = say("fretting hand: {fingers}", fingers=fingers)
        yield LegendEntry(sign=" ".join(stopped), meaning=meaning, kind="digit")
    if "0" in digits:
        yield LegendEntry(sign="0", meaning=say("open string"), kind="digit")
    if "guide" in shown:
        meaning = say("guide finger: it stays on its string and slides to this note unheard")
        yield LegendEntry(sign="–1", meaning=meaning, kind="digit")


def _strings(
    shown: dict[str, set[str]], music: tuple[Variation, ...], marks: Marks, words: str
) -> Iterator[LegendEntry]:
    """Numbers of strings at the staves or in `words`, and where they are not printed although the string changes."""
    printed = {int(text) for text in shown.get("string", set()) if text.isdecimal()}
    named = {number for number, sign in enumerate(CIRCLED) if number and sign in words}
    if not printed | named:
        return
    sign = "".join(CIRCLED[s] for s in sorted(printed | named) if s < len(CIRCLED))
    what = [say("the string, ① the highest")]
    if printed and marks.strings != "always":
        first = any(_untold(variation) for variation in music)
        what = [
            say("the string, ① the highest, printed where it changes, as a rule not in the first position")
            if first
            else say("the string, ① the highest, printed where it changes")
        ]
        if any(_in_chords(variation) for variation in music):
            what.append(say("at a chord it is that of the highest stopped note"))
    if "string line" in shown:
        what.append(say("the broken line runs along the notes it holds for"))
    yield LegendEntry(sign=sign, meaning=strung(what, "; "), kind="circle")


def _untold(variation: Variation) -> bool:
    """Whether notes of the first position have no circle (see `string_runs`)."""
    placed = [note.placement for note in variation.passage.notes if note.placement]
    return variation.study.strings == "as written" and any(tells_itself(place) for place in placed)


def _in_chords(variation: Variation) -> bool:
    """Whether two stopped notes are struck together in one voice."""
    return any(sum(bool(n.placement and n.placement.fret) for n in e.notes) > 1 for e in variation.passage.events)


def _left_hand(shown: dict[str, set[str]]) -> Iterator[LegendEntry]:
    if "position" in shown:
        yield LegendEntry(
            sign="II", meaning=say("position: the fret over which the first finger lies, in Roman numerals")
        )
    for start, meaning in _BARRES.items():
        if any(text.startswith(start) for text in shown.get("barre", set())):
            yield LegendEntry(
                sign=say("hinge {fret}", fret="II") if start == "hinge" else f"{start} II", meaning=meaning
            )
    if any(text.startswith("(") for text in shown.get("barre", set())):
        yield LegendEntry(sign="(C II)", meaning=say("where a line begins: the barre of the line before holds on"))


def _slurs(variations: tuple[Variation, ...]) -> Iterator[LegendEntry]:
    slurred = [n for variation in variations for n in variation.passage.notes if n.slurred_from]
    if any(not note.slide for note in slurred):
        yield LegendEntry(
            sign=say("slur"), meaning=say("pluck the first note only; the fretting hand sounds what the slur leads to")
        )
    if any(note.slide for note in slurred):
        yield LegendEntry(
            sign=say("slanting line"), meaning=say("slide: the finger stays on the string from one note to the other")
        )


def _events(variations: tuple[Variation, ...]) -> Iterator[LegendEntry]:
    used = {mark for variation in variations for event in variation.passage.events for mark in event.marks}
    for mark, (sign, meaning) in _EVENTS.items():
        if mark in used:
            yield LegendEntry(sign=sign, meaning=meaning, kind="digit" if len(sign) == 1 else "word")
    if any(note.muted for variation in variations for note in variation.passage.notes):
        yield LegendEntry(sign="×", meaning=say("damped string, no pitch"))


def _staff(shown: dict[str, set[str]]) -> Iterator[LegendEntry]:
    if "tab" in shown:
        meaning = say("lower staff: a line for each string, the highest on top, and the fret to stop; 0 is open")
        yield LegendEntry(sign=say("tablature"), meaning=meaning)
