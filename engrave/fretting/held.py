"""Which fingers of a broken chord have to let go: what the term `let_go` counts.

A hand that plays a chord one note after the other leaves its fingers where they are. The search remembers the last two
notes that were stopped and the open strings struck just before; each of them that belongs to the chord and cannot go on
sounding is counted once where the new shape ends it.
"""

from __future__ import annotations

import numpy as np

from engrave.fretting.lattice import Chord, Edge
from engrave.fretting.shapes import Block, Bools, Floats, Geometry, Ints, Past, Stop


def clashes(before: tuple[Stop | Past, ...], block: Block, geometry: Geometry) -> Bools:
    """Which stops (c) cannot stay down under which shapes (n): c × n.

    A finger has to go where its string or the finger itself is wanted elsewhere (finger 1 may lie over several strings
    at its fret), where it would cross the others or lie against the slant of the hand, and where it is out of reach.
    """
    first = np.array([lead[:3] for lead in before], dtype=np.int64).reshape(-1, 3)
    s1, f1, k1 = np.moveaxis(first[:, None], -1, 0)
    gone = np.abs(f1 - k1 + 1 - block.pos[None, :]) > 1
    for column in range(block.placed.shape[1]):
        s2, f2, k2 = np.moveaxis(block.placed[None, :, column], -1, 0)
        mm = np.abs(geometry.mm[f1] - geometry.mm[f2])
        far = mm > geometry.practical[np.minimum(k1, k2), np.maximum(k1, k2)] + 1e-9
        slant = (f1 == f2) & ((k1 < k2) != (s1 > s2))
        crossed = np.where(k1 < k2, f1 > f2, f2 > f1)
        lies = (k1 == 1) & (f1 == f2)
        gone |= (s1 == s2) | ((k2 > 0) & np.where(k1 == k2, ~lies, far | slant | crossed))
    return np.asarray(gone & (k1 > 0))


def among(strings: Ints, few: tuple[int, ...]) -> Bools:
    """Which of many strings are among a few; np.isin takes five times as long for so few."""
    found = np.zeros(strings.shape, dtype=bool)
    for string in few:
        found |= strings == string
    return found


def gone_on(edge: Edge, chord: Chord, one: Block, other: Block, clash: Bools) -> Floats:
    """How many of the last tones are let go on an edge: n × m, or n where the hand stays still.

    `clash`: `clashes` of the leads of `one` and `other`.
    """
    if edge.carries:
        return np.asarray(chord.leads[one.lead_of] & among(one.lead[:, 0], edge.struck)).astype(float)
    stopped = (clash & chord.leads[:, None])[one.lead_of].astype(float)
    return stopped + among(other.placed[:, :, 0], chord.opens).sum(axis=1) if chord.opens else stopped


def gone_before(chord: Chord, clash: Bools) -> Bools:
    """Which leads before the last are let go for which new shapes: memories × new shapes.

    `clash`: `clashes` of the memory and the new shapes.
    """
    return np.asarray(clash & chord.memory[:, None])
