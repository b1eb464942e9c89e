"""Figures of a variation as the pages say them."""

from __future__ import annotations

import pytest

from engrave.model import Step, Study
from engrave.model.wording import sentence
from engrave.pages.typeset import Typesetter
from engrave.pages.words import work_text


@pytest.mark.parametrize(
    ("times", "tempo", "minutes", "said"),
    [
        (1, (60, 72), None, "♩ = 60, 72 · once at each tempo"),
        (4, (60,), 0.2, "♩ = 60 · 4 times · about 1 minute"),
        (10, (), 7.6, "10 times at each tempo · about 8 minutes"),
    ],
)
def test_the_work_of_a_sitting(times: int, tempo: tuple[int, ...], minutes: float | None, said: str) -> None:
    """Tempo steps, times through, and minutes where they are reckoned."""
    assert work_text(Step(study=Study(), section="", reason="", times=times, tempo=tempo, minutes=minutes)) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("in 6 chords the finger waits", "In 6 chords the finger waits"),
        ("bar 3, beat 2: the tie is cut", "Bar 3, beat 2: the tie is cut"),
        ("a has no string", "a has no string"),
        ("p-i: too far", "p-i: too far"),
        ("“i m” does not apply", "“i m” does not apply"),
        ("", ""),
    ],
)
def test_a_line_begins_with_a_capital_unless_with_a_letter_of_the_hand(text: str, said: str) -> None:
    """Fingers keep their letters, names of patterns their form."""
    assert sentence(text) == said


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("the thumb's note, the fingers' notes", "the thumb’s note, the fingers’ notes"),
        ("5' and 3'", "5' and 3'"),
        ("the 'open' string's turn", "the 'open' string’s turn"),
        ("l'été d'Élise", "l’été d’Élise"),
    ],
)
def test_apostrophes_are_those_of_print(typed: str, printed: str) -> None:
    """An apostrophe is curled; a prime and a quotation are left as they were typed."""
    setter = Typesetter()
    assert setter.text(typed, "a text") == printed
    assert setter.notes == []
