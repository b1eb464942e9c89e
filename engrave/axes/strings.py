"""The `strings` axis: where on the neck the line lies."""

from __future__ import annotations

import re
from functools import partial

from engrave.axes import moves
from engrave.axes.basses import WOUND
from engrave.axes.moves import CIRCLED
from engrave.axes.setting import Axis, Setting, unchanged
from engrave.model.said import say, say_count
from engrave.model.texture import LINE

AXIS = "strings"
_ON = re.compile(r"(shape|intervals) on ([1-9]|10)\Z")
_ALONG = re.compile(r"(up|down) ([1-9]|1\d|2[0-4])\Z")
_OPEN = re.compile(r"open ([1-9]|10)\Z")
_CLIMB = re.compile(r"climb by ([1-8]) bars?\Z")
PLAIN = say("The tone stays the same though string and gauge change: listen for the colour, not only the pitch.")


_setting = partial(Setting, AXIS, kind="place")


def _shape(string: int) -> Setting:
    return _setting(
        f"shape on {string}",
        say("same frets from {string}", string=CIRCLED[string - 1]),
        say(
            "The same frets and fingers with {string} as the highest string: no string stays strange.",
            string=CIRCLED[string - 1],
        ),
        WOUND if string > 3 else PLAIN,
        change=partial(moves.shape_on, number=string),
    )


def _intervals(string: int) -> Setting:
    return _setting(
        f"intervals on {string}",
        say("same intervals from {string}", string=CIRCLED[string - 1]),
        say(
            "The same tune with {string} as the highest string: frets change where the tuning asks for it.",
            string=CIRCLED[string - 1],
        ),
        say("Sing the tune first: the ear leads, the hand finds the fret that has changed."),
        change=partial(moves.intervals_on, number=string),
    )


def _along(way: str, frets: int) -> Setting:
    up = way == "up"
    higher = say_count("{n} fret higher", "{n} frets higher", frets)
    lower = say_count("{n} fret lower", "{n} frets lower", frets)
    narrower = say_count(
        "The fretted notes {n} fret higher, where the frets are narrower; open strings stay open.",
        "The fretted notes {n} frets higher, where the frets are narrower; open strings stay open.",
        frets,
    )
    wider = say_count(
        "The fretted notes {n} fret lower, where the frets are wider; open strings stay open.",
        "The fretted notes {n} frets lower, where the frets are wider; open strings stay open.",
        frets,
    )
    return _setting(
        f"{way} {frets}",
        higher if up else lower,
        narrower if up else wider,
        say("The arm carries the hand to its place; the fingers keep their shape.")
        if up
        else say("The hand opens from the palm; no stretch is held."),
        change=partial(moves.along, frets=frets if up else -frets),
    )


def _climb(bars: int) -> Setting:
    label = say("climbing over the strings")
    if bars > 1:
        label = say("climbing over the strings every {n} bars", n=bars)
    return _setting(
        "climb" if bars == 1 else f"climb by {bars} bars",
        label,
        say_count(
            "Each bar on a higher string with the same frets, from the lowest to the highest; bars left over go down "
            "again.",
            "Each {n} bars on a higher string with the same frets, from the lowest to the highest; bars left over go "
            "down again.",
            bars,
        ),
        say("The change of string comes in time: look ahead to the next bar while this one still sounds."),
        change=partial(moves.climb, bars=bars),
        # chords and basses lie on many strings at once: they have nowhere to climb to
        fits=(LINE,),
        whole=True,
    )


def _open(string: int) -> Setting:
    return _setting(
        f"open {string}",
        say("on the open string {string}", string=CIRCLED[string - 1]),
        say(
            "The rhythm of the line on the open string {string}, for the plucking hand alone.",
            string=CIRCLED[string - 1],
        ),
        say("One tone from first to last: let go after each stroke, and change nothing but the finger."),
        change=partial(moves.on_open, number=string),
        kind="open",
    )


def parse(text: str) -> Setting | None:
    """Another string, another distance, another stretch."""
    if match := _ON.match(text):
        return (_shape if match[1] == "shape" else _intervals)(int(match[2]))
    if match := _ALONG.match(text):
        return _along(match[1], int(match[2]))
    if match := _OPEN.match(text):
        return _open(int(match[1]))
    if match := _CLIMB.match(text):
        return _climb(int(match[1]))
    return None


SETTINGS: tuple[Setting, ...] = (
    _setting("as written", say("strings as written"), "", "", change=unchanged, kind="plain"),
    *(_shape(string) for string in range(1, 7)),
    *(_intervals(string) for string in range(1, 7)),
    _climb(1),
    _climb(2),
    *(_open(string) for string in range(1, 7)),
    *(_along("up", frets) for frets in (1, 2, 3, 5, 7)),
    *(_along("down", frets) for frets in (1, 2, 3, 5, 7)),
    _setting(
        "highest",
        say("at the end of the neck"),
        say("The fretted notes as high as the neck allows, where the frets are narrowest; open strings stay open."),
        say("The thumb lets go of the neck where the body begins; the fingers come from above."),
        change=moves.highest,
    ),
    _setting(
        "octave up",
        say("an octave higher"),
        say("The same tune an octave higher, fingered anew where the frets are narrow."),
        say("The string is short there: keep the tone round, and the fingers upright."),
        change=partial(moves.octave, octaves=1),
    ),
    _setting(
        "octave down",
        say("an octave lower"),
        say("The same tune an octave lower, fingered anew on the lower strings."),
        WOUND,
        change=partial(moves.octave, octaves=-1),
    ),
)

STRINGS = Axis(
    name=AXIS,
    title=say("Place on the neck"),
    default="as written",
    settings=SETTINGS,
    parse=parse,
    grammar='"shape on STRING", "intervals on STRING", "open STRING", "up FRETS", "down FRETS", "climb by N bars"',
)
