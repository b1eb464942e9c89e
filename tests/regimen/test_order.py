from __future__ import annotations

from itertools import pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.model import Plan, Player, Variation
from engrave.regimen.beyond import asked, base_of, times_by_kind
from engrave.regimen.candidate import written
from engrave.regimen.candidate_pool import pool
from engrave.regimen.order import CONTRAST, FOCUS, OPEN, WARM_UP, apart, easy, in_order, purpose, rising
from engrave.regimen.skills import count
from tests.regimen.lines import TWO_BARS, line

SECTIONS = (OPEN, WARM_UP, FOCUS, CONTRAST)
PLAYERS = [
    Player(),
    Player(weak=("m-a", "little finger")),
    Player(strong=("i-m",), weak=("thumb",)),
    Player(weak=("finger 4",), goals=("accents",)),
    Player(level="beginner"),
    Player(level="advanced", goals=("tremolo",)),
]


@pytest.fixture(scope="module")
def music() -> Variation:
    """A line of two bars, on high strings and on low ones."""
    return line(TWO_BARS)


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


@pytest.mark.parametrize("player", PLAYERS)
def test_the_course_goes_from_the_line_over_the_easy_and_the_weak_to_the_hard(music: Variation, player: Player) -> None:
    """Sections in order, the line first; every candidate once; focus pages are for what is asked, warm-ups are easy."""
    candidates = pool(music, Plan(player=player)).candidates
    placed = in_order(candidates, player, base_of(written(music)))
    assert sorted(place.index for place in placed) == list(range(len(candidates)))
    sections = [SECTIONS.index(place.section) for place in placed]
    assert sections == sorted(sections)
    assert candidates[placed[0].index].plain
    assert WARM_UP in [place.section for place in placed]
    for place in placed:
        candidate = candidates[place.index]
        assert bool(purpose(candidate, player)) == (place.section == FOCUS)
        assert place.section != WARM_UP or easy(candidate, player)
        assert place.reason.endswith(".")


@pytest.mark.parametrize("player", PLAYERS)
def test_the_contrast_rises_in_difficulty(music: Variation, player: Player) -> None:
    """From page to page it may step back by a hair, to part two pages for one muscle, and never further."""
    candidates = pool(music, Plan(player=player)).candidates
    placed = in_order(candidates, player, base_of(written(music)))
    points = [candidates[p.index].difficulty for p in placed if p.section == CONTRAST]
    highest = 0.0
    for now in points:
        assert now >= highest - 0.61
        highest = max(highest, now)
    order = [p.index for p in placed if p.section == CONTRAST]
    assert sorted(rising(sorted(order, key=lambda i: candidates[i].difficulty), candidates)) == sorted(order)


@pytest.mark.parametrize("player", PLAYERS)
def test_a_focus_page_trains_its_thing_more_than_the_line_does(music: Variation, player: Player) -> None:
    """What a focus page is for occurs, in some way, in more of its notes than of the line's, or fills half of them."""
    base = base_of(written(music))
    terms = {word: term for _, word, term in asked(player)}
    for candidate in pool(music, Plan(player=player)).candidates:
        word = purpose(candidate, player)
        if not word:
            continue
        here, there = (times_by_kind(terms[word], found) for found in (count(candidate.variation), base.skills))
        notes = candidate.variation.figures.notes
        assert any(n / notes >= min(there[kind] / base.notes + 0.1, 0.5) for kind, n in here.items()), (
            word,
            candidate.variation.title,
        )
