"""Fields of an ABC tune: key, metre, unit length, tempo, voice, as values of our own.

After the ABC 2.1 standard (abcnotation.com/wiki/abc:standard:v2.1), sections 3.1 and 4.6. Every function raises
ValueError with what the field should be; lengths are in quarters.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from engrave.model import Key, Metre
from engrave.model.pitch import LINE

_MODES = {"maj": 0, "ion": 0, "min": -3, "m": -3, "aeo": -3, "mix": -1, "dor": -2, "phr": -4, "lyd": 1, "loc": -5}
SIGNS = {"^^": 2, "^": 1, "=": 0, "_": -1, "__": -2}


_CLEFS = ("none", "perc", "treble", "bass", "alto", "tenor", "G", "F", "C", "C1", "C2", "C3", "C4", "F3", "F4", "G2")
"""other words that stand for a clef, without an octave"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """A key as ABC writes it."""

    key: Key = Key()
    """as printed"""
    alters: tuple[tuple[str, int], ...] = ()
    """step → semitones for every step that is not natural"""
    exact: bool = True
    """whether the printed signature says the same as `alters`"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sounding:
    """How far from the letters a voice sounds, as its clef and transposition say."""

    octaves: int | None = None
    """octaves up; None where nothing says so"""
    low: bool = False
    """on another clef than treble, which is read as it stands"""
    odd: int = 0
    """semitones of a transposition by no whole octave, which is left out"""
    unread: tuple[str, ...] = ()
    """what is said of octave, clef or transposition in no way the standard knows"""


def signature(text: str) -> Signature:
    """The key of K:, such as D, F#m, E dorian, HP, none, "D exp _b ^f"."""
    words = re.sub(r"\b[a-z]+=\S+", " ", text).split()
    words = [
        w for w in words if not re.fullmatch(r"(treble|bass|alto|tenor|perc|none)?[1-5]?([+-]8)?", w) or w == "none"
    ]
    if not words or words[0] == "none":
        return _explicit({}, Key(), words[1:])
    if words[0] in ("HP", "Hp"):
        fifths = 2 if words[0] == "Hp" else 0
        return Signature(key=Key(fifths=fifths), alters=tuple(_alters(fifths).items()))
    match = re.fullmatch(r"([A-G])([#b]?)([A-Za-z]*)", words[0])
    if not match and (words[0][0] in "^_=" or words[0] == "exp"):
        return _explicit({}, Key(), words)
    if not match:
        raise ValueError("a key such as D, F#m or E dorian")
    name = match[3] or (words[1] if len(words) > 1 and words[1][0].isalpha() and words[1] != "exp" else "")
    rest = words[1:] if match[3] or not name else words[2:]
    mode = "m" if name == "m" else name.lower()[:3] or "maj"
    if mode not in _MODES:
        raise ValueError("a key such as D, F#m or E dorian")
    fifths = LINE.index(match[1]) - 1 + {"#": 7, "b": -7, "": 0}[match[2]] + _MODES[mode]
    if not -7 <= fifths <= 7:
        raise ValueError("a key of at most seven signs")
    said = {"maj": "major", "ion": "major", "min": "minor", "m": "minor", "aeo": "minor"}.get(mode, "")
    return _explicit(_alters(fifths), Key(fifths=fifths, mode=said), rest)


def _alters(fifths: int) -> dict[str, int]:
    key = Key(fifths=fifths)
    return {step: key.alter(step) for step in "CDEFGAB" if key.alter(step)}


def _explicit(alters: dict[str, int], key: Key, words: list[str]) -> Signature:
    """A key with accidentals of its own behind it."""
    typed = [match for word in words if (match := re.fullmatch(r"(\^\^|\^|=|__|_)([A-Ga-g])", word))]
    if "exp" in words:
        alters = {}
    alters |= {match[2].upper(): SIGNS[match[1]] for match in typed}
    signs = tuple(sorted((step, alter) for step, alter in alters.items() if alter))
    if not typed and "exp" not in words:
        return Signature(key=key, alters=signs)
    plain = next((fifths for fifths in sorted(range(-7, 8), key=abs) if _alters(fifths) == dict(signs)), None)
    if plain is None:
        return Signature(alters=signs, exact=False)
    return Signature(key=key if plain == key.fifths else Key(fifths=plain), alters=signs)


def metre(text: str) -> Metre | None:
    """The metre of M:, None for "none"."""
    text = text.strip()
    if text.lower() in ("none", ""):
        return None
    if text in ("C", "C|"):
        return Metre(beats=(4,), unit=4, sign="common") if text == "C" else Metre(beats=(2,), unit=2, sign="cut")
    match = re.fullmatch(r"\(?\s*(\d{1,2}(?:\s*\+\s*\d{1,2}){0,5})\s*\)?\s*/\s*(\d{1,2})", text)
    if not match:
        raise ValueError("a metre such as 3/4, 6/8 or C")
    try:
        made = Metre(beats=tuple(int(b) for b in match[1].split("+")), unit=int(match[2]))
    except ValueError:
        raise ValueError("a metre with 1 2 4 8 16 32 below") from None
    if made.length > 32:
        raise ValueError("a metre of at most 32 quarters")
    return made


def unit(text: str) -> Fraction:
    """The unit length of L: in quarters."""
    match = re.fullmatch(r"(\d)(?:/(\d{1,3}))?", text.strip())
    if not match or not int(match[1]) or int(match[2] or 1) not in (1, 2, 4, 8, 16, 32, 64, 128):
        raise ValueError("a unit length such as 1/8")
    return Fraction(4 * int(match[1]), int(match[2] or 1))


def default_unit(time: Metre | None) -> Fraction:
    """The unit length where there is no L: (section 3.1.7): a sixteenth in metres below 3/4, else an eighth."""
    return Fraction(1, 4) if time is not None and time.length < 3 else Fraction(1, 2)


def tempo(text: str, unit_length: Fraction) -> Fraction | None:
    """Quarters a minute of Q:, None where it holds words only."""
    bare = re.sub(r'"[^"]*"', " ", text).strip()
    if not bare:
        return None
    match = re.fullmatch(r"(?:((?:\d{1,2}/\d{1,2}\s*){1,4})=\s*)?(\d{1,4})(?:\.\d+)?", bare)
    if not match or not int(match[2]):
        raise ValueError("a tempo such as 1/4=96")
    beats = [part.split("/") for part in (match[1] or "").split()]
    if any(not int(below) for _, below in beats):
        raise ValueError("a tempo such as 1/4=96")
    length = sum((Fraction(4 * int(a), int(b)) for a, b in beats), Fraction(0)) or unit_length
    found = length * int(match[2])
    if not 5 <= found <= 1000:
        raise ValueError("a tempo of 5 to 1000 quarters a minute")
    return found


def sound(text: str) -> Sounding:
    """What K: or V: says about clef, octave and transposition."""
    octaves: int | None = None
    low, odd = False, 0
    unread: list[str] = []
    for word in text.split():
        name, _, value = word.partition("=")
        value = value if name in ("clef", "octave", "transpose", "t") else word if not value else ""
        if name == "octave" and re.fullmatch(r"[+-]?\d", value):
            octaves = (octaves or 0) + int(value)
        elif name in ("transpose", "t") and re.fullmatch(r"[+-]?\d{1,2}", value):
            semitones = int(value)
            octaves = (octaves or 0) + semitones // 12 if semitones % 12 == 0 else octaves
            odd = 0 if semitones % 12 == 0 else semitones
        else:
            match = re.fullmatch(r'"?(treble|bass|alto|tenor)?[1-5]?([+-]8)?"?', value)
            if match and (match[1] or match[2]):
                low = low or match[1] in ("bass", "alto", "tenor")
                octaves = (octaves or 0) + {"-8": -1, "+8": 1, None: 0}[match[2]] if match[2] else octaves
            elif name in ("octave", "transpose", "t", "clef") and value and value.strip('"') not in _CLEFS:
                unread.append(word)
    return Sounding(octaves=octaves, low=low, odd=odd, unread=tuple(unread))
