"""Directions of a part: words, barres and positions with their ends, stroke kinds and tempo."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from xml.etree.ElementTree import Element

from engrave.model.errors import one_line
from engrave.reading.extras import Sign
from engrave.reading.limits import LIMITS
from engrave.reading.tally import Tally
from engrave.reading.timeline import TYPES, Walked, decimal, number
from engrave.reading.words import classify

_LEFT_OUT = {
    "wedge": "left out: hairpins",
    "dynamics": "left out: dynamics",
    "pedal": "left out: pedal marks",
    "octave-shift": "octave lines are not printed; the notes stand at their true pitch",
    "segno": "left out: jumps (segno, coda); the bars are printed in order",
    "coda": "left out: jumps (segno, coda); the bars are printed in order",
    "rehearsal": "left out: rehearsal marks",
    "scordatura": "left out: a retuning inside the piece (scordatura)",
}
_LINES = frozenset(("dashes", "bracket"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """What the directions of a part say."""

    signs: tuple[Sign, ...]
    tempo: Fraction | None
    """quarters a minute at the start"""


@dataclass(slots=True)
class _Line:
    """A dashed line or bracket: where it begins and ends."""

    bar: int
    at: Fraction
    end: tuple[int, Fraction] | None = None


def read_signs(bars: Sequence[Walked], staff: int, beside: Sequence[int], tally: Tally) -> Signs:
    """Directions that belong to the staff read, to the tablature beside it or to no staff at all."""
    made: list[Sign] = []
    tempi: list[tuple[int, Fraction, Fraction]] = []
    lines: list[_Line] = []
    opened: dict[tuple[str, str], _Line] = {}
    for index, bar in enumerate(bars):
        for at, found in bar.directions:
            mine = number(found.findtext("staff"), 1, 99)
            if mine is not None and mine != staff and mine not in beside:
                continue
            said, speed = _direction(found, index, at, bar.label, tally)
            made += said
            if speed is not None:
                tempi.append((index, at, speed))
            for line in found.iter():
                if line.tag in _LINES:
                    _line(line, index, at, opened, lines)
    spans = {(line.bar, line.at): line.end for line in lines if line.end is not None}
    signs = [_ended(sign, spans) if sign.kind in ("barre", "position") else sign for sign in made]
    first = next((speed for index, at, speed in tempi if index == 0), tempi[0][2] if tempi else None)
    return Signs(signs=tuple(dict.fromkeys(signs)), tempo=first)


def _line(found: Element, index: int, at: Fraction, opened: dict[tuple[str, str], _Line], lines: list[_Line]) -> None:
    key = (found.tag, found.get("number", "1"))
    if found.get("type") == "start":
        opened[key] = _Line(index, at)
        lines.append(opened[key])
    elif found.get("type") == "stop" and key in opened:
        opened.pop(key).end = (index, at)


def _ended(sign: Sign, spans: dict[tuple[int, Fraction], tuple[int, Fraction]]) -> Sign:
    end = spans.get((sign.bar, sign.at))
    return replace(sign, end_bar=end[0], end_at=end[1]) if end else sign


def _direction(
    found: Element, index: int, at: Fraction, label: str, tally: Tally
) -> tuple[list[Sign], Fraction | None]:
    sound = found if found.tag == "sound" else found.find("sound")
    speed = _speed(sound.get("tempo")) if sound is not None else None
    words: list[str] = []
    beat = ""
    for kind in found.iter("direction-type"):
        for part in kind:
            if part.tag == "words" and (part.text or "").strip():
                words.append(part.text or "")
            elif part.tag == "metronome":
                metronome, beat = _metronome(part)
                speed = metronome if metronome is not None else speed
                if not beat:
                    tally.add("left out: a metronome mark that compares two values", label)
            elif part.tag in _LEFT_OUT:
                tally.add(_LEFT_OUT[part.tag], label)
            elif part.tag not in _LINES and part.tag not in ("words", "metronome"):
                tally.add(f"left out: directions ({part.tag})", label)
    text = one_line(" ".join(" ".join(words).split()), LIMITS.words)
    if speed is not None and (text or beat):
        said = " ".join(part for part in (text, beat) if part)
        return [Sign(kind="tempo", text=said, bar=index, at=at)], speed
    if not text:
        return [], speed
    kind_, said, fret = classify(text)
    return [Sign(kind=kind_, text=said, bar=index, at=at, fret=fret)], speed


def _speed(text: str | None) -> Fraction | None:
    value = decimal(text)
    return value if value is not None and 5 <= value <= 1000 else None


def _metronome(found: Element) -> tuple[Fraction | None, str]:
    """Quarters a minute and the mark in words, e.g. "1/4. = 60"; empty where it says no speed."""
    unit = (found.findtext("beat-unit") or "").strip()
    per = (found.findtext("per-minute") or "").strip()
    digits = "".join(c if c.isdecimal() or c == "." else " " for c in per).split()
    if unit not in TYPES or not TYPES[unit] or not digits:
        return None, ""
    dots = len(found.findall("beat-unit-dot"))
    speed = decimal(digits[0].strip("."))
    if speed is None or not 1 <= speed <= 1000 or dots > 2:
        return None, ""
    length = Fraction(4, TYPES[unit]) * (2 - Fraction(1, 2**dots))
    signs = {2: "𝅗𝅥", 4: "♩", 8: "♪"}
    sign = signs.get(TYPES[unit], f"1/{TYPES[unit]}") + "." * dots
    return speed * length, f"{sign} = {one_line(per, 20)}"
