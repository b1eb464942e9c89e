"""Digits of single notes: each is read with its own head and with no other digit."""

from __future__ import annotations

from itertools import combinations

from engrave.axes import vary
from engrave.model import Study, Variation
from engrave.plates import draw
from tests.axes.passages import own


def test_two_digits_are_not_read_as_one_number() -> None:
    """Where signs push a digit from its head it does not stand level with the next one, a nought above all."""
    made = vary(own()["built in"], Study(accent="fretted notes", pluck="a-m-i"))
    assert isinstance(made, Variation)
    plate = draw(made, width=173.0, staff=6.2, close=True)
    space = 6.2 / 4
    for system in plate.systems:
        digits = [mark for mark in system.marks if mark.role == "digit"]
        for one, other in combinations(sorted(digits, key=lambda mark: mark.x), 2):
            beside = other.x - one.x < 1.5 * space and abs(other.y - one.y) < 0.5 * space
            assert not beside, (one.owner, other.owner)
