"""Words for what a player finds strong, weak or worth a goal.

A term names a finger, a pair of fingers, a slur, a string or a technique:

| written | means |
|---|---|
| `a`, `thumb`, `ring finger` | a plucking finger |
| `m-a` | two plucking fingers in turn, either way round |
| `finger 3` | a fretting finger |
| `fingers 3-4` | two fretting fingers in turn, either way round |
| `slur 2-1`, `slur 0-2` | a slur from one finger to another; 0 is the open string |
| `string 5` | a string, the first being the highest |
| `slurs`, `shifts`, … | a technique, one of TECHNIQUES |
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from engrave.model import PLUCKING
from engrave.model.said import Said, say, strung

TECHNIQUES = (
    say("slurs"),
    say("pull-offs"),
    say("hammer-ons"),
    say("plucking"),
    say("rest stroke"),
    say("free stroke"),
    say("accents"),
    say("string crossing"),
    say("awkward crossings"),
    say("chords"),
    say("fretting"),
    say("letting go"),
    say("stretches"),
    say("shifts"),
    say("barre"),
    say("high positions"),
    say("bass strings"),
    say("treble strings"),
    say("rhythm"),
    say("tremolo"),
)
"""techniques a term can name"""
GRAMMAR = (
    "a plucking finger (p i m a c; thumb, index, middle, ring or little finger), a plucking pair (m-a), "
    "finger 1 to 4, fingers 3-4, slur 2-1, string 5, or one of: " + ", ".join(TECHNIQUES)
)
"""what a term can be, for messages and for the starter plan"""

FINGERS = {
    "p": say("thumb"),
    "i": say("index finger"),
    "m": say("middle finger"),
    "a": say("ring finger"),
    "c": say("little finger"),
}
"""plucking letter → the finger in words"""
_SHORT = {"i": say("index"), "m": say("middle"), "a": say("ring"), "c": say("little")}
"""plucking letter → the finger as a plan may also name it"""
_WORDS = {str(word): letter for names in (FINGERS, _SHORT) for letter, word in names.items()}
_PATTERNS = (
    ("plucking finger", re.compile(rf"([{PLUCKING}])")),
    ("plucking pair", re.compile(rf"([{PLUCKING}])-([{PLUCKING}])")),
    ("finger", re.compile(r"finger ([1-4])")),
    ("fingers", re.compile(r"fingers ([1-4])-([1-4])")),
    ("slur", re.compile(r"slur ([0-4])-([0-4])")),
    ("string", re.compile(r"string ([1-9]|10)")),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """One thing that can be strong, weak or a goal."""

    kind: str
    """plucking finger, plucking pair, finger, fingers, slur, string or technique"""
    parts: tuple[str, ...]
    """what it names, e.g. ("m", "a"), ("3",) or ("shifts",)"""


def parse_term(text: str) -> Term | None:
    """The term that `text` writes, or None. Case and doubled spaces do not matter."""
    plain = " ".join(text.lower().split())
    plain = _WORDS.get(plain, plain)
    if plain in TECHNIQUES:
        return Term(kind="technique", parts=(plain,))
    for kind, pattern in _PATTERNS:
        match = pattern.fullmatch(plain)
        if match and len(set(match.groups())) == len(match.groups()):
            return Term(kind=kind, parts=match.groups())
    return None


@cache
def terms_of(words: tuple[str, ...]) -> tuple[tuple[str, Term], ...]:
    """The plan's words with what they name. Raises ValueError for a word that names nothing."""
    found = tuple((word, parse_term(word)) for word in words)
    if any(term is None for _, term in found):
        raise ValueError(f"{words} holds a word that is no term")
    return tuple((word, term) for word, term in found if term)


def worded(word: str) -> Said:
    """A term as a plan writes it, in words that can be said in any language; of a plucking hand the letters stay."""
    plain = " ".join(word.lower().split())
    term = parse_term(plain)
    if term is None or term.kind == "plucking pair" or plain in PLUCKING:
        return strung([plain])
    if term.kind == "plucking finger":
        return (FINGERS if plain in FINGERS.values() else _SHORT)[term.parts[0]]
    if term.kind == "technique":
        return TECHNIQUES[TECHNIQUES.index(term.parts[0])]
    return _WORDED[term.kind](*term.parts)


_WORDED: dict[str, Callable[..., Said]] = {
    "finger": lambda finger: say("finger {finger}", finger=finger),
    "fingers": lambda first, second: say("fingers {first}-{second}", first=first, second=second),
    "slur": lambda first, second: say("slur {first}-{second}", first=first, second=second),
    "string": lambda string: say("string {string}", string=string),
}
"""kind of term → its words from its parts"""


def plucks(term: Term) -> bool:
    """Whether a thing is the plucking hand's."""
    return term.kind in ("plucking finger", "plucking pair") or term.parts[0] in _PLUCKED


_PLUCKED = (
    *("plucking", "rest stroke", "free stroke", "accents", "string crossing", "awkward crossings", "chords"),
    *("rhythm", "tremolo"),
)
"""techniques of the plucking hand"""


def known_terms() -> tuple[str, ...]:
    """Every term there is, in words, for finding the nearest one."""
    pairs = tuple(f"{a}-{b}" for a in PLUCKING for b in PLUCKING if a != b)
    fingers = tuple(f"finger {n}" for n in range(1, 5))
    both = tuple(f"fingers {a}-{b}" for a in range(1, 5) for b in range(1, 5) if a != b)
    slurs = tuple(f"slur {a}-{b}" for a in range(5) for b in range(5) if a != b)
    strings = tuple(f"string {n}" for n in range(1, 11))
    return (*TECHNIQUES, *_WORDS, *PLUCKING, *pairs, *fingers, *both, *slurs, *strings)
