"""The `rhythm` axis: how long the notes are and where the beat falls on them."""

from __future__ import annotations

import re
from functools import partial

from engrave.axes import timing
from engrave.axes.setting import Axis, Setting, setting, unchanged
from engrave.model import TEXTURES
from engrave.model.texture import BLOCK, BROKEN, LAYERS, LINE, TREMOLO

AXIS = "rhythm"
_LONG = re.compile(r"long ([1-6]) of ([3-6])\Z")
_BURST = re.compile(r"bursts of ([2-9])(?: from ([1-9]))?\Z")
_GROUP = re.compile(r"in (twos|threes|fours|fives|sixes|sevens)\Z")
_SIZES = {"twos": 2, "threes": 3, "fours": 4, "fives": 5, "sixes": 6, "sevens": 7}
_ORDINALS = ("zeroth", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")


_FLOWING = (LINE, LAYERS)
"""textures whose notes may be grouped anew: the figures of broken chords and tremolo stay with the beat"""

_DRY = (LINE, LAYERS, TREMOLO, BLOCK)
"""textures in which a note may be stopped: a broken chord rings on"""


_setting = partial(setting, AXIS, kind="rhythm", whole=True)


def _long(place: int, size: int) -> Setting:
    return _setting(
        f"long {place} of {size}",
        f"groups of {size}, the {_ORDINALS[place]} long",
        f"In each group of {size} equal notes the {_ORDINALS[place]} is long and the others quick.",
        "Everything for the quick notes is ready before the long one ends.",
        change=timing.uneven(timing.long_at(place, size)),
        fits=TEXTURES if size % 2 == 0 else _FLOWING,
    )


def _burst(size: int, start: int = 1) -> Setting:
    moved = f" from the {_ORDINALS[start]} note on" if start > 1 else ""
    return _setting(
        f"bursts of {size}" + (f" from {start}" if start > 1 else ""),
        f"bursts of {size} notes{moved}",
        f"Bursts of {size} notes at full tempo{moved}, then the next note is held until a beat.",
        "Think the whole burst before it starts; on the long note both hands let go.",
        change=timing.bursts(size, start),
        kind="burst",
        fits=(LINE, LAYERS, BROKEN, TREMOLO),
    )


def _grouped(word: str) -> Setting:
    return _setting(
        f"in {word}",
        f"regrouped in {word}",
        f"The same notes in {word} to the beat, grouped anew, with the beat on other notes.",
        "Tap the beat with the foot and let the line run over it.",
        change=timing.regrouped(_SIZES[word]),
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
    _setting("as written", "rhythm as written", "", "", change=unchanged, kind="plain"),
    _setting(
        "dotted",
        "dotted, long first",
        "Equal notes in dotted pairs, long then short: the short note has to be ready while the long one rests.",
        "The short note belongs to the next long one; both hands move in it together.",
        change=timing.uneven(timing.LONG_SHORT),
    ),
    _setting(
        "dotted, short first",
        "dotted, short first",
        "Equal notes in dotted pairs, short then long: the other half of the notes gets the quick change.",
        "Place the short note on the beat; do not lean into it.",
        change=timing.uneven(timing.SHORT_LONG),
    ),
    *(_long(place, 3) for place in range(1, 4)),
    *(_long(place, 4) for place in range(1, 5)),
    *(_burst(size) for size in (2, 3, 4)),
    *(_burst(4, start) for start in (2, 3, 4, 5)),
    *(_grouped(word) for word in ("twos", "threes", "fours", "fives")),
    _setting(
        "off the beat",
        "off the beat",
        "Each note comes half its length late, so that the line runs between the beats.",
        "Count aloud; the foot stays on the beat and the fingers stay off it.",
        change=timing.later(timing.HALF),
        fits=_FLOWING,
    ),
    _setting(
        "one note later",
        "one note later",
        "The line starts one note late, so that strong notes turn weak and weak ones strong.",
        "Let the bar line, not the habit, say which notes are heavy.",
        change=timing.later(timing.WHOLE),
        fits=_FLOWING,
    ),
    _setting(
        "stopped",
        "stopped notes",
        "Each note is stopped by the finger that plays next, which is then in place early.",
        "Silence between the notes, and the same short length for all of them.",
        change=timing.stopped,
        fits=_DRY,
    ),
    _setting(
        "planting",
        "with a rest for planting",
        "Each note gives half its length to a rest, in which the next finger of each hand goes to its place and waits.",
        "In every rest, check: the next finger is on the string, and nothing is tight.",
        change=timing.planting,
        fits=_DRY,
    ),
    _setting(
        "half values",
        "in half the values",
        "The same line in half the note values: it looks twice as fast and sounds the same.",
        "Read ahead by the beat, not by the note.",
        change=timing.scaled(timing.HALF),
    ),
    _setting(
        "double values",
        "in double the values",
        "The same line in double the note values: room to look at each finger.",
        "Use the time: every note is one careful movement.",
        change=timing.scaled(2),
    ),
)

RHYTHM = Axis(
    name=AXIS,
    title="Rhythm",
    default="as written",
    settings=SETTINGS,
    parse=parse,
    grammar='"long K of N", "bursts of N", "bursts of N from K", "in twos" to "in sevens"',
)
