from __future__ import annotations

import re
from collections import Counter

import pytest

from engrave.model import Plan, Player, Regimen, Study
from engrave.regimen import choose
from engrave.regimen.page_reasons import often, said
from engrave.regimen.skills import count
from engrave.regimen.terms import parse_term
from tests.regimen.lines import SCALE, TWO_BARS, line

PLAYERS = [Player(), Player(weak=("m-a", "finger 4"), strong=("i-m",)), Player(goals=("bass strings", "slurs"))]


@pytest.fixture(scope="module", params=PLAYERS, ids=lambda player: ", ".join((*player.weak, *player.goals)) or "none")
def book(request: pytest.FixtureRequest) -> Regimen:
    """A book for each of three players."""
    return choose(line(TWO_BARS), Plan(player=request.param))


def test_a_thing_is_said_as_a_player_says_it() -> None:
    """Letters become fingers, pairs two letters, and the rest stays the plan's word."""
    words = [("a", "the ring finger"), ("m-a", "m and a"), ("finger 4", "finger 4"), ("shifts", "shifts")]
    for word, expected in words:
        term = parse_term(word)
        assert term is not None
        assert said(word, term) == expected
    assert [often(n) for n in (0, 1, 2, 5)] == ["never", "once", "twice", "5 times"]


def test_no_sentence_stands_on_most_pages(book: Regimen) -> None:
    """The commonest reason stands on no more than a third of the pages, and each page has one."""
    reasons = Counter(step.reason for step in book.steps)
    assert max(reasons.values()) <= max(2, len(book.steps) // 3), reasons.most_common(1)
    assert all(step.reason for step in book.steps)
    assert max(len(step.reason) for step in book.steps) < 130


def test_the_figures_of_a_reason_are_those_of_the_page(book: Regimen) -> None:
    """A pair that is said to follow each other so many times does so in the notes of the page."""
    for step in book.steps:
        match = re.match(r"For (\w) and (\w): one follows the other (\d+) times", step.reason)
        if match and step.variation:
            found = count(step.variation)
            pairs = sum(
                n for skill, n in found.items() if skill.kind == "pair" and set(skill.parts[:2]) == {match[1], match[2]}
            )
            assert pairs == int(match[3])


def test_what_only_one_page_has_no_other_page_has(book: Regimen) -> None:
    """A page that says "only here" is alone in training it beyond the line."""
    for at, step in enumerate(book.steps):
        if not step.reason.startswith("Only here: "):
            continue
        said = step.reason.removeprefix("Only here: ").removesuffix(".")
        (row,) = [row for row in book.coverage if said == (f"{row.label} ({row.where})" if row.where else row.label)]
        assert [index for index in row.steps if book.steps[index].study != Study()] == [at]


def test_a_goal_changes_the_book() -> None:
    """The bass strings as a goal come right after the warm-up, and bring more strokes on them than no plan does."""
    plain, low = (choose(line(SCALE), Plan(player=Player(goals=goals))).steps for goals in ((), ("bass strings",)))
    first = next(step for step in low if step.section not in ("The line", "Warm-up"))
    assert first.section == "Focus"
    assert first.reason.startswith("For bass strings: ")
    wound = [sum(step.load.wound for step in steps) for steps in (plain, low)]
    assert wound[1] > 1.1 * wound[0]
