"""What a setting and an axis are.

A setting is a pure function Variation → Variation, or it declines with a reason a player understands. What it trains,
what
to listen for and where that comes from live with it and are what the book prints. Adding a setting is one entry in its
axis; adding an axis is one file and one line in engrave.axes.ORDER.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from engrave.model import Declined, Variation

Change = Callable[[Variation], Variation | Declined]


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One way of playing along one axis."""

    axis: str
    name: str
    """as a plan writes it, e.g. "a-m-i" """
    label: str
    """as a heading prints it, e.g. "a m i, evenly" """
    purpose: str
    """what it trains, one sentence, as the book prints it"""
    cue: str
    """what to listen or feel for, one sentence"""
    source: str
    """where the practice or the fact comes from; "common practice" where nobody can be named"""
    kind: str
    """family for ordering and tempo: plain, strong, weak, thumb, little, cycle, single, pair, triple, slur, place,
    rhythm …"""
    apply: Change


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
    """what `parse` understands, for messages and the README"""

    def find(self, name: str) -> Setting | None:
        """The setting called `name`, from the catalogue or as a pattern."""
        for setting in self.settings:
            if setting.name == name:
                return setting
        return self.parse(name)
