"""The header of a text tablature: `key: value` lines, and what they mean."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

from engrave import instruments
from engrave.model import Fault, Key, Metre, Notice, Pitch, Place
from engrave.model.errors import one_line
from engrave.model.pitch import LINE
from engrave.model.said import say
from engrave.reading.limits import LIMITS

KEYS = ("title", "composer", "rights", "source", "tuning", "capo", "metre", "key", "column", "tempo", "pickup")
"""the keys a header knows; metre, key and column may also stand between systems"""
_LINE = re.compile(r"\s*([A-Za-z][A-Za-z .-]{0,30}?)\s*:(?!\S*//)\s*(.*?)\s*\Z")
STANDARD = tuple(Pitch.parse(name) for name in ("E4", "B3", "G3", "D3", "A2", "E2"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """What is in force for the systems below it."""

    metre: Metre | None = None
    """None where nothing says so"""
    key: Key | None = None
    column: Fraction | None = None
    """value of one column of characters in quarters"""


@dataclass(slots=True, kw_only=True)
class Header:
    """What the lines above the first system say, gathered while reading."""

    words: dict[str, str] = field(default_factory=dict)
    """title, composer, rights, source"""
    tuning: tuple[Pitch, ...] | None = None
    """the first (highest) string first"""
    capo: int = 0
    tempo: tuple[Fraction, Fraction | None] | None = None
    """beats a minute and the beat's length in quarters, None for the beat of the metre"""
    pickup: Fraction | None = None
    terms: Terms = Terms()
    seen: dict[str, int] = field(default_factory=dict)
    """key → line it stood on"""


def key_value(line: str) -> tuple[str, str] | None:
    """The key (lower case) and value of a line that has the shape of a header line."""
    match = _LINE.match(line)
    return (match[1].lower(), match[2]) if match else None


def take(
    header: Header, key: str, value: str, place: Place, *, beside: bool, below: bool
) -> tuple[list[Fault], list[Notice]]:
    """Enter one header line. `beside`: it stands among known ones; `below`: a system stands above it."""
    if key not in KEYS:
        near = difflib.get_close_matches(key, KEYS, n=1, cutoff=0.7)
        if near and not below:
            hint = f"did you mean {near[0]}? known: {', '.join(KEYS)}"
            return [Fault(fact=f"{key!r} is not a key of the header", hint=hint, place=place)], []
        text = say("{key} is not a key of the header; the line is left out", key=repr(key))
        return [], [Notice(text=text, place=place)] if beside and not below else []
    if below and key not in _TERMS:
        hint = f"move it up; between systems only {', '.join(_TERMS)} may change"
        return [Fault(fact=f"{key!r} stands below the first system", hint=hint, place=place)], []
    if key in header.seen and not (below and key in _TERMS):
        said = f"{key!r} stands twice, first in line {header.seen[key]}"
        return [Fault(fact=said, hint="leave one of them out", place=place)], []
    header.seen[key] = place.line or 0
    try:
        _enter(header, key, value)
    except ValueError as error:
        fact = f"{key} {one_line(value, 40)!r} is not {error.args[0]}"
        return [Fault(fact=fact, hint=error.args[1] if len(error.args) > 1 else "", place=place)], []
    return [], []


def _enter(header: Header, key: str, value: str) -> None:
    """Put a value in its place. Raises ValueError(what it should be, hint)."""
    if key in _TERMS:
        header.terms = replace(header.terms, **{key: _TERMS[key](value)})
    elif key in _FACTS:
        setattr(header, key, _FACTS[key](value))
    else:
        header.words[key] = one_line(value, LIMITS.words)


def tuning(value: str) -> tuple[Pitch, ...]:
    """Open strings, the first (highest) one first, from a name of shared/instruments.toml or from pitches, low to high.

    Pitches carry their octave (D2 A2 D3 G3 B3 E4) or not (D A D G B E, DADGBE): then each is the one nearest to the
    standard string. Raises ValueError(what it should be, hint).
    """
    names = instruments.instrument_names()
    name = value.strip().lower().replace(" ", "-")
    if name in names:
        return instruments.find_instrument(name).strings
    words = value.replace(",", " ").split()
    if len(words) == 1:
        words = re.findall(r"[A-Ga-g](?:##|bb|[#b♯♭])?-?\d?", words[0]) if len(words[0]) <= 40 else []
        words = words if "".join(words) == value.strip() else []
    hint = f"known: {', '.join(names)}; or strings from the lowest to the highest, such as D A D G B E"
    try:
        if not 3 <= len(words) <= 10:
            raise ValueError
        if all(word[-1].isdigit() for word in words):
            strings = tuple(Pitch.parse(word[0].upper() + word[1:]) for word in words)
            strings = strings if strings[0].midi < strings[-1].midi else strings[::-1]
        else:
            strings = tuple(near(word, len(words) - index) for index, word in enumerate(words))
    except ValueError:
        raise ValueError("a tuning", hint) from None
    if any(not 12 <= pitch.midi <= 96 for pitch in strings):
        raise ValueError("a tuning a plucked string can sound", "C1 (midi 24) to C6 (midi 84) is usual")
    return strings[::-1]


def near(name: str, string: int) -> Pitch:
    """The pitch called `name` (no octave) that lies nearest to where `string` (1 = highest) usually is."""
    usual = STANDARD[string - 1].midi if string <= 6 else STANDARD[5].midi - 5 * (string - 6)
    found = [Pitch.parse(f"{name[0].upper()}{name[1:]}{octave}") for octave in range(7)]
    return min(found, key=lambda pitch: (abs(pitch.midi - usual), pitch.midi))


def _capo(value: str) -> int:
    text = value.lower().strip()
    if text in ("", "none", "no", "no capo", "0", "-"):
        return 0
    match = re.fullmatch(r"(?:(?:on|at)?\s*(?:the\s*)?fret\s*)?(\d{1,3})\s*(?:st|nd|rd|th|\.)?\s*(?:fret)?", text)
    if not match or int(match[1]) > 12:
        raise ValueError("a fret from 0 to 12", "such as capo: 2")
    return int(match[1])


def _tempo(value: str) -> tuple[Fraction, Fraction | None]:
    match = re.fullmatch(r"(?:(1/\d{1,2}\.?)\s*=\s*)?(\d{1,4})(?:\s*bpm)?", value.strip())
    if not match or not 10 <= int(match[2]) <= 500:
        raise ValueError("a number of beats from 10 to 500", "such as tempo: 96, or tempo: 1/4 = 96")
    unit = None
    if match[1]:
        unit = _length(match[1].rstrip(".")) * (Fraction(3, 2) if match[1].endswith(".") else 1)
    return Fraction(int(match[2])), unit


def _length(value: str) -> Fraction:
    """A part of a whole note such as 1/8 or 3/16, in quarters."""
    match = re.fullmatch(r"(\d{1,2})/(\d{1,2})", value.strip())
    if not match or not int(match[1]) or int(match[2]) not in (1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 64):
        raise ValueError("a part of a whole note", "such as 1/16; 1/12 is an eighth of a triplet")
    return Fraction(4 * int(match[1]), int(match[2]))


def _metre(value: str) -> Metre:
    text = value.strip()
    if text.lower() in ("c", "common"):
        return Metre(beats=(4,), unit=4, sign="common")
    if text.lower() in ("c|", "cut"):
        return Metre(beats=(2,), unit=2, sign="cut")
    match = re.fullmatch(r"(\d{1,2}(?:\+\d{1,2}){0,5})\s*/\s*(\d{1,2})", text)
    beats = tuple(int(b) for b in match[1].split("+")) if match else ()
    if not match or not all(beats) or int(match[2]) not in (1, 2, 4, 8, 16, 32):
        raise ValueError("a metre", "such as 3/4, 6/8 or 3+2/8")
    made = Metre(beats=beats, unit=int(match[2]))
    if made.length > 32:
        raise ValueError("a metre of at most 32 quarters", "such as 3/4, 6/8 or 3+2/8")
    return made


def _key(value: str) -> Key:
    """A key from "A minor", "Am", "F# major", "Bb", "none"."""
    text = value.strip()
    if text.lower() in ("", "none", "no"):
        return Key()
    match = re.fullmatch(r"([A-Ga-g])\s*(#|b|♯|♭|sharp|flat)?\s*-?\s*(major|minor|maj|min|m|M)?", text)
    if match:
        minor = match[3] in ("minor", "min", "m") or (match[3] is None and match[1].islower() and match[2] is None)
        fifths = LINE.index(match[1].upper()) - (4 if minor else 1)
        fifths += {"#": 7, "♯": 7, "sharp": 7, "b": -7, "♭": -7, "flat": -7}.get(match[2] or "", 0)
        if -7 <= fifths <= 7:
            return Key(fifths=fifths, mode="minor" if minor else "major")
    raise ValueError("a key of at most seven signs", "such as A minor, Em, F# minor or Bb major")


_TERMS: dict[str, Callable[[str], Any]] = {"metre": _metre, "key": _key, "column": _length}
"""keys that may change between systems → what reads their value"""
_FACTS: dict[str, Callable[[str], Any]] = {"tuning": tuning, "capo": _capo, "tempo": _tempo, "pickup": _length}
"""keys of the whole piece that are no words"""
