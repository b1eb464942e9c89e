"""Skills in words: what the hands do, and its particulars, each from the parts that tell it from others of its kind."""

from __future__ import annotations

from collections.abc import Callable

from engrave.model.said import Said, say, strung
from engrave.model.wording import listed
from engrave.regimen.terms import parse_term, worded

_WORDS = {
    str(word): word
    for word in (
        *(say("free stroke"), say("rest stroke")),
        *(say("bass strings"), say("treble strings"), say("between bass and treble")),
        *(say("next string"), say("strings skipped")),
        *(say("beyond comfort"), say("within comfort")),
        *(say("frets 1 to 4"), say("frets 5 to 8"), say("fret 9 and above")),
        *(say("grace note"), say("even notes in a tuplet"), say("even notes")),
        *(say("long then short"), say("short then long"), say("a rest between notes")),
        *(say("place on the neck"), say("rhythm"), say("fretting hand"), say("slurs")),
        *(say("plucking hand"), say("stroke"), say("accents")),
        *(say("natural crossings towards the treble"), say("natural crossings towards the bass")),
        *(say("awkward crossings towards the treble"), say("awkward crossings towards the bass")),
        *(say("steps to a higher position"), say("steps to a lower position")),
        *(say("leaps to a higher position"), say("leaps to a lower position")),
        *(say("full barre"), say("half barre"), say("hinge barre")),
    )
}
"""what is said in the words of a skill's parts"""


def _on_side(finger: str, side: str) -> Said:
    if side == "bass":
        return say("fretting finger {finger} on the bass strings", finger=finger)
    return say("fretting finger {finger} on the treble strings", finger=finger)


def _asked(word: str) -> Said:
    """A term of a plan; a pair as its two fingers."""
    term = parse_term(word)
    return listed(term.parts) if term is not None and term.kind == "plucking pair" else worded(word)


LABELS: dict[str, Callable[..., Said]] = {
    "pair": lambda first, second, *_: say("{second} after {first}", first=first, second=second),
    "again": lambda finger, *_: say("{finger} twice running", finger=finger),
    "chord": lambda fingers: say("{fingers} together", fingers=fingers),
    "crossing": lambda lie, towards, _: _WORDS[f"{lie} crossings towards the {towards}"],
    "accent": lambda finger: say("accents on {finger}", finger=finger),
    "string": lambda string: say("plucked notes on string {string}", string=string),
    "finger": _on_side,
    "fingers": lambda first, second: say("fretting finger {second} after {first}", first=first, second=second),
    "slur": lambda first, second: say("slurs {first}-{second}", first=first, second=second),
    "let go": lambda finger: say("fretting finger {finger} letting go for an open string", finger=finger),
    "reach": lambda low, high, _: say("reaches between {low} and {high}", low=low, high=high),
    "shift": lambda size, way: _WORDS[f"{size}s to a {way} position"],
    "place": lambda place: _WORDS[place],
    "barre": lambda barre: _WORDS[f"{barre} barre"],
    "rhythm": lambda rhythm: _WORDS[rhythm],
    "tremolo": lambda fingers: say("tremolo {fingers}", fingers=fingers),
    "order": lambda fingers: strung([fingers]),
    "work": lambda axis, _: _WORDS[axis],
    "asked": _asked,
}
"""kind of skill → what the hands do, from its parts"""
PARTICULARS: dict[str, Callable[..., Said]] = {
    "pair": lambda _, __, side, stroke: strung([_WORDS[side], _WORDS[f"{stroke} stroke"]], ", "),
    "again": lambda _, side, stroke: strung([_WORDS[side], _WORDS[f"{stroke} stroke"]], ", "),
    "crossing": lambda _, __, width: _WORDS[width],
    "reach": lambda _, __, comfort: _WORDS[comfort],
}
"""kind of skill → how they do it, where there is more to say"""
