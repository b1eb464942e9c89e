"""Whether one hand can hold some placements at once.

Common practice: one finger on one fret; a finger on several strings is a barre; a higher finger never stops behind a
lower one; no two fingers stand further apart than the hand can hold.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from engrave.model import Hand, Instrument, Placement


def shape_fault(placements: Sequence[Placement], instrument: Instrument, hand: Hand) -> str:
    """Why these placements cannot be held together, or "" if they can."""
    stopped = [p for p in placements if p.fret]
    for a, b in combinations(sorted(stopped, key=lambda p: (p.finger, p.fret)), 2):
        if a.finger == b.finger:
            if a.fret != b.fret:
                return f"finger {a.finger} on frets {a.fret} and {b.fret} at once"
            continue
        if a.fret > b.fret:
            return f"finger {b.finger} behind finger {a.finger}"
        apart = instrument.mm(b.fret) - instrument.mm(a.fret)
        limit = hand.practical[a.finger, b.finger]
        if apart > limit + 0.05:
            return f"fingers {a.finger} and {b.finger} {apart:.1f} mm apart, the hand reaches {limit:.0f}"
    return ""
