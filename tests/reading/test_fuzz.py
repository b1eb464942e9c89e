"""A few hundred damaged scores, drawn from fixed seeds; tests/reading/fuzz.py runs as many as are asked for."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from tests.reading.fuzz import damaged, outcome, seeds


@pytest.mark.parametrize("round_", range(8))
def test_a_damaged_score_is_a_passage_or_a_line(round_: int) -> None:
    """Nothing but a ReadError with one line a fault ever leaves the reader; some damage is harmless, some is not."""
    files = seeds()
    said = Counter(outcome(*damaged(random.Random(f"round {round_}/{n}"), files)) for n in range(50))
    assert set(said) == {"read", "refused"}
