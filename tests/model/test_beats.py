"""Beats as a player reads them."""

from __future__ import annotations

from fractions import Fraction
from unicodedata import numeric

import pytest

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
