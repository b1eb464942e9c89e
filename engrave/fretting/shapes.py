"""Hand shapes: every way in which one hand can stop the tones that sound together, as arrays.

The rules of a shape (tests/fretting/rules.py checks them again, one tone at a time, without this module):
- one string, one tone; one finger, one fret;
- a finger on several strings is a barre: nothing that sounds between its outer strings is open or stopped behind it;
  finger 1 may cover them all, the others four neighbouring strings;
- a higher finger never stops behind a lower one, and no two fingers stand further apart than the hand can hold;
- the hand position is the fret of finger 1; a finger may sit one fret off its place in it; where a chord leaves no
  such position, as few frets more as will do.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from engrave.model import Hand, Instrument

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

BARRE_SPAN = 3
"""strings that fingers 2 to 4 may cover beyond their first"""
LOWEST = -3
"""lowest hand position there is: finger 4 at the first fret, finger 1 off the neck"""
NOWHERE = LOWEST - 1
"""position of a hand that has not touched the neck yet"""

_SERIALS = count(1)


class Stop(NamedTuple):
    """A way to sound one tone."""

    string: int
    fret: int
    finger: int


NONE = Stop(0, 0, 0)
"""lead of a hand that has stopped nothing yet"""


class Past(NamedTuple):
    """The lead before a shape's own."""

    string: int
    fret: int
    finger: int
    rested: bool
    """between the two an open string was struck"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Geometry:
    """Neck and hand as arrays."""

    mm: Floats
    """mm from the nut for each fret counted from the capo"""
    hand: Floats
    """mm from the nut of the place of finger 1, for each hand position from NOWHERE on"""
    practical: Floats
    """5 × 5: reach in mm that can be held, [lower finger, higher finger]"""
    comfortable: Floats
    """5 × 5: reach in mm without effort"""
    wound: Bools
    """by string number: is it wound"""


def geometry_of(instrument: Instrument, hand: Hand) -> Geometry:
    """The arrays of one instrument and hand."""
    practical, comfortable = np.zeros((5, 5)), np.zeros((5, 5))
    for (a, b), mm in hand.practical.items():
        practical[a, b], comfortable[a, b] = mm, hand.comfortable[a, b]
    return Geometry(
        mm=np.array([instrument.mm(fret) for fret in range(instrument.top + 9)]),
        hand=np.array([instrument.mm(pos) for pos in range(NOWHERE, instrument.top + 9)]),
        practical=practical,
        comfortable=comfortable,
        wound=np.array([string in instrument.wound for string in range(len(instrument.strings) + 1)]),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Block:
    """All shapes for one set of sounding tones. n shapes, k tones; columns run from low to high pitch."""

    serial: int
    """number that stands for the block in caches; no two blocks of a process share one"""
    placed: Ints
    """n × k × 3: string, fret, finger (0 = open)"""
    struck: Bools
    """k: the tone begins here (else held from before)"""
    pos: Ints
    """n: fret of finger 1"""
    low: Ints
    """n × 5: lowest string number under each finger (0 = not down); column 0 unused"""
    high: Ints
    """n × 5: highest string number under each finger"""
    at: Ints
    """n × 5: fret of each finger, 0 = not down"""
    new: Bools
    """n × 5: the finger stops a tone that begins here"""
    lead: Ints
    """n × 3: string, fret and finger of the highest fretted tone that begins here"""
    leads: tuple[Stop, ...]
    """the c different leads"""
    lead_of: Ints
    """n: which of `leads` is each shape's"""
    by_lead: Ints
    """n: the shapes in the order of their leads"""
    lead_starts: Ints
    """c: where in `by_lead` each lead begins"""

    @property
    def size(self) -> int:
        """Number of shapes."""
        return len(self.pos)


def start_block() -> Block:
    """The one shape before the first note: no finger down, nowhere on the neck."""
    return block_of(np.zeros((1, 0, 3), dtype=np.int64), np.full(1, NOWHERE, dtype=np.int64), np.zeros(0, dtype=bool))


def shapes(
    stops: tuple[tuple[Stop, ...], ...],
    struck: tuple[bool, ...],
    *,
    geometry: Geometry,
    slot: int,
    positions: tuple[int, int],
) -> Block:
    """Every shape that takes one of `stops` for each tone and frets at least one of those that begin here.

    `slot`: frets a finger may sit off its place; `positions`: lowest and highest hand position allowed.
    """
    tables = [np.array(ways, dtype=np.int64).reshape(-1, 3) for ways in stops]
    rows = np.zeros((1, 0), dtype=np.int64)
    for column, table in enumerate(tables):
        keep = np.repeat(rows, len(table), axis=0)
        added = np.tile(np.arange(len(table)), len(rows))
        ok = np.ones(len(added), dtype=bool)
        for other in range(column):
            ok &= _together(tables[other], table, geometry)[keep[:, other], added]
        rows = np.concatenate([keep[ok], added[ok, None]], axis=1)
    placed = np.stack([table[rows[:, c]] for c, table in enumerate(tables)], axis=1)
    begins = np.array(struck, dtype=bool)
    placed = placed[(placed[:, begins, 2] > 0).any(axis=1)]
    placed = placed[_barres_lie(placed)]
    placed, pos = _positions(placed, slot, positions)
    return block_of(placed, pos, begins)


def _together(one: Ints, other: Ints, geometry: Geometry) -> Bools:
    """Which stops of one tone go with which of another: [i, j]."""
    s1, f1, k1 = (one[:, None, i] for i in range(3))
    s2, f2, k2 = (other[None, :, i] for i in range(3))
    apart = s1 != s2
    is_open = (k1 == 0) | (k2 == 0)
    same = (k1 == k2) & (f1 == f2)
    narrow = np.abs(s1 - s2) <= np.where(k1 == 1, len(geometry.wound), BARRE_SPAN)
    rises = np.where(k1 < k2, f1 <= f2, f2 <= f1)
    mm = np.abs(geometry.mm[f1] - geometry.mm[f2])
    near = mm <= geometry.practical[np.minimum(k1, k2), np.maximum(k1, k2)] + 1e-9
    return np.asarray(apart & (is_open | (same & narrow) | ((k1 != k2) & rises & near)))


def _barres_lie(placed: Ints) -> Bools:
    """Rows in which whatever sounds between the outer strings of a barre is stopped in front of it."""
    ok = np.ones(len(placed), dtype=bool)
    strings, frets, fingers = placed[:, :, 0], placed[:, :, 1], placed[:, :, 2]
    for finger in range(1, 5):
        mine = fingers == finger
        some = mine.sum(axis=1) > 1
        if not some.any():
            continue
        lowest = np.where(mine, strings, 99).min(axis=1)
        highest = np.where(mine, strings, 0).max(axis=1)
        fret = np.where(mine, frets, 0).max(axis=1)
        under = ~mine & (strings > lowest[:, None]) & (strings < highest[:, None]) & (frets <= fret[:, None])
        ok &= ~(some & under.any(axis=1))
    return ok


def _positions(placed: Ints, slot: int, positions: tuple[int, int]) -> tuple[Ints, Ints]:
    """Each row once for every hand position it can be played in."""
    base = placed[:, :, 1] - placed[:, :, 2] + 1
    fretted = placed[:, :, 2] > 0
    top = np.where(fretted, base, -99).max(axis=1)
    bottom = np.where(fretted, base, 99).min(axis=1)
    if slot:
        # a chord close to the nut may crowd fingers that have no place of their own there
        crowded = np.where(fretted.sum(axis=1) > 1, 1 - bottom, 0)
        off = np.maximum(np.maximum(slot, (top - bottom + 1) // 2), crowded)
    else:
        off = np.where(top == bottom, 0, -1)
    rows: list[Ints] = []
    found: list[Ints] = []
    first, last = positions
    widest = int(off.max(initial=0))
    for step in range(2 * widest + 1):
        pos = top - off + step
        ok = (off >= 0) & (pos <= bottom + off) & (pos >= first) & (pos <= last)
        rows.append(np.flatnonzero(ok))
        found.append(pos[ok])
    if not rows:
        return placed[:0], np.zeros(0, dtype=np.int64)
    order = np.concatenate(rows)
    pos = np.concatenate(found)
    by_row = np.lexsort((pos, order))
    return placed[order[by_row]], pos[by_row]


def block_of(placed: Ints, pos: Ints, begins: Bools) -> Block:
    """The block of these shapes: n × k stops, n hand positions, and which of the k tones begin here."""
    n = len(pos)
    low = np.zeros((n, 5), dtype=np.int64)
    high, at = low.copy(), low.copy()
    new = np.zeros((n, 5), dtype=bool)
    strings, frets, fingers = placed[:, :, 0], placed[:, :, 1], placed[:, :, 2]
    for finger in range(1, 5):
        mine = fingers == finger
        down = mine.any(axis=1)
        low[:, finger] = np.where(down, np.where(mine, strings, 99).min(axis=1, initial=99), 0)
        high[:, finger] = np.where(mine, strings, 0).max(axis=1, initial=0)
        at[:, finger] = np.where(mine, frets, 0).max(axis=1, initial=0)
        new[:, finger] = (mine & begins).any(axis=1)
    lead = np.zeros((n, 3), dtype=np.int64)
    for column in np.flatnonzero(begins):
        stopped = fingers[:, column] > 0
        lead[stopped] = placed[stopped, column]
    leads, kind = np.unique(lead, axis=0, return_inverse=True)
    kind = kind.reshape(-1)
    by_lead = np.argsort(kind, kind="stable")
    return Block(
        serial=next(_SERIALS),
        placed=placed,
        struck=begins,
        pos=pos,
        low=low,
        high=high,
        at=at,
        new=new,
        lead=lead,
        leads=tuple(Stop(*(int(x) for x in row)) for row in leads),
        lead_of=kind,
        by_lead=by_lead,
        lead_starts=np.searchsorted(kind[by_lead], np.arange(len(leads))),
    )
