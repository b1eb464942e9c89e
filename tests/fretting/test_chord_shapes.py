"""Our rules of a hand shape against chord shapes in print.

chord_shapes.txt holds the 2,069 guitar shapes of the npm package @tombatossals/chords-db 0.5.1 with its fingers (MIT,
its licence in full at the head of the file). The package is a general table of chords for several instruments, which
chord charts draw on; it has nothing to do with practice. Facts are taken from it (frets and fingers) and no code.
Many hands typed it, so that a shape in it is evidence, not law. Half of it, every other shape, is kept apart: what
the first half needs of the hand is tried on the second.
"""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from engrave.fretting.pricing import Costs
from engrave.fretting.shapes import Stop, geometry_of, shapes
from engrave.fretting.weights import standard_weights
from tests.fretting.rules import shape_faults
from tests.fretting.strategies import GUITAR, HAND

Shape = tuple[str, tuple[Stop, ...]]
UNFINGERED, IMPOSSIBLE = 12, 16
"""shapes of the table that are slips of typing: with a fretted note that has no finger; and held as no hand can,
whatever its reach: one finger on two frets, a higher finger behind a lower one, or a finger laid over a string that
must sound at a lower fret. Each was looked at; none for its width alone"""


def table() -> list[Shape]:
    """Every shape of the table: name, and the stops from the sixth string to the first."""
    rows = []
    for line in (Path(__file__).parent / "chord_shapes.txt").read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            continue
        name, first, frets, fingers = line.split()
        stops = [
            Stop(6 - i, int(fret) and int(fret) + int(first) - 1, int(finger))
            for i, (fret, finger) in enumerate(zip(frets, fingers, strict=True))
            if fret != "x"
        ]
        rows.append((name, tuple(stops)))
    return rows


TABLE = table()
WIDTH = re.compile(r"\d mm apart\Z")


def is_fingered(stops: tuple[Stop, ...]) -> bool:
    """Every fretted note has a finger, and no open one."""
    return all((stop.fret == 0) == (stop.finger == 0) for stop in stops)


def test_the_table_is_whole() -> None:
    """All 2,069 shapes are there."""
    assert len(TABLE) == 2069


def test_shapes_in_print_are_feasible_under_our_rules() -> None:
    """All shapes but the table's own slips keep every rule of the hand with a middling reach."""
    fingered = [stops for _, stops in TABLE if is_fingered(stops)]
    assert len(TABLE) - len(fingered) == UNFINGERED
    faults = [found for stops in fingered if (found := shape_faults(stops, GUITAR, HAND))]
    assert len(faults) == IMPOSSIBLE
    assert all(any(not WIDTH.search(fault) for fault in found) for found in faults)


def widest(rows: list[Shape]) -> dict[tuple[int, int], float]:
    """The widest span in mm of each pair of fingers over the shapes that break no rule but perhaps the reach."""
    found: dict[tuple[int, int], float] = {}
    for _, stops in rows:
        if not is_fingered(stops) or not all(WIDTH.search(fault) for fault in shape_faults(stops, GUITAR, HAND)):
            continue
        for one, other in product(stops, stops):
            if 0 < one.finger < other.finger:
                pair, mm = (one.finger, other.finger), GUITAR.mm(other.fret) - GUITAR.mm(one.fret)
                found[pair] = max(found.get(pair, 0.0), mm)
    return found


def test_the_reach_that_half_the_table_needs_holds_the_other_half() -> None:
    """A hand that reaches what every other shape asks, and no more, holds all but one in a hundred of the rest."""
    need = widest(TABLE[::2])
    assert all(mm <= HAND.practical[pair] for pair, mm in need.items())
    narrow = replace(HAND, practical={pair: max(mm, HAND.comfortable[pair]) for pair, mm in need.items()})
    apart = [stops for _, stops in TABLE[1::2] if is_fingered(stops)]
    bad = [stops for stops in apart if shape_faults(stops, GUITAR, narrow)]
    slips = [stops for stops in apart if shape_faults(stops, GUITAR, HAND)]
    assert (len(bad) - len(slips)) / len(apart) <= 0.01


def test_spans_in_print_are_those_of_the_trade() -> None:
    """Among the feasible shapes fingers 1 and 4 never stand more than three frets apart, 2 and 3 or 3 and 4 two."""
    widest: dict[tuple[int, int], int] = {}
    for _, stops in TABLE:
        if not is_fingered(stops) or shape_faults(stops, GUITAR, HAND):
            continue
        for one, other in product(stops, stops):
            if 0 < one.finger < other.finger:
                pair = one.finger, other.finger
                widest[pair] = max(widest.get(pair, 0), other.fret - one.fret)
    assert widest == {(1, 2): 2, (1, 3): 3, (1, 4): 3, (2, 3): 2, (2, 4): 3, (3, 4): 2}


@pytest.mark.parametrize("part", range(2))
def test_the_search_allows_what_the_rules_allow(part: int) -> None:
    """The arrays hold a shape exactly where the rules, checked tone by tone, allow it; our best is mostly theirs."""
    geometry = geometry_of(GUITAR, HAND)
    costs = Costs(standard_weights(), geometry)
    right = known = 0
    for _, stops in TABLE[7 * part :: 59]:
        if not is_fingered(stops) or not any(stop.finger for stop in stops):
            continue
        ways = tuple(tuple(Stop(s.string, s.fret, k) for k in ((0,) if not s.fret else (1, 2, 3, 4))) for s in stops)
        block = shapes(ways, (True,) * len(ways), geometry=geometry, slot=1, positions=(1, 99))
        found = {tuple(row) for row in block.placed[:, :, 2].tolist()}
        allowed = {
            tuple(s.finger for s in choice) for choice in product(*ways) if not shape_faults(choice, GUITAR, HAND)
        }
        assert found == allowed
        if tuple(s.finger for s in stops) in found:
            known += 1
            best = block.placed[int(np.argmin(costs.shape(block, 0.0))), :, 2].tolist()
            right += best == [s.finger for s in stops]
    assert right / known > 0.7


def test_a_shape_stays_feasible_higher_up_the_neck() -> None:
    """Frets grow narrower: a stopped shape that can be held can be held one fret further up."""
    for _, stops in TABLE:
        if all(stop.fret for stop in stops) and max(stop.fret for stop in stops) < GUITAR.top:
            moved = tuple(Stop(s.string, s.fret + 1, s.finger) for s in stops)
            assert shape_faults(stops, GUITAR, HAND) or not shape_faults(moved, GUITAR, HAND)


def test_frets_lie_where_the_trade_puts_them() -> None:
    """Fret n lies at L(1 − 2^(−n/12)): the table for 650 mm, to a tenth of a millimetre."""
    printed = [36.5, 70.9, 103.4, 134.1, 163.1, 190.4, 216.2, 240.5, 263.5, 285.2, 305.7, 325.0]
    assert [round(GUITAR.mm(n), 1) for n in range(1, 13)] == printed
    geometry = geometry_of(GUITAR, HAND)
    assert np.allclose(geometry.mm[1:13], printed, atol=0.05)


def test_one_finger_per_fret_spans_what_the_trade_says() -> None:
    """Fingers 1 to 4 over four frets, in mm at frets 1, 3, 5, 7, 9, 12 of 650 mm."""
    mm = geometry_of(GUITAR, HAND).mm
    assert [round(float(mm[n + 3] - mm[n]), 1) for n in (1, 3, 5, 7, 9, 12)] == [97.6, 87.0, 77.5, 69.0, 61.5, 51.7]


def test_open_strings_sound_the_frequencies_of_equal_temperament() -> None:
    """E2 82.41, A2 110.00, D3 146.83, G3 196.00, B3 246.94, E4 329.63 Hz at A4 = 440 Hz (ISO 16)."""
    hertz = [440 * 2 ** ((GUITAR.midi(string, 0) - 69) / 12) for string in range(6, 0, -1)]
    assert [round(value, 2) for value in hertz] == [82.41, 110.0, 146.83, 196.0, 246.94, 329.63]
