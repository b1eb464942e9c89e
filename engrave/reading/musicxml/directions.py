"""Directions of a part: words, barres and positions with their ends, stroke kinds and tempo."""

from __future__ import annotations

import re
from collections.abc import Container, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from xml.etree.ElementTree import Element

from engrave.model.errors import one_line
from engrave.model.said import say
from engrave.reading.limits import LIMITS
from engrave.reading.musicxml.guitar_words import barre_of, classify
from engrave.reading.musicxml.sign_names import left_out
from engrave.reading.musicxml.timed_notes import TYPES, Walked
from engrave.reading.numbers import decimal, whole
from engrave.reading.source_bars import PrintedSign
from engrave.reading.tally import Tally

JUMPS = say("left out: jumps (segno, coda); the bars are printed in order")
_LEFT_OUT = {
    "wedge": say("left out: hairpins"),
    "dynamics": say("left out: dynamics"),
    "pedal": say("left out: pedal marks"),
    "octave-shift": say("octave lines are not printed; the notes stand at their true pitch"),
    "segno": JUMPS,
    "coda": JUMPS,
    "rehearsal": say("left out: rehearsal marks"),
    "scordatura": say("left out: a retuning inside the piece (scordatura)"),
}
_LINES = ("dashes", "bracket")
_TEXTS = ("words", "other-direction", "symbol")
_CHORD = re.compile(r"[A-G][#b♯♭]?(?:m|maj|min|dim|aug|sus)?(?:2|4|5|6|7|9|11|13)?(?:sus[24])?(?:/[A-G][#b♯♭]?)?\Z")
"""names of chords, typed as words"""
_NOTES = {2: "𝅗𝅥", 4: "♩", 8: "♪"}
_SLOWEST, _FASTEST = 5, 1000
"""quarters a minute outside which a tempo is taken for a slip"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """What the directions of a part say."""

    signs: tuple[PrintedSign, ...]
    tempo: Fraction | None
    """quarters a minute at the start"""


def read_signs(
    bars: Sequence[Walked],
    staves: Container[int],
    earlier: Sequence[Element],
    used: Container[Element],
    tally: Tally,
) -> Signs:
    """Directions that belong to the staves read or to none.

    `earlier` are directions before the first bar read, of which tempo and stroke kind stay in force; `used` are dealt
    with already.
    """
    made, tempo = _in_force(earlier, staves)
    texts = (_text(found) for bar in bars for _, found in bar.directions)
    chords = any(len(text) > 1 and _CHORD.match(text) and barre_of(text) is None for text in texts)
    opened: dict[tuple[str, str], tuple[int, Fraction]] = {}
    ends: dict[tuple[int, Fraction], tuple[int, Fraction]] = {}
    first: Fraction | None = None
    for index, bar in enumerate(bars):
        for at, found in bar.directions:
            if not _mine(found, staves) or found in used:
                continue
            sign, speed = _direction(found, index, at, bar.label, tally)
            if chords and sign is not None and sign.kind == "barre" and _CHORD.match(sign.text):
                sign = replace(sign, kind="words", fret=None)
            if sign is not None:
                made.append(sign)
            if speed is not None:
                first = speed if first is None else first
                tempo = speed if index == 0 and at == 0 else tempo
            for line in found.iter():
                key = (line.tag, line.get("number", "1"))
                if line.tag in _LINES and line.get("type") == "start":
                    opened[key] = (index, at)
                elif line.tag in _LINES and line.get("type") == "stop" and key in opened:
                    ends[opened.pop(key)] = (index, at)
    signs = (_ended(sign, ends.get((sign.bar, sign.at))) for sign in made)
    return Signs(signs=tuple(dict.fromkeys(signs)), tempo=first if tempo is None else tempo)


def _text(found: Element) -> str:
    """The words of a direction on one line."""
    words = (part.text or "" for kind in found.findall("direction-type") for part in kind if part.tag in _TEXTS)
    return one_line(" ".join(" ".join(words).split()), LIMITS.words)


def _mine(found: Element, staves: Container[int]) -> bool:
    staff = whole(found.findtext("staff"), 1, 99)
    return staff is None or staff in staves


def _in_force(earlier: Sequence[Element], staves: Container[int]) -> tuple[list[PrintedSign], Fraction | None]:
    """Stroke kind and tempo set before the first bar read."""
    stroke: PrintedSign | None = None
    tempo: Fraction | None = None
    silent = Tally()
    for found in earlier:
        if _mine(found, staves):
            sign, speed = _direction(found, 0, Fraction(0), "", silent)
            stroke = sign if sign is not None and sign.kind == "stroke" else stroke
            tempo = tempo if speed is None else speed
    return ([stroke] if stroke else []), tempo


def _ended(sign: PrintedSign, end: tuple[int, Fraction] | None) -> PrintedSign:
    if sign.kind not in ("barre", "position") or end is None:
        return sign
    return replace(sign, end_bar=end[0], end_at=end[1])


def _direction(
    found: Element, index: int, at: Fraction, label: str, tally: Tally
) -> tuple[PrintedSign | None, Fraction | None]:
    """The sign a direction makes, and the speed it sets in quarters a minute."""
    sound = found if found.tag == "sound" else found.find("sound")
    speed = _sane(decimal(sound.get("tempo"))) if sound is not None else None
    mark = ""
    for part in (part for kind in found.findall("direction-type") for part in kind):
        if part.tag == "metronome":
            shown, mark = _metronome(part)
            speed = speed if shown is None else shown
            if not mark:
                tally.add(say("left out: a metronome mark that gives no speed"), label)
        elif part.tag not in _LINES and part.tag not in _TEXTS:
            tally.add(_LEFT_OUT.get(part.tag) or left_out(part.tag), label)
    text = _text(found)
    if (speed is not None and text) or mark:
        return PrintedSign(kind="tempo", text=" ".join(part for part in (text, mark) if part), bar=index, at=at), speed
    if not text:
        return None, speed
    kind, said, fret = classify(text)
    return PrintedSign(kind=kind, text=said, bar=index, at=at, fret=fret), speed


def _sane(speed: Fraction | None) -> Fraction | None:
    return speed if speed is not None and _SLOWEST <= speed <= _FASTEST else None


def _metronome(found: Element) -> tuple[Fraction | None, str]:
    """Quarters a minute and the mark as printed, e.g. "♩. = 60"; empty where it says no speed."""
    kind = TYPES.get((found.findtext("beat-unit") or "").strip())
    per = one_line(found.findtext("per-minute") or "", 20)
    figures = "".join(c if c in "0123456789." else " " for c in per).split()
    dots = len(found.findall("beat-unit-dot"))
    speed = decimal(figures[0].strip(".")) if figures else None
    if not kind or speed is None or dots > 2:
        return None, ""
    quarters = _sane(speed * Fraction(4, kind) * (2 - Fraction(1, 2**dots)))
    return quarters, f"{_NOTES.get(kind, f'1/{kind}')}{'.' * dots} = {per}" if quarters is not None else ""
