"""Whether one hand can hold some placements at once.

Common practice: one finger on one fret; a finger on several strings is a barre; a higher finger never stops behind a
lower one; no two fingers stand further apart than the hand can hold.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from engrave.model import Hand, Instrument, Placement
from engrave.model.said import say

BENT = 3
"""how many strings apart the strings may be that another finger than the first lies across; as the search has it"""


def shape_fault(placements: Sequence[Placement], instrument: Instrument, hand: Hand) -> str:
    """Why these placements cannot be held together, or "" if they can."""
    stopped = [p for p in placements if p.fret]
    for a, b in combinations(sorted(stopped, key=lambda p: (p.finger, p.fret)), 2):
        if a.finger == b.finger:
            if a.fret != b.fret:
                return say(
                    "finger {finger} on frets {low} and {high} at once", finger=a.finger, low=a.fret, high=b.fret
                )
            if not _lies(a, b, placements):
                return say(
                    "finger {finger} on strings {high} and {low} at once",
                    finger=a.finger,
                    high=min(a.string, b.string),
                    low=max(a.string, b.string),
                )
            continue
        if a.fret > b.fret:
            return say("finger {higher} behind finger {lower}", higher=b.finger, lower=a.finger)
        apart = instrument.mm(b.fret) - instrument.mm(a.fret)
        limit = hand.practical[a.finger, b.finger]
        if apart > limit + 0.05:
            return say(
                "fingers {lower} and {higher} {apart} mm apart, the hand reaches {limit}",
                lower=a.finger,
                higher=b.finger,
                apart=round(apart, 1),
                limit=round(limit),
            )
    return ""


def _lies(one: Placement, other: Placement, placements: Sequence[Placement]) -> bool:
    """Whether a finger can lie across two strings: over what sounds between them nothing is open or stopped behind it.

    Only the first finger lies farther across than `BENT`.
    """
    high, low = sorted((one.string, other.string))
    between = (p for p in placements if high < p.string < low)
    return (one.finger == 1 or low - high <= BENT) and all(p.fret >= one.fret for p in between)
