"""Beats as a player reads them."""

from __future__ import annotations

from fractions import Fraction
from unicodedata import numeric

import pytest

from engrave.model import Place
from engrave.model.errors import beat_text
from engrave.pages.sign_font import missing


@pytest.mark.parametrize("parts", [2, 3, 4, 8])
def test_parts_of_a_beat_have_their_sign(parts: int) -> None:
    """Halves, thirds, quarters and eighths are one sign, worth what Unicode says it is, that the pages' font has."""
    for part in range(1, parts):
        text = beat_text(3 + Fraction(part, parts))
        assert text[0] == "3"
        assert numeric(text[1:]) == pytest.approx(part / parts)
        assert not missing(text)


def test_other_parts_are_added() -> None:
    """A whole beat is a number, and where there is no sign the part is added."""
    assert [beat_text(Fraction(*beat)) for beat in ((4, 1), (7, 5))] == ["4", "1+2/5"]


@pytest.mark.parametrize(
    ("beat", "said"),
    [
        (Fraction(2), "bar 3, beat 2"),
        (Fraction(5, 2), "bar 3, beat 2½"),
        (Fraction(13, 6), "bar 3, just after beat 2"),
        (Fraction(12, 5), "bar 3, in the middle of beat 2"),
        (Fraction(17, 6), "bar 3, at the end of beat 2"),
    ],
)
def test_a_place_is_named_as_one_says_it(beat: Fraction, said: str) -> None:
    """Where a part of a beat has no sign of its own, no sum is printed: the place is told by the beat it lies in."""
    assert str(Place(bar="3", beat=beat)) == said


@pytest.mark.parametrize("parts", range(1, 25))
def test_no_place_is_a_sum(parts: int) -> None:
    """Whatever a beat is divided into, its places are named without a sum."""
    assert not any("+" in str(Place(bar="1", beat=1 + Fraction(part, parts))) for part in range(parts))
