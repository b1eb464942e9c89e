from __future__ import annotations

from itertools import pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.model import Plan, Player
from engrave.regimen.candidates import pool
from engrave.regimen.order import CLOSE, CONTRAST, FOCUS, WARM_UP, apart, in_order
from tests.regimen.lines import TWO_BARS, line

SECTIONS = (WARM_UP, FOCUS, CONTRAST, CLOSE)


def clashes(labels: list[str], before: str = "") -> int:
    """Neighbours with one and the same label, empty labels apart."""
    return sum(1 for a, b in pairwise([before, *labels]) if a and a == b)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.sampled_from(["", "a", "c", "4"]), max_size=7), st.sampled_from(["", "a", "c"]))
def test_neighbours_are_parted_as_well_as_any_order_can(labels: list[str], before: str) -> None:
    """No permutation has fewer neighbours of one label."""
    order = apart(range(len(labels)), lambda i: labels[i], before)
    assert sorted(order) == list(range(len(labels)))
    best = min(clashes(list(p), before) for p in set(permutations(labels)))
    assert clashes([labels[i] for i in order], before) == best


def test_an_order_without_clashes_stays_as_it_is() -> None:
    """What is fine already is not moved, and items of one label keep their order."""
    assert apart("abab", lambda x: x) == tuple("abab")
    assert [x for x in apart(["a1", "a2", "b1", "a3"], lambda x: x[0]) if x[0] == "a"] == ["a1", "a2", "a3"]


@pytest.mark.parametrize(
    "player",
    [
        Player(),
        Player(weak=("m-a", "little finger")),
        Player(strong=("i-m",), weak=("thumb",)),
        Player(weak=("finger 4",), goals=("accents",)),
    ],
)
def test_the_sections_follow_each_other_and_hold_what_they_say(player: Player) -> None:
    """Sections in order, the line last; every candidate once; weak work never in the warm-up or after the focus."""
    candidates = pool(line(TWO_BARS), Plan()).candidates
    placed = in_order(candidates, player)
    assert sorted(place.index for place in placed) == list(range(len(candidates)))
    sections = [SECTIONS.index(place.section) for place in placed]
    assert sections == sorted(sections)
    assert candidates[placed[-1].index].plain
    for place in placed:
        weak = place.reason.startswith("While you are fresh")
        assert weak <= (place.section == FOCUS)
        assert place.reason.endswith(".")


def test_two_neighbours_share_a_muscle_only_where_it_cannot_be_avoided() -> None:
    """Between warm-up and close the pages have no more clashes than the most frequent muscle forces."""
    candidates = pool(line(TWO_BARS), Plan()).candidates
    placed = [p for p in in_order(candidates, Player(weak=("m-a",))) if p.section in (FOCUS, CONTRAST)]
    labels = [candidates[p.index].load.muscle for p in placed]
    most = max(labels.count(label) for label in set(labels) if label)
    assert clashes(labels) == max(0, most - (len(labels) - most) - 1)
