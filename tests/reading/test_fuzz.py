"""A few hundred damaged scores, drawn from fixed seeds; tests/reading/fuzz.py runs as many as are asked for."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from tests.reading.fuzz import OTHERS, damaged, other_damaged, other_seeds, outcome, seeds


@pytest.mark.parametrize("round_", range(4))
def test_a_damaged_score_is_a_passage_or_a_line(round_: int) -> None:
    """Nothing but a ReadError with one line a fault ever leaves the reader; some damage is harmless, some is not."""
    files = seeds()
    said = Counter(outcome(*damaged(random.Random(f"round {round_}/{n}"), files)) for n in range(50))
    assert set(said) == {"read", "refused"}


@pytest.mark.parametrize("kind", OTHERS)
def test_a_damaged_file_of_another_kind_is_a_passage_or_a_line(kind: str) -> None:
    """MIDI, kern, MEI, tablature and ABC alike: a passage, or one line a fault."""
    files, count = other_seeds(kind), 100 if kind in ("tablature", "abc") else 40
    draws = (random.Random(f"{kind}/{n}") for n in range(count))
    said = Counter(outcome(other_damaged(draw, kind, files), {}, "x") for draw in draws)
    assert set(said) == {"read", "refused"}
