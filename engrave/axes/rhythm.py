"""The `rhythm` axis: how long the notes are and where the beat falls on them."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import partial

from engrave.axes import timing
from engrave.axes.setting import Axis, Setting, unchanged
from engrave.model import TEXTURES
from engrave.model.said import say
from engrave.model.texture import BLOCK, LAYERS, LINE, TREMOLO

AXIS = "rhythm"
_LONG = re.compile(r"long ([1-6]) of ([3-6])\Z")
_BURST = re.compile(r"bursts of ([2-9])(?: from ([1-9]))?\Z")
_GROUP = re.compile(r"in (twos|threes|fours|fives|sixes|sevens)\Z")
_SIZES = {"twos": 2, "threes": 3, "fours": 4, "fives": 5, "sixes": 6, "sevens": 7}


_FLOWING = (LINE, LAYERS)
"""textures whose notes may be grouped anew: the figures of broken chords and tremolo stay with the beat"""

_DRY = (LINE, LAYERS, TREMOLO, BLOCK)
"""textures in which a note may be stopped: a broken chord rings on"""


_setting = partial(Setting, AXIS, kind="rhythm", whole=True)


def _long(place: int, size: int) -> Setting:
    return _setting(
        f"long {place} of {size}",
        say("groups of {size}, note {place} long", size=size, place=place),
        say("In each group of {size} equal notes, note {place} is long and the others quick.", size=size, place=place),
        say("Everything for the quick notes is ready before the long one ends."),
        change=partial(timing.uneven, pattern=timing.long_at(place, size)),
        fits=TEXTURES if size % 2 == 0 else _FLOWING,
    )


def _burst(size: int, start: int = 1) -> Setting:
    label = say("bursts of {size} notes", size=size)
    purpose = say("Bursts of up to {size} notes; after each comes a long note or a rest.", size=size)
    if start > 1:
        label = say("bursts of {size} notes from note {start} on", size=size, start=start)
        purpose = say(
            "Bursts of up to {size} notes from note {start} on; after each comes a long note or a rest.",
            size=size,
            start=start,
        )
    return _setting(
        f"bursts of {size}" + (f" from {start}" if start > 1 else ""),
        label,
        purpose,
        say("Think the whole burst before it starts; after it both hands let go."),
        change=partial(timing.bursts, size=size, start=start),
        kind="burst",
        # over the figures of broken chords and tremolo bursts would slip: there a long note in each group does the same
        fits=_FLOWING,
    )


_REGROUPED = {
    "twos": (
        say("regrouped in twos"),
        say("The same notes in twos to the beat, grouped anew, with the beat on other notes."),
    ),
    "threes": (
        say("regrouped in threes"),
        say("The same notes in threes to the beat, grouped anew, with the beat on other notes."),
    ),
    "fours": (
        say("regrouped in fours"),
        say("The same notes in fours to the beat, grouped anew, with the beat on other notes."),
    ),
    "fives": (
        say("regrouped in fives"),
        say("The same notes in fives to the beat, grouped anew, with the beat on other notes."),
    ),
    "sixes": (
        say("regrouped in sixes"),
        say("The same notes in sixes to the beat, grouped anew, with the beat on other notes."),
    ),
    "sevens": (
        say("regrouped in sevens"),
        say("The same notes in sevens to the beat, grouped anew, with the beat on other notes."),
    ),
}


def _grouped(word: str) -> Setting:
    label, purpose = _REGROUPED[word]
    return _setting(
        f"in {word}",
        label,
        purpose,
        say("Tap the beat with the foot and let the line run over it."),
        change=partial(timing.regrouped, size=_SIZES[word]),
        fits=_FLOWING,
    )


def parse(text: str) -> Setting | None:
    """Other groups, bursts elsewhere."""
    if match := _LONG.match(text):
        place, size = int(match[1]), int(match[2])
        return _long(place, size) if place <= size else None
    if match := _BURST.match(text):
        size, start = int(match[1]), int(match[2] or 1)
        return _burst(size, start) if start <= size + 1 else None
    if match := _GROUP.match(text):
        return _grouped(match[1])
    return None


SETTINGS: tuple[Setting, ...] = (
    _setting("as written", say("rhythm as written"), "", "", change=unchanged, kind="plain"),
    _setting(
        "dotted",
        say("dotted, long first"),
        say("Equal notes in dotted pairs, long then short: the short note is made ready while the long one sounds."),
        say("The short note belongs to the next long one, and leads into it without a gap."),
        change=partial(timing.uneven, pattern=timing.LONG_SHORT),
    ),
    _setting(
        "dotted, short first",
        say("dotted, short first"),
        say("Equal notes in dotted pairs, short then long: the quick change comes right after the beat."),
        say("Place the short note on the beat; do not lean into it."),
        change=partial(timing.uneven, pattern=timing.SHORT_LONG),
    ),
    *(_long(place, 3) for place in range(1, 4)),
    *(_long(place, 4) for place in range(1, 5)),
    *(_burst(size) for size in (2, 3, 4)),
    *(_burst(4, start) for start in (2, 3, 4, 5)),
    *(_grouped(word) for word in ("twos", "threes", "fours", "fives")),
    _setting(
        "off the beat",
        say("off the beat"),
        say("Each note comes half its length late, so that the line runs between the beats."),
        say("Count aloud; the foot stays on the beat and the fingers stay off it."),
        change=partial(timing.later, share=timing.HALF),
        fits=_FLOWING,
    ),
    _setting(
        "one note later",
        say("one note later"),
        say("The line starts one note late, so that strong notes turn weak and weak ones strong."),
        say("Let the bar line, not the habit, say which notes are heavy."),
        change=partial(timing.later, share=timing.WHOLE),
        fits=_FLOWING,
    ),
    _setting(
        "stopped",
        say("stopped notes"),
        say(
            "Each note of the line is cut short: the finger that plays next comes to its string early, and waits there."
        ),
        say("Silence between the notes, and the same short length for all of them."),
        change=timing.stopped,
        fits=_DRY,
    ),
    _setting(
        "planting",
        say("with a rest for planting"),
        say("Rests are put in: in each, what plucks next is set on its string and waits."),
        say("In every rest, check: the next finger is on the string, and nothing is tight."),
        change=timing.planting,
        fits=_DRY,
    ),
    _setting(
        "half values",
        say("in half the values"),
        say("The same line in half the note values: it looks twice as fast and sounds the same."),
        say("Read ahead by the beat, not by the note."),
        change=partial(timing.scaled, by=timing.HALF),
    ),
    _setting(
        "double values",
        say("in double the values"),
        say("The same line in double the note values: room to look at each finger."),
        say("Use the time: every note is one careful movement."),
        change=partial(timing.scaled, by=Fraction(2)),
    ),
)

RHYTHM = Axis(
    name=AXIS,
    title=say("Rhythm"),
    default="as written",
    settings=SETTINGS,
    parse=parse,
    grammar='"long K of N", "bursts of N", "bursts of N from K", "in twos" to "in sevens"',
)
