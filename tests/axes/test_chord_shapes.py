"""What one hand can hold at once."""

from __future__ import annotations

import pytest

from engrave.axes.chord_shapes import shape_fault
from engrave.instruments import find_hand, find_instrument
from engrave.model import Placement

GUITAR, HAND = find_instrument("standard"), find_hand("standard")


def fault(*stops: tuple[int, int, int]) -> str:
    """The fault of placements given as (string, fret, finger)."""
    grip = [Placement(string=string, fret=fret, finger=finger) for string, fret, finger in stops]
    return shape_fault(grip, GUITAR, HAND)


@pytest.mark.parametrize(
    "stops",
    [
        ((6, 1, 1), (5, 3, 3), (4, 3, 4), (3, 2, 2), (2, 1, 1), (1, 1, 1)),  # F
        ((5, 2, 1), (4, 4, 3), (3, 4, 3), (2, 4, 3), (1, 2, 1)),  # B with the third finger across three strings
        ((6, 3, 3), (5, 2, 2), (4, 0, 0), (3, 0, 0), (2, 0, 0), (1, 3, 4)),  # G
    ],
)
def test_common_grips_can_be_held(stops: tuple[tuple[int, int, int], ...]) -> None:
    """Grips that any method prints (common practice)."""
    assert fault(*stops) == ""


@pytest.mark.parametrize(
    "stops",
    [
        ((6, 3, 3), (4, 3, 4), (3, 2, 2), (2, 3, 3)),  # the third finger far apart, over a lower fret
        ((6, 3, 1), (4, 0, 0), (1, 3, 1)),  # a barre over an open string that sounds
        ((6, 3, 2), (2, 3, 2)),  # the second finger across five strings
    ],
)
def test_one_finger_is_not_in_two_places(stops: tuple[tuple[int, int, int], ...]) -> None:
    """A finger on several strings lies across them, and stops or damps whatever is between."""
    assert "at once" in fault(*stops)
