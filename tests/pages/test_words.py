"""Figures of a variation as the pages say them."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from engrave.model import Spot, Step, Study
from engrave.model.wording import sentence
from engrave.pages.typeset import Typesetter
from engrave.pages.words import clicks_text, spots_text, work_text
from tests.regimen.lines import SCALE, line

_STEP = Step(study=Study(), variation=line(SCALE), section="", reason="", times=1, tempo=(60,))


@pytest.mark.parametrize(
    ("times", "tempo", "minutes", "said"),
    [
        (1, (60, 72), None, "♩ = 60, 72 · once at each tempo"),
        (4, (60,), 0.2, "♩ = 60 · 4 times · about 1 minute"),
        (10, (), 7.6, "10 times at each tempo · about 8 minutes"),
        (0, (50, 55), None, "♩ = 50, 55 · each day has its own below"),
        (0, (50,), None, "♩ = 50"),
    ],
)
def test_the_work_of_a_sitting(times: int, tempo: tuple[int, ...], minutes: float | None, said: str) -> None:
    """Tempo steps, times through, and minutes where they are reckoned."""
    assert work_text(replace(_STEP, times=times, tempo=tempo, minutes=minutes)) == said


@pytest.mark.parametrize(
    ("beat", "tempi", "said"),
    [
        (Fraction(1), ((40, 60), (208,)), ""),
        (Fraction(1), ((40, 60), (39, 50)), "twice its figure: two clicks to a beat."),
        (Fraction(1, 2), ((33,),), "twice its figure: two clicks to a beat."),
        (Fraction(3, 2), ((29, 40),), "three times its figure: three clicks to a beat."),
        (Fraction(1), ((),), ""),
    ],
)
def test_a_tempo_below_the_metronome_s_lowest_is_told_in_clicks(
    beat: Fraction, tempi: tuple[tuple[int, ...], ...], said: str
) -> None:
    """Below 40 (common practice) a beat has as many clicks as halves, or thirds where it is dotted."""
    told = clicks_text(replace(_STEP, beat=beat, tempo=tempo) for tempo in tempi)
    assert (told.endswith(said) and "below 40" in told) if said else told == ""


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
    setter = Typesetter(language="en")
    assert setter.text(typed, "a text") == printed
    assert setter.notes == []


def _step(*spots: tuple[str, str]) -> Step:
    """A step with hard spots at these bars for these reasons."""
    made = tuple(
        Spot(
            kind="shift",
            stretch=f"{start} to bar 2, beat 1",
            notes=(),
            clause=reason.replace("Finger", "finger"),
        )
        for start, reason in spots
    )
    return replace(_STEP, spots=made)


def test_the_first_place_is_explained_on_every_page() -> None:
    """Nobody turns pages to learn why a place is hard; only a second place that an earlier page has is not told."""
    first, second = ("bar 1, beat 1", "Finger 3 follows finger 1."), ("bar 1, beat 3", "a plucks twice running.")
    steps = [_step(first, second), _step(first, second), _step(second, first), _step(("bar 1, beat 4", first[1]))]
    assert [spots_text(steps, at) for at in range(4)] == [
        "Loop bar 1, beat 1 to bar 2, beat 1 first: finger 3 follows finger 1. "
        "Then loop bar 1, beat 3 to bar 2, beat 1: a plucks twice running.",
        "Loop bar 1, beat 1 to bar 2, beat 1 first: finger 3 follows finger 1.",
        "Loop bar 1, beat 3 to bar 2, beat 1 first: a plucks twice running.",
        "Loop bar 1, beat 4 to bar 2, beat 1 first: finger 3 follows finger 1.",
    ]
    assert spots_text(steps, 2, most=1).endswith("a plucks twice running.")
