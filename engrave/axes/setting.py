"""What a setting and an axis are.

A setting is a pure function Variation → Variation; where it does not apply it raises `unfit` with a reason a player
understands, and `play` answers Declined. What it trains, what to listen for and where that comes from live with it and
are what the book prints. Adding a setting is one entry in its axis; adding an axis is one file and one line in
engrave.axes.ORDER.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import KW_ONLY, dataclass, replace
from fractions import Fraction

from engrave.model import TEXTURES, Declined, Notice, Place, Variation
from engrave.model.said import Said, say
from engrave.model.texture import BLOCK, BROKEN, LAYERS, LINE, TREMOLO
from engrave.model.wording import either
from engrave.textures import share

Change = Callable[[Variation], Variation]
"""raises UnfitError where it does not apply"""


class UnfitError(Exception):
    """A setting that does not apply: what `Setting.play` answers then."""

    def __init__(self, declined: Declined) -> None:
        super().__init__(declined.reason)
        self.declined = declined


def unfit(reason: str, place: Place | None = None, *, lies: bool = False) -> UnfitError:
    """To be raised; Setting.play puts axis and setting on it. `lies`: because of the strings that the line lies on."""
    where = place.inside if place else ""
    return UnfitError(Declined(axis="", setting="", reason=reason, place=where, lies=lies))


COMMON = "common practice"
"""source of what every player knows and nobody can be named for"""
OURS = "house invention: ours, on ground that is common practice"
"""source of what we thought of ourselves"""
_INVENTED = {
    "strings": r"climb.*|highest|(up|down) \d+",
    "rhythm": r"one note later|(half|double) values",
    "fret": r"(second|third) best|without \d(, bent)?",
    "slurs": r"by \d|open before",
    "pluck": r"(best|worst) .+|.+, turned at crossings|block first",
    "accent": r"open notes|first finger",
}
"""axis → names of its settings that no teacher or method we know has in this form"""


@dataclass(frozen=True, slots=True)
class Setting:
    """One way of playing along one axis."""

    axis: str
    name: str
    """as a plan writes it, e.g. "a-m-i" """
    label: str
    """as a heading prints it, e.g. "a m i, evenly" """
    purpose: str
    """what it trains, one sentence, as the book prints it; empty for the setting that changes nothing"""
    cue: str
    """what to listen or feel for, one sentence; empty for the setting that changes nothing"""
    _: KW_ONLY
    change: Change
    """does it; `play` is what callers use"""
    kind: str
    """family for ordering, tempo and times through: a key of engrave.axes.defaults.HABITS"""
    credit: str = ""
    """where the practice or the fact comes from, if that can be named"""
    fits: tuple[str, ...] = TEXTURES
    """the textures it is for; a passage of others is left alone, and one that has little of them declines"""
    whole: bool = False
    """it changes every note there is, so that little of the passage may be of other textures"""

    @property
    def source(self) -> str:
        """Where it comes from: what can be named, else common practice, or ourselves."""
        ours = re.fullmatch(_INVENTED.get(self.axis, ""), self.name)
        return self.credit or (OURS if ours else COMMON)

    def play(self, variation: Variation) -> Variation | Declined:
        """`variation` played this way, or the reason why it cannot be, with this setting's name on it."""
        try:
            self._look(variation)
            return self.change(variation)
        except UnfitError as no:
            return replace(no.declined, axis=self.axis, setting=self.name)

    def _look(self, variation: Variation) -> None:
        """Raises UnfitError where too little of the passage has a texture this is for."""
        if set(self.fits) >= set(TEXTURES):
            return
        part = share(variation, self.fits)
        other = share(variation, TEXTURES)
        least = 1 - LEAST if self.whole else LEAST
        if part >= least or not other:
            return
        wanted = either(_PLURAL[kind] for kind in self.fits)
        # for the translator: {textures} is a list such as "lines or broken chords"
        whole = say(
            "it changes every note, and is for {textures}; more than a fifth of the notes lie elsewhere",
            textures=wanted,
        )
        none = say("it is for {textures}, and the passage has none", textures=wanted)
        little = say("it is for {textures}, and less than a fifth of the passage's notes lie in any", textures=wanted)
        if not part:
            textures = tuple(_PLURAL[kind] for kind in self.fits)
            raise UnfitError(Declined(axis="", setting="", reason=none, textures=textures))
        raise unfit(whole if part >= LEAST else little)


LEAST = Fraction(1, 5)
"""part of the plucked notes that a study must reach to be worth a page; common practice as to the rule, the figure is
ours"""
_PLURAL = {
    # for the translator: a texture of music, as in "it is for lines or broken chords"
    LINE: say("lines"),
    BROKEN: say("broken chords"),
    TREMOLO: say("tremolo"),
    # for the translator: a texture of music, all notes struck at once
    BLOCK: say("chords"),
    LAYERS: say("melodies over a bass"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """One independent choice of how to practise."""

    name: str
    """one of engrave.model.AXES"""
    title: str
    """as a heading, e.g. "Plucking hand" """
    default: str
    """the setting that leaves the music as it is"""
    settings: tuple[Setting, ...]
    """the catalogue, in the order it is listed"""
    parse: Callable[[str], Setting | None]
    """a setting from a pattern that is not in the catalogue (e.g. "p-i-m-i"), or None if the axis has no such
    pattern"""
    grammar: str
    """what `parse` understands, for messages and the catalogue"""

    def find(self, name: str) -> Setting | None:
        """The setting called `name`, from the catalogue or as a pattern."""
        wanted = " ".join(name.split())
        return next((known for known in self.settings if known.name == wanted), None) or self.parse(wanted)


def no_pattern(_: str) -> None:
    """What an axis without patterns parses: nothing."""


def unchanged(variation: Variation) -> Variation:
    """What a default setting does: nothing."""
    return variation


def noted(variation: Variation, text: str) -> Variation:
    """`variation` with one more notice, unless it says so already or counts none."""
    notice = Notice(text=text)
    counts_none = isinstance(text, Said) and not text.number
    said = counts_none or notice in variation.notices
    return variation if said else replace(variation, notices=(*variation.notices, notice))
