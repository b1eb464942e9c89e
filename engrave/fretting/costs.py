"""What a hand shape and a move between two shapes cost, term by term.

The cost of a fingering is the sum over its onsets of `weight × amount`. Terms are physical: mm of travel, mm of
stretch beyond comfort, fingers off their place, fingers that hop. A few small tables (finger by place on the
neck, finger pair by interval) hold what printed fingerings add to that. Terms that belong to moving the hand are kept
apart, since time in which the hand is free (an open string or a rest) makes them cheaper.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

import numpy as np

from engrave.fretting import cells
from engrave.fretting.shapes import NOWHERE, Block, Floats, Geometry, Ints, Past

TERMS = (
    "off",
    "off_outward",
    "stretch",
    "stacked",
    "reversed",
    "bridged",
    "small_barre",
    "half_barre",
    "full_barre",
    "over_open",
    "weak_3",
    "weak_4",
    "high",
    "bass_high",
    "open",
    "open_high",
    "open_inside",
    "high_climb",
    "open_climb",
    "shift",
    "shift_one",
    "shift_dm",
    "shift_off_beat",
    "slide_one",
    "hop_near",
    "hop_alone",
    "hop_1",
    "hop_far",
    "jump",
    "change_finger",
    "cross",
    "reach_on",
    "extend",
    "string_1",
    "string_2",
    "string_3",
    "refinger",
    "reuse_fret",
    "reuse",
    "cross_back",
    "let_go",
    "unlike",
    "unlikely",
)
"""names of the terms that have one weight each"""

TABLES = {"slot": 25, **cells.SIZES}
"""names of the tables and their number of cells"""


class Amount(NamedTuple):
    """How much of one term each shape (n) or each move (n × m) has."""

    name: str
    value: Floats


class Cells(NamedTuple):
    """Which cell of a table applies: n × k or n × m, -1 for none."""

    name: str
    cell: Ints


def shape_terms(block: Block, geometry: Geometry, climb: float) -> Iterator[Amount | Cells]:
    """Terms of the shapes themselves; `climb`: how far the music around them climbs (see engrave.fretting.lattice)."""
    strings, frets, fingers = _parts(block.placed)
    struck = block.struck[None, :]
    stopped = struck & (fingers > 0)
    off = np.where(stopped, frets - fingers + 1 - block.pos[:, None], 0)
    yield Amount("off", np.abs(off).sum(axis=1).astype(float))
    outward = np.where(fingers == 1, np.maximum(-off, 0), 0) + np.where(fingers == 4, np.maximum(off, 0), 0)
    yield Amount("off_outward", outward.sum(axis=1).astype(float))
    yield Cells("slot", np.where(stopped, fingers * 5 + np.clip(off, -2, 2) + 2, -1))
    yield Cells("spot", np.where(stopped, cells.spot(strings, frets, fingers), -1))
    for finger in (3, 4):
        yield Amount(f"weak_{finger}", (stopped & (fingers == finger)).sum(axis=1).astype(float))
    count = stopped.sum(axis=1)
    high = height(block.pos) * count
    yield Amount("high", high)
    yield Amount("high_climb", climb * high)
    deep = stopped & geometry.wound[strings] & (frets > 7)
    yield Amount("bass_high", np.where(deep, frets - 7, 0).sum(axis=1).astype(float))
    opened = struck & (fingers == 0)
    yield from _open_terms(block, opened.sum(axis=1).astype(float), climb)
    inside = opened & (strings < np.where(stopped, strings, 0).max(axis=1)[:, None])
    yield Amount("open_inside", inside.any(axis=1) * np.maximum(block.pos - 2.0, 0))
    yield from _pair_terms(block, geometry)
    if block.placed.shape[1] > 1:
        yield Cells("pair", _pairs(block))


def height(pos: Ints) -> Floats:
    """How far up the neck positions are, in frets, those beyond the fifth counted half.

    A hand that is up there already need not flee from every fret: with whole frets it went down and up again between
    two high notes rather than cross to the next string.
    """
    frets = np.maximum(pos - 1.0, 0)
    return np.asarray(np.minimum(frets, 4 + (frets - 4) / 2))


def _pairs(block: Block) -> Ints:
    """Cells of the table `pair` for each two tones of a shape of which at least one begins here: n × pairs."""
    found = []
    for i, j in combinations(range(block.placed.shape[1]), 2):
        one, other = block.placed[:, i], block.placed[:, j]
        both = (one[:, 2] > 0) & (other[:, 2] > 0) & (one[:, 2] != other[:, 2]) & (block.struck[i] | block.struck[j])
        found.append(np.where(both, cells.pair(_parts(one), _parts(other)), -1))
    return np.stack(found, axis=1)


def _parts(stops: Ints) -> tuple[Ints, Ints, Ints]:
    """Strings, frets and fingers."""
    return stops[..., 0], stops[..., 1], stops[..., 2]


def _pair_terms(block: Block, geometry: Geometry) -> Iterator[Amount]:
    """Terms of fingers that are down together, where at least one of them is new."""
    strings, frets, fingers = _parts(block.placed)
    stretch, stacked, wrong, bridged = (np.zeros(block.size) for _ in range(4))
    for a in range(1, 5):
        for b in range(a + 1, 5):
            both = (block.at[:, a] > 0) & (block.at[:, b] > 0) & (block.new[:, a] | block.new[:, b])
            mm = geometry.mm[block.at[:, b]] - geometry.mm[block.at[:, a]]
            stretch += np.where(both, _beyond(mm, geometry.comfortable[a, b], geometry.practical[a, b]), 0)
            level = both & (block.at[:, a] == block.at[:, b])
            stacked += level * (b - a)
            wrong += level & (block.low[:, a] < block.low[:, b])
            first = np.minimum(block.high[:, a], block.high[:, b])[:, None]
            last = np.maximum(block.low[:, a], block.low[:, b])[:, None]
            between = (strings > first) & (strings < last) & (frets > block.at[:, a][:, None] + 1)
            bridged += level & between.any(axis=1)
    yield Amount("stretch", stretch)
    yield Amount("stacked", stacked)
    yield Amount("reversed", wrong)
    yield Amount("bridged", bridged)
    span = block.high - block.low
    laid = (span > 0) & block.new
    yield Amount("small_barre", laid[:, 2:].sum(axis=1).astype(float))
    yield Amount("half_barre", (laid & (span < 4)).sum(axis=1).astype(float))
    yield Amount("full_barre", (laid & (span >= 4)).sum(axis=1).astype(float))
    # a first finger laid over strings lies over all on the side of its base too, so none of those may sound open
    beyond = ((fingers == 0) & (strings < block.low[:, 1:2])).any(axis=1)
    yield Amount("over_open", (laid[:, 1] & beyond).astype(float))


def _beyond(mm: Floats, comfortable: float, practical: float) -> Floats:
    """Reach beyond comfort in tens of mm, the dearer the nearer to what the hand can hold: there it counts twice."""
    over = np.maximum(mm - comfortable, 0)
    return np.asarray(over / 10 * (1 + over / max(practical - comfortable, 1.0)))


def open_terms(block: Block, opens: int, climb: float) -> Iterator[Amount]:
    """Terms of striking `opens` open strings while the hand stays as it is."""
    return _open_terms(block, np.full(block.size, float(opens)), climb)


def _open_terms(block: Block, opens: Floats, climb: float) -> Iterator[Amount]:
    """Terms of so many open strings struck with the hand in each shape."""
    yield Amount("open", opens)
    yield Amount("open_climb", climb * opens)
    yield Amount("open_high", opens * np.maximum(block.pos - 4.0, 0))


def travel_terms(one: Block, other: Block, geometry: Geometry) -> Iterator[Amount]:
    """Terms of moving the hand from each shape of `one` to each of `other`."""
    before, after = one.pos[:, None], other.pos[None, :]
    moved = (before != after) & (before > NOWHERE)
    yield Amount("shift", moved.astype(float))
    yield Amount("shift_one", (moved & (np.abs(before - after) == 1)).astype(float))
    yield Amount(
        "shift_dm", np.where(moved, np.abs(geometry.hand[before - NOWHERE] - geometry.hand[after - NOWHERE]) / 100, 0.0)
    )


def recall_terms(memory: tuple[Past, ...], block: Block, *, rested: bool) -> Iterator[Amount | Cells]:
    """Terms between the lead before the last (m of them) and each shape (n): m × n. `rested`: right before the shape.

    A note that comes back wants its finger again. A finger wanted for another note has to travel while the hand plays
    the note between, but for a first finger that may lie there as a barre; not where the hand has had a rest since.
    """
    before = np.array(memory, dtype=np.int64).reshape(-1, 4)
    was, here = _parts(before[:, None]), _parts(block.lead[None])
    (s1, f1, k1), (s2, f2, k2) = was, here
    led = (k1 > 0) & (k2 > 0)
    place = (s1 == s2) & (f1 == f2)
    finger = k1 == k2
    other = led & finger & ~place & (before[:, 3:] == 0) & (not rested)
    yield Amount("refinger", (led & place & ~finger).astype(float))
    yield Amount("reuse_fret", (other & (f1 == f2) & (k1 > 1)).astype(float))
    yield Amount("reuse", (other & (s1 != s2) & (f1 != f2)).astype(float))
    crossed = np.where(k1 < k2, f1 - f2, f2 - f1)
    yield Amount("cross_back", np.where(led & ~finger, np.clip(crossed, 0, 3), 0).astype(float))
    near = led & ~finger & (np.abs((f1 - k1) - (f2 - k2)) <= 2)
    yield Cells("pair", np.where(near, cells.pair(was, here), -1))


def move_terms(one: Block, other: Block, geometry: Geometry, *, rested: bool) -> Iterator[Amount | Cells]:
    """Terms of what single fingers do between each shape of `one` and each of `other`.

    `rested`: an open string was struck between the two.
    """
    yield from _finger_terms(one, other, rested=rested)
    first, then = _parts(one.lead[:, None]), _parts(other.lead[None])
    (s1, f1, k1), (s2, f2, k2) = first, then
    led = (k1 > 0) & (k2 > 0)
    changed = led & (k1 != k2)
    yield Amount("change_finger", (changed & (s1 == s2) & (f1 == f2)).astype(float))
    together = np.abs(one.pos[:, None] - other.pos[None, :]) <= 1
    crossed = np.where(k1 < k2, f1 - f2, f2 - f1)
    yield Amount("cross", np.where(changed & together, np.maximum(crossed, 0), 0).astype(float))
    mm = np.abs(geometry.mm[f1] - geometry.mm[f2]) - geometry.comfortable[np.minimum(k1, k2), np.maximum(k1, k2)]
    still = one.pos[:, None] == other.pos[None, :]
    yield Amount("reach_on", np.where(changed & still, np.clip(mm, 0, 60) / 10, 0.0))
    wider = np.where(k2 > k1, f2 - f1, f1 - f2) - np.abs(k2 - k1)
    yield Amount("extend", np.where(changed & together, np.clip(wider, 0, 3), 0).astype(float))
    over = np.where(led, np.abs(s1 - s2), 0)
    for strings in (1, 2):
        yield Amount(f"string_{strings}", (over == strings).astype(float))
    yield Amount("string_3", np.maximum(over - 2, 0).astype(float))
    yield Cells("pair", np.where(changed & together, cells.pair(first, then), -1))


def _finger_terms(one: Block, other: Block, *, rested: bool) -> Iterator[Amount]:
    """Terms of each finger that was down before and stops a new tone now.

    Fingers that go to the next string side by side, as from A minor to E, go as one. In a line another finger lies over
    the next fret or string, and one that hops there breaks the tone, but for an open string struck between; from chord
    to chord the finger that slides there is the guide.
    """
    shape = (one.size, other.size)
    sums = {name: np.zeros(shape) for name in ("slide_one", "hop_near", "hop_alone", "hop_1", "hop_far", "jump")}
    moved = (one.pos[:, None] != other.pos[None, :]) & (one.pos[:, None] > NOWHERE)
    alone = (other.new[:, 1:].sum(axis=1) < 2)[None, :]
    beside = {False: np.zeros(shape, dtype=bool), True: np.zeros(shape, dtype=bool)}
    for finger in range(1, 5):
        if not one.at[:, finger].any() or not other.at[:, finger].any():
            continue
        f1, f2 = one.at[:, finger][:, None], other.at[:, finger][None, :]
        active = (f1 > 0) & (f2 > 0) & other.new[:, finger][None, :]
        low1, high1 = one.low[:, finger][:, None], one.high[:, finger][:, None]
        low2, high2 = other.low[:, finger][None, :], other.high[:, finger][None, :]
        away = np.maximum(np.maximum(low1 - low2, high2 - high1), 0)
        slid = active & (f1 != f2) & (away == 0)
        sums["slide_one"] += slid & alone & ((np.abs(f1 - f2) == 1) | ~moved)
        hopped = active & (f1 == f2) & (away > 0)
        near = hopped & (away == 1)
        if finger == 1:
            sums["hop_1"] += hopped
        else:
            breaks = near & ~(alone & rested)
            sums["hop_alone"] += breaks & alone
            for up in (False, True):
                same_way = breaks & ((high2 < high1) == up)
                sums["hop_near"] += same_way & ~beside[up]
                beside[up] |= same_way
            sums["hop_near"] += hopped & ~near & ~alone
            sums["hop_far"] += hopped & ~near & alone
        jumped = active & (f1 != f2) & (away > 0)
        sums["jump"] += jumped
        sums["hop_alone"] += jumped & alone & ~moved & (not rested)
    for name, value in sums.items():
        yield Amount(name, value)
