"""Skills in words: what the hands do, and its particulars, each from the parts that tell it from others of its kind."""

from __future__ import annotations

from collections.abc import Callable

from engrave.model.said import Said, say, strung
from engrave.model.wording import listed
from engrave.regimen.terms import parse_term, worded

_STROKES = {"free": say("free stroke"), "rest": say("rest stroke")}
_SIDES = {
    "bass strings": say("bass strings"),
    "treble strings": say("treble strings"),
    "between bass and treble": say("between bass and treble"),
}
_CROSSINGS = {
    ("natural", "treble"): say("natural crossings towards the treble"),
    ("natural", "bass"): say("natural crossings towards the bass"),
    ("awkward", "treble"): say("awkward crossings towards the treble"),
    ("awkward", "bass"): say("awkward crossings towards the bass"),
}
_WIDTHS = {"next string": say("next string"), "strings skipped": say("strings skipped")}
_COMFORT = {"beyond comfort": say("beyond comfort"), "within comfort": say("within comfort")}
_SHIFTS = {
    ("step", "higher"): say("steps to a higher position"),
    ("step", "lower"): say("steps to a lower position"),
    ("leap", "higher"): say("leaps to a higher position"),
    ("leap", "lower"): say("leaps to a lower position"),
}
_PLACES = {
    "frets 1 to 4": say("frets 1 to 4"),
    "frets 5 to 8": say("frets 5 to 8"),
    "fret 9 and above": say("fret 9 and above"),
}
_BARRES = {"full": say("full barre"), "half": say("half barre"), "hinge": say("hinge barre")}
_RHYTHMS = {
    "grace note": say("grace note"),
    "even notes in a tuplet": say("even notes in a tuplet"),
    "even notes": say("even notes"),
    "long then short": say("long then short"),
    "short then long": say("short then long"),
    "a rest between notes": say("a rest between notes"),
}
_AXES = {
    "place on the neck": say("place on the neck"),
    "rhythm": say("rhythm"),
    "fretting hand": say("fretting hand"),
    "slurs": say("slurs"),
    "plucking hand": say("plucking hand"),
    "stroke": say("stroke"),
    "accents": say("accents"),
}


def _on_side(finger: str, side: str) -> Said:
    if side == "bass":
        return say("fretting finger {finger} on the bass strings", finger=finger)
    return say("fretting finger {finger} on the treble strings", finger=finger)


def _asked(word: str) -> Said:
    """A term of a plan; a pair as its two fingers."""
    term = parse_term(word)
    return listed(term.parts) if term is not None and term.kind == "plucking pair" else worded(word)


_LABELS: dict[str, Callable[..., Said]] = {
    "pair": lambda first, second, *_: say("{second} after {first}", first=first, second=second),
    "again": lambda finger, *_: say("{finger} twice running", finger=finger),
    "chord": lambda fingers: say("{fingers} together", fingers=fingers),
    "crossing": lambda lie, towards, _: _CROSSINGS[lie, towards],
    "accent": lambda finger: say("accents on {finger}", finger=finger),
    "string": lambda string: say("plucked notes on string {string}", string=string),
    "finger": _on_side,
    "fingers": lambda first, second: say("fretting finger {second} after {first}", first=first, second=second),
    "slur": lambda first, second: say("slurs {first}-{second}", first=first, second=second),
    "let go": lambda finger: say("fretting finger {finger} letting go for an open string", finger=finger),
    "reach": lambda low, high, _: say("reaches between {low} and {high}", low=low, high=high),
    "shift": lambda size, way: _SHIFTS[size, way],
    "place": lambda place: _PLACES[place],
    "barre": lambda barre: _BARRES[barre],
    "rhythm": lambda rhythm: _RHYTHMS[rhythm],
    "tremolo": lambda fingers: say("tremolo {fingers}", fingers=fingers),
    "order": lambda fingers: strung([fingers]),
    "work": lambda axis, _: _AXES[axis],
    "asked": _asked,
}
_PARTICULARS: dict[str, Callable[..., Said]] = {
    "pair": lambda _, __, side, stroke: strung([_SIDES[side], _STROKES[stroke]], ", "),
    "again": lambda _, side, stroke: strung([_SIDES[side], _STROKES[stroke]], ", "),
    "crossing": lambda _, __, width: _WIDTHS[width],
    "reach": lambda _, __, comfort: _COMFORT[comfort],
}


def labelled(kind: str, parts: tuple[str, ...]) -> Said:
    """What the hands do, of a skill of this kind with these parts."""
    return _LABELS[kind](*parts)


def particulars(kind: str, parts: tuple[str, ...]) -> str:
    """How they do it; empty where that is all there is to say."""
    return _PARTICULARS[kind](*parts) if kind in _PARTICULARS else ""
