from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.model import Plan, PlanError, Player, Regimen, Study, Variation
from engrave.regimen import choose, handout, pages_needed
from engrave.regimen.atoms import count
from tests.regimen.lines import TWO_BARS, line

STUDIES = tuple(Study(pluck=pair) for pair in ("i-m", "m-a", "a-c", "p-i"))


@pytest.fixture(scope="module")
def music() -> Variation:
    """A line of two bars, on high strings and on low ones."""
    return line(TWO_BARS)


@pytest.fixture(scope="module")
def short(music: Variation) -> Regimen:
    """A short book on it."""
    return choose(music, Plan(depth="short"))


def fits(heights: list[float], room: list[float]) -> bool:
    """Whether all heights can be dealt to the pages, by trying."""
    return any(
        all(
            sum(h for h, at in zip(heights, dealt, strict=True) if at == page) <= room[page]
            for page in range(len(room))
        )
        for dealt in itertools.product(range(len(room)), repeat=len(heights))
    )


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(1, 10), min_size=1, max_size=6), st.integers(6, 10), st.integers(10, 14))
def test_no_fewer_pages_hold_these_heights(heights: list[int], first: int, next_: int) -> None:
    """The pages needed agree with trying every way of dealing the heights to pages."""
    sizes = [float(h) for h in heights]
    needed = pages_needed(sizes, [float(first), float(next_)])
    rooms = [float(first)] + [float(next_)] * len(sizes)
    assert fits(sizes, rooms[:needed])
    assert needed == 1 or not fits(sizes, rooms[: needed - 1])


def test_a_handout_takes_what_trains_most(short: Regimen) -> None:
    """Pages are not overfull, no study stands twice, and a second page trains more than the first alone."""
    heights = [70.0 + 5 * (i % 3) for i in range(len(short.steps))]
    trained = []
    for room in ([200.0], [200.0, 250.0]):
        made = handout(short, Plan(), heights, room)
        assert [i for page in made.pages for i in page] == list(range(len(made.regimen.steps)))
        for page, space in zip(made.pages, room, strict=True):
            here = [heights[short.steps.index(made.regimen.steps[i])] for i in page]
            assert sum(here) <= space
            places = [short.steps.index(made.regimen.steps[i]) for i in page]
            assert places == sorted(places)
        atoms = {atom for step in made.regimen.steps if step.variation for atom in count(step.variation)}
        trained.append(len(atoms))
    assert trained[1] > trained[0]


def test_studies_asked_for_all_fit_or_say_what_they_need(music: Variation) -> None:
    """The line and four studies of 90 mm need three pages of 200 mm; on one page the plan is told so."""
    plan = Plan(studies=STUDIES)
    regimen = choose(music, plan)
    assert len(handout(regimen, plan, [90.0] * 5, [200.0] * 3).regimen.steps) == 5
    with pytest.raises(PlanError) as caught:
        handout(regimen, plan, [90.0] * 5, [200.0])
    assert str(caught.value) == "5 studies do not fit one page: they need 3 pages (give --pages 3, or fewer studies)"


def test_a_study_higher_than_the_page_is_refused(music: Variation) -> None:
    """A study that no page holds is named with both heights."""
    plan = Plan(studies=STUDIES)
    with pytest.raises(PlanError) as caught:
        handout(choose(music, plan), plan, [90.0, 90.0, 90.0, 90.0, 300.0], [200.0])
    said = str(caught.value)
    assert said.endswith(
        "is 300 mm high, a page of the handout has 200 mm (cut the passage with --bars, or print a book)"
    )


def test_what_may_be_left_is_left_with_a_notice(music: Variation) -> None:
    """Where room is short, a study that need not be goes, and the handout says so."""
    plan = Plan(studies=(*STUDIES[:2], Study(pluck="a-m-i", must=False)))
    made = handout(choose(music, plan), plan, [60.0] * 4, [200.0])
    assert {step.study.pluck for step in made.regimen.steps} == {"as given", "i-m", "m-a"}
    assert str(made.regimen.notices[-1]) == "no room for: “a m i in turn”"


def test_what_has_no_room_is_told_where_the_plan_does_not_insist(music: Variation) -> None:
    """Without insisting the line and as many studies as fit are taken; where none fits, the pages needed are told."""
    plan = Plan(studies=STUDIES)
    regimen = choose(music, plan)
    made = handout(regimen, plan, [90.0] * 5, [200.0], insist=False).regimen
    assert len(made.steps) == 2
    assert str(made.notices[-1]).startswith("no room for: “")
    with pytest.raises(PlanError) as caught:
        handout(regimen, plan, [90.0] * 5, [100.0], insist=False)
    assert str(caught.value).startswith("5 studies do not fit one page: they need 5 pages")


def test_a_weak_thing_goes_before_the_rest(music: Variation) -> None:
    """On a page for the line and one study a player's weak pair wins."""
    plan = Plan(player=Player(weak=("a-c",)), depth="short")
    regimen = choose(music, plan)
    made = handout(regimen, plan, [100.0] * len(regimen.steps), [200.0])
    first, only = made.regimen.steps
    assert first.study == Study()
    assert "a" in only.study.pluck
    assert "c" in only.study.pluck


def test_a_handout_nobody_asked_anything_of_is_no_handout_of_weak_fingers(music: Variation) -> None:
    """Without a plan it holds the line, something easy, and different kinds of work; never the little finger."""
    regimen = choose(music, Plan())
    made = handout(regimen, Plan(), [80.0] * len(regimen.steps), [200.0, 260.0])
    steps = made.regimen.steps
    assert steps[0].study == Study()
    assert len(steps) == 5
    assert all("c" not in step.study.pluck.split("-") for step in steps)
    assert sum(step.study.pluck in ("m-a", "a-m") for step in steps) <= 1
    assert any(step.section == "Warm-up" for step in steps)
