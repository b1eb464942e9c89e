"""What a page strains, and how long it may be played: the limits that bind book, handout and week alike.

The minutes are the house's (`shared/practice.toml`): no dose is proven, and a sudden rise of load is a common trigger
of trouble. A page that does more of a thing than the line does is held to its limit, in one sitting and on one day.
"""

from __future__ import annotations

from itertools import pairwise
from operator import gt

from engrave.model import Variation
from engrave.model.said import say
from engrave.regimen.practice import figure
from engrave.textures.onsets import onset_groups

NAMES = {
    "alone": say("one finger alone"),
    "tremolo": say("tremolo"),
    "reach": say("wide reaches"),
    "barre": say("barres"),
    "slurs": say("slurs in chains"),
}
"""a strain, a figure of [caps] → in words"""
_MOSTLY = 0.5
_SEVERAL = 0.1


def strains(variation: Variation, kinds: tuple[str, ...], line: Variation) -> tuple[str, ...]:
    """What a page strains more than the line does, of NAMES."""
    found = []
    if "single" in kinds:
        found.append("alone")
    if "tremolo" in kinds or (kinds and "repeat" in kinds):
        found.append("tremolo")
    for name, share, measure in (
        ("reach", _SEVERAL, _wide),
        ("barre", _MOSTLY, _barred),
        ("slurs", _SEVERAL, _chained),
    ):
        if kinds and measure(variation) >= max(share, measure(line) + _SEVERAL):
            found.append(name)
    return tuple(found)


def longest(strained: tuple[str, ...]) -> float | None:
    """Minutes that pages with these strains may be played in one sitting and on one day; None for no limit."""
    return min((figure("caps", name) for name in strained), default=None)


def tightest(strained: tuple[str, ...]) -> str:
    """Which of the strains sets the limit, in words."""
    return NAMES[min(strained, key=lambda name: figure("caps", name))]


def _wide(variation: Variation) -> float:
    """Share of the onset groups with a stop from which the hand reaches beyond comfort, in it or to the one after."""
    row = [[s.placement for s in group.stopped] for group in onset_groups(variation.passage) if group.stopped]
    wide = sum(
        any(
            a.finger != b.finger and a.position == b.position and gt(*variation.reach(a, b))
            for a in one
            for b in (*one, *other)
        )
        for one, other in pairwise([*row, []])
    )
    return wide / max(1, len(row))


def _barred(variation: Variation) -> float:
    row = onset_groups(variation.passage)
    return sum(any(s.placement.barre for s in m.sounds) for m in row) / max(1, len(row))


def _chained(variation: Variation) -> float:
    """Share of the notes that are slurred from a note that is slurred itself."""
    slurred = {n.id for n in variation.passage.notes if n.slurred_from}
    notes = max(1, variation.figures.notes)
    return sum(n.slurred_from in slurred for n in variation.passage.notes if n.slurred_from) / notes
