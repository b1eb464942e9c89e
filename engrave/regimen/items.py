"""What a week is made of: studies that could be visited, and what the days allow."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from engrave.regimen.atoms import Atom
from engrave.regimen.practice import figure

DAILY = 1.5
"""worth of a weak thing on one day, beside a plain atom trained as wanted; house figure"""
WARM = 0.5
"""worth of something easy to begin a day with; house figure"""
VISIT = 0.1
"""worth of a visit for itself, shared among the settings the study changes: one new thing at a time; house figure"""
MINUTE = 1e-4
"""what a minute costs: decides only between weeks that train the same; house figure"""
MUST = 4.0
"""worth of a study the plan insists on; house figure"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One study that could be visited."""

    minutes: float
    """of one visit"""
    atoms: Mapping[Atom, int]
    """trained in one visit"""
    weak: tuple[str, ...] = ()
    """the weak things it is work on: it may come every day"""
    always: bool = False
    """comes every day: the line as written"""
    easy: bool = False
    """good to begin with"""
    must: bool = False
    """the plan insists on it: at least one visit"""
    most: int = 7
    """visits in the week at most"""
    settings: int = 1
    """settings the study changes"""
    muscle: str = ""
    tremolo: bool = False

    @property
    def worth(self) -> float:
        """What a visit is worth whatever it trains."""
        return VISIT / max(1, self.settings) - MINUTE * self.minutes


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What the days allow."""

    caps: tuple[float, ...]
    """minutes of playing on each practice day at most"""
    adjacent: tuple[bool, ...]
    """for each practice day but the first: whether the one before it was the day before"""


def rotates(item: Item) -> bool:
    """Whether an item needs a day's gap between two visits."""
    return not item.weak and not item.always


def capped(items: Sequence[Item]) -> list[tuple[list[int], float]]:
    """Groups of items with the minutes a day they may have together, where there are more of them than that."""
    groups: dict[str, list[int]] = {}
    for i, item in enumerate(items):
        if item.muscle:
            groups.setdefault(item.muscle, []).append(i)
    found = [(members, figure("caps", "finger")) for members in groups.values()]
    found.append(([i for i, item in enumerate(items) if item.tremolo], figure("caps", "tremolo")))
    return [(members, cap) for members, cap in found if sum(items[i].minutes for i in members) > cap]


def trained(items: Sequence[Item], days: Sequence[Sequence[int]]) -> Counter[Atom]:
    """How often each atom is trained in these days."""
    found: Counter[Atom] = Counter()
    for day in days:
        for index in day:
            found.update(items[index].atoms)
    return found
