from __future__ import annotations

import pytest

from engrave.model import Plan, Player, Regimen, Study, Variation
from engrave.regimen import choose
from engrave.regimen.candidate_pool import pool
from engrave.regimen.practice import figure
from tests.regimen.lines import OPEN_AND_STOPPED, SCALE, line

LEVELS = ("beginner", "intermediate", "advanced")


@pytest.fixture(scope="module")
def music() -> Variation:
    """Two bars on the two highest strings."""
    return line(f"{SCALE} | {SCALE}")


@pytest.fixture(scope="module")
def books(music: Variation) -> dict[str, Regimen]:
    """A book for each level."""
    return {level: choose(music, Plan(player=Player(level=level))) for level in LEVELS}


def little(regimen: Regimen) -> bool:
    """Whether the plucking little finger has anything to do."""
    return any(finger == "c" for step in regimen.steps for finger, _ in step.variation.figures.strokes)


def test_a_level_sets_how_much_and_how_hard(books: dict[str, Regimen]) -> None:
    """Books grow with the level; their pages are harder; a beginner's tempi stop before the goal."""
    sizes = [len(books[level].steps) for level in LEVELS]
    assert sizes == [10, 20, 30]
    mean = [sum(step.difficulty for step in books[level].steps) / len(books[level].steps) for level in LEVELS]
    assert mean[0] < mean[1] < mean[2]
    fastest = [max(step.tempo[-1] for step in books[level].steps) for level in LEVELS]
    assert fastest[0] < fastest[1]


def test_the_little_finger_comes_for_those_who_ask(music: Variation, books: dict[str, Regimen]) -> None:
    """By level, or by a word of the plan; else never."""
    assert [little(books[level]) for level in LEVELS] == [False, False, True]
    assert little(choose(music, Plan(player=Player(weak=("little finger",)))))
    assert little(choose(music, Plan(player=Player(level="beginner", goals=("p-c",)))))
    assert not little(choose(music, Plan(player=Player(weak=("ring finger",)))))


@pytest.mark.parametrize("pair", ["i-a", "p-a", "p-c"])
def test_any_pair_is_one_line_of_plan(music: Variation, pair: str) -> None:
    """A pair that is named weak has its own page."""
    regimen = choose(music, Plan(player=Player(weak=(pair,)), depth="short"))
    assert any(step.study.pluck in (pair, pair[::-1]) and step.section == "Focus" for step in regimen.steps)


def test_all_pairs_in_both_strokes_are_one_line_of_plan(music: Variation) -> None:
    """Ten pairs of five fingers, each in rest and in free stroke, are all in the book (or declined with a notice)."""
    regimen = choose(music, Plan(pairs="all, both strokes"))
    made = {(step.study.pluck, step.study.stroke) for step in regimen.steps}
    pairs = {f"{a}-{b}" for i, a in enumerate("pimac") for b in "pimac"[i + 1 :]}
    asked = {(pair, stroke) for pair in pairs for stroke in ("rest", "free")}
    assert len(asked) == 20
    declined = [n for n in regimen.notices if "does not apply here" in n.text and "stroke" in n.text]
    assert len(asked - made) <= len(declined)
    assert len(asked & made) >= 10


def test_no_sitting_of_what_strains_is_longer_than_its_limit() -> None:
    """In every book a page of one finger alone, tremolo, slurs and so on stays within its minutes."""
    candidates = pool(line(OPEN_AND_STOPPED), Plan(depth="complete")).candidates
    assert any(c.strains for c in candidates)
    for candidate in candidates:
        for name in candidate.strains:
            once = candidate.times == 1 and len(candidate.tempo) == 1
            assert candidate.load.minutes <= figure("caps", name) + 1e-6 or once


def test_a_longer_wish_is_cut_with_a_notice() -> None:
    """A hundred times one finger alone becomes what the limit holds, and the page says so."""
    plan = Plan(studies=(Study(fret="4", times=100), Study(pluck="i-m", times=40)))
    regimen = choose(line(OPEN_AND_STOPPED), plan)
    (alone,) = [step for step in regimen.steps if step.study.fret == "4"]
    (pair,) = [step for step in regimen.steps if step.study.pluck == "i-m"]
    assert alone.minutes is not None
    assert alone.minutes <= figure("caps", "alone")
    assert alone.notices[0].text.startswith("The plan asks for 100 times through at each tempo, about ")
    assert (pair.times, pair.notices) == (40, ())


def test_minutes_times_and_tempi_agree(books: dict[str, Regimen]) -> None:
    """A page's minutes are every time through at every step it prints, and half a minute; its steps rise."""
    for regimen in books.values():
        for step in regimen.steps:
            beats = step.variation.passage.bars[-1].end / step.beat
            said = sum(step.times * beats / tempo for tempo in step.tempo)
            assert step.minutes == pytest.approx(float(said) + figure("time", "settle"))
            assert list(step.tempo) == sorted(set(step.tempo))
