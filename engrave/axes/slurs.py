"""The `slurs` axis: which notes the fretting hand sounds by itself.

Slurs of the source stay, unless the setting is "none"; the rest of the line stays as it is.
"""

from __future__ import annotations

import re
from functools import partial

from engrave.axes.setting import Axis, Setting, unchanged
from engrave.axes.slurring import Choose, none, open_before, slurring, threes, twos, up_and_down, where
from engrave.model.said import say

AXIS = "slurs"
_PAIR = re.compile(r"([0-4])-([0-4])\Z")


_setting = partial(Setting, AXIS, kind="slur")


def _taking(name: str, label: str, purpose: str, cue: str, choose: Choose, *, empty: str) -> Setting:
    """A row that slurs what `choose` takes, and declines with `empty` where that is nothing."""
    return _setting(name, label, purpose, cue, change=partial(slurring, choose=choose, empty=empty))


NO_PULL = say(
    "no two neighbouring notes on one string fall to a lower fret with a lower finger waiting: nothing to pull off"
)
NO_HAMMER = say("no two neighbouring notes on one string rise to a higher fret and finger: nothing to hammer on")
NO_SLUR = say("no two neighbouring notes on one string can be slurred by the fingers on them")


def _finger(finger: int) -> Setting:
    return _taking(
        f"by {finger}",
        say("slurs by finger {finger}", finger=finger),
        say("Every slur that finger {finger} can make, up or down; the rest of the line is plucked.", finger=finger),
        say("The finger falls or pulls with its own weight; the others neither help nor stiffen."),
        lambda possible: [pair for pair in possible if pair.acting == finger],
        empty=say("finger {finger} finds no two neighbouring notes on one string that it could slur", finger=finger),
    )


_DOWN = say("Finger by finger, straight down behind the fret: speed of the finger makes the sound, not force.")


def _pair(first: int, second: int) -> Setting:
    if not second:
        label = say("pull-offs from finger {finger} to the open string", finger=first)
        purpose = say("Pull-offs from finger {finger} to the open string wherever the line has them.", finger=first)
        cue = say("The open string speaks as loudly as the plucked note.")
        missing = say(
            "no two neighbouring notes on one string go from finger {finger} to the open string", finger=first
        )
    elif not first:
        label = say("hammer-ons from the open string to finger {finger}", finger=second)
        purpose = say("Hammer-ons from the open string to finger {finger} wherever the line has them.", finger=second)
        cue = _DOWN
        missing = say(
            "no two neighbouring notes on one string go from the open string to finger {finger}", finger=second
        )
    else:
        fingers = {"first": first, "second": second}
        missing = say("no two neighbouring notes on one string go from finger {first} to finger {second}", **fingers)
        if second > first:
            label = say("hammer-ons from finger {first} to finger {second}", **fingers)
            purpose = say("Hammer-ons from finger {first} to finger {second} wherever the line has them.", **fingers)
            cue = _DOWN
        else:
            label = say("pull-offs from finger {first} to finger {second}", **fingers)
            purpose = say("Pull-offs from finger {first} to finger {second} wherever the line has them.", **fingers)
            cue = say("Finger {second} is down before finger {first} leaves.", **fingers)
    return _taking(
        f"{first}-{second}",
        label,
        purpose,
        cue,
        lambda possible: [pair for pair in possible if pair.fingers == (first, second)],
        empty=missing,
    )


def parse(text: str) -> Setting | None:
    """A pair of fingers, 0 for the open string."""
    match = _PAIR.match(text)
    return _pair(int(match[1]), int(match[2])) if match and match[1] != match[2] else None


SETTINGS: tuple[Setting, ...] = (
    _setting("as written", say("slurs as written"), "", "", change=unchanged, kind="plain"),
    _setting(
        "none",
        say("no slurs"),
        say("Every note plucked, those too that the line slurs: the same phrase made by the plucking hand alone."),
        say("It should sound as joined as with slurs."),
        change=none,
        kind="plain",
    ),
    _taking(
        "to open",
        say("pull-offs to the open string"),
        say("Where a fretted note falls to its open string, it is pulled off: the finger leaves by plucking."),
        say("Pull a little sideways, towards the palm, and hear the open string as clearly as the plucked note."),
        where(lambda pair: pair.pull and not pair.fingers[1]),
        empty=say("no fretted note falls to the open string under it: there is nothing to pull off"),
    ),
    _setting(
        "open before",
        say("open string, fretted note, pull-off"),
        say(
            "Where a fretted note falls to its open string, that is plucked before it too: open, stopped, pulled "
            "off again."
        ),
        say("The finger comes down exactly in the middle: listen for even halves."),
        change=open_before,
    ),
    _taking(
        "pull-offs",
        say("every pull-off"),
        say("Every note that can be pulled off to is slurred: descents by the fretting hand."),
        say("The upper finger leaves only when the lower note is ready under it: stopped, or open."),
        where(lambda pair: pair.pull),
        empty=NO_PULL,
    ),
    _taking(
        "hammer-ons",
        say("every hammer-on"),
        say("Every note that can be hammered on is slurred: ascents by the fretting hand."),
        say("Fast and light: the finger's speed makes the sound, not its force."),
        where(lambda pair: not pair.pull),
        empty=NO_HAMMER,
    ),
    _taking(
        "twos",
        say("slurs in twos"),
        say("One stroke and one slur wherever two notes allow it, up or down."),
        say("Two equal notes: the slurred one is neither softer nor earlier."),
        twos,
        empty=NO_SLUR,
    ),
    _taking(
        "threes",
        say("slurs in threes"),
        say("One stroke for three notes wherever three on a string allow it."),
        say("The third note is as loud as the first."),
        threes,
        empty=say("no three neighbouring notes on one string can be slurred by the fingers on them"),
    ),
    _taking(
        "up and down",
        say("up and down in one stroke"),
        say("A hammer-on and a pull-off, in either order, from one stroke."),
        say("The finger that hammers stays loose, ready to pull."),
        up_and_down,
        empty=say(
            "no three neighbouring notes on one string go up and back, or down and back, under the fingers on them"
        ),
    ),
    _taking(
        "left hand alone",
        say("every slur there is"),
        say("Every note that can be slurred is: the fretting hand sounds it, and the plucking hand plays the rest."),
        say("Keep the rhythm: slurs must not run away."),
        list,
        empty=NO_SLUR,
    ),
    *(_finger(finger) for finger in range(1, 5)),
    *(_pair(a, b) for low in range(1, 4) for high in range(low + 1, 5) for a, b in ((low, high), (high, low))),
)

SLURS = Axis(
    name=AXIS,
    title=say("Slurs"),
    default="as written",
    settings=SETTINGS,
    parse=parse,
    grammar='two fretting fingers such as "2-1", 0 for the open string',
)
