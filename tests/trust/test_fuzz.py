"""Some damaged inputs down the whole line, drawn from fixed seeds; fuzz.py runs as many as are asked for."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from tests.trust.fuzz import case, outcome


@pytest.mark.parametrize("round_", range(2))
def test_damaged_input_is_music_or_a_line(round_: int) -> None:
    """What is read can be fretted, varied, drawn and written, every note accounted for; the rest is told in lines."""
    said: Counter[str] = Counter()
    for number in range(60):
        draw = random.Random(f"whole line {round_}/{number}")
        said[outcome(case(draw), draw)] += 1
    assert {"drawn", "refused (ReadError)"} <= set(said)


def test_a_damaged_input_can_be_printed() -> None:
    """The first inputs of a seed that get so far become books."""
    printed = 0
    for number in range(40):
        draw = random.Random(f"books {number}")
        printed += outcome(case(draw), draw, whole=1.0) == "printed"
        if printed == 1:
            return
    raise AssertionError("no input got so far")
