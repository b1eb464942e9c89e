from __future__ import annotations

import itertools
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.model import Plan, PlanError, Player, Regimen, Study, Variation
from engrave.regimen import Room, choose, handout, pages_needed
from engrave.regimen.skills import count
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


def fits(heights: list[float], room: Sequence[float], *, line: bool) -> bool:
    """Whether all heights can be dealt to the pages, by trying; `line`: the first to the first page that holds it."""
    first = next((page for page in range(len(room)) if room[page] >= heights[0]), 0)
    return any(
        all(
            sum(h for h, at in zip(heights, dealt, strict=True) if at == page) <= room[page]
            for page in range(len(room))
        )
        for dealt in itertools.product(range(len(room)), repeat=len(heights))
        if not line or dealt[0] == first
    )


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(1, 10), min_size=1, max_size=4),
    st.integers(10, 14),
    st.tuples(st.integers(0, 4), st.integers(0, 4)),
    st.booleans(),
)
def test_no_fewer_pages_hold_these_heights(heights: list[int], page: int, taken: tuple[int, int], line: bool) -> None:
    """The pages needed agree with trying every way of dealing the heights to pages, the line on the first it fits."""
    sizes = [float(h) for h in heights]
    paper = Room(page=float(page), top=float(taken[0]), end=float(taken[1]))
    needed = pages_needed(sizes, paper, line=line)
    assert fits(sizes, paper.of(needed), line=line)
    assert not any(fits(sizes, paper.of(fewer), line=line) for fewer in range(1, needed))


def test_a_handout_takes_what_trains_most(short: Regimen) -> None:
    """Pages are not overfull, no study stands twice, and a second page trains more than the first alone."""
    heights = [70.0 + 5 * (i % 3) for i in range(len(short.steps))]
    trained = []
    for pages in (1, 2):
        paper = Room(page=250.0, top=50.0)
        made, room = handout(short, Plan(), heights, paper, pages=pages), paper.of(pages)
        assert [i for page in made.pages for i in page] == list(range(len(made.regimen.steps)))
        for page, space in zip(made.pages, room, strict=True):
            here = [heights[short.steps.index(made.regimen.steps[i])] for i in page]
            assert sum(here) <= space
            places = [short.steps.index(made.regimen.steps[i]) for i in page]
            assert places == sorted(places)
        skills = {skill for step in made.regimen.steps if step.variation for skill in count(step.variation)}
        trained.append(len(skills))
    assert trained[1] > trained[0]


def test_studies_asked_for_all_fit_or_say_what_they_need(music: Variation) -> None:
    """The line and four studies of 90 mm need three pages of 200 mm; on one page the plan is told so."""
    plan = Plan(studies=STUDIES)
    regimen = choose(music, plan)
    assert len(handout(regimen, plan, [90.0] * 5, Room(page=200.0), pages=3).regimen.steps) == 5
    with pytest.raises(PlanError) as caught:
        handout(regimen, plan, [90.0] * 5, Room(page=200.0), pages=1)
    assert str(caught.value) == (
        "the line and 4 studies do not fit one page: they need 3 pages (give --pages 3, or fewer studies)"
    )


def test_the_pages_a_handout_says_it_needs_are_enough(music: Variation) -> None:
    """Title, signs and the line are counted: what the message asks for is what then holds everything, and no less."""
    plan = Plan(studies=STUDIES)
    regimen = choose(music, plan)
    paper = Room(page=200.0, top=60.0, end=70.0)
    for heights in ([150.0, 60.0, 60.0, 60.0, 60.0], [100.0, 130.0, 130.0, 20.0, 20.0], [65.0] * 5):
        with pytest.raises(PlanError) as caught:
            handout(regimen, plan, heights, paper, pages=1)
        needed = int(caught.value.faults[0].hint.split("--pages ")[1].split(",")[0])
        assert len(handout(regimen, plan, heights, paper, pages=needed).regimen.steps) == 5
        if needed > 2:
            with pytest.raises(PlanError):
                handout(regimen, plan, heights, paper, pages=needed - 1)


def test_a_study_higher_than_the_page_is_refused(music: Variation) -> None:
    """A study that no page holds is named with both heights."""
    plan = Plan(studies=STUDIES)
    with pytest.raises(PlanError) as caught:
        handout(choose(music, plan), plan, [90.0, 90.0, 90.0, 90.0, 300.0], Room(page=200.0), pages=1)
    said = str(caught.value)
    assert said.endswith(
        "is 300 mm high, a page of the handout has 200 mm (cut the passage with --bars, or print a book)"
    )


def test_what_may_be_left_is_left_with_a_notice(music: Variation) -> None:
    """Where room is short, a study that need not be goes, and the handout says so."""
    plan = Plan(studies=(*STUDIES[:2], Study(pluck="a-m-i", must=False)))
    made = handout(choose(music, plan), plan, [60.0] * 4, Room(page=200.0), pages=1)
    assert {step.study.pluck for step in made.regimen.steps} == {"as given", "i-m", "m-a"}
    assert str(made.regimen.notices[-1]) == "no room for: “a m i in turn”"


def test_what_has_no_room_is_told_where_the_plan_does_not_insist(music: Variation) -> None:
    """Without insisting the line and as many studies as fit are taken; where none fits, the pages needed are told."""
    plan = Plan(studies=STUDIES)
    regimen = choose(music, plan)
    made = handout(regimen, plan, [90.0] * 5, Room(page=200.0), pages=1, insist=False).regimen
    assert len(made.steps) == 2
    assert str(made.notices[-1]).startswith("no room for: “")
    with pytest.raises(PlanError) as caught:
        handout(regimen, plan, [90.0] * 5, Room(page=100.0), pages=1, insist=False)
    assert str(caught.value).startswith("the line and 4 studies do not fit one page: they need 5 pages")


def test_a_weak_thing_goes_before_the_rest(music: Variation) -> None:
    """On a page for the line and one study a player's weak pair wins."""
    plan = Plan(player=Player(weak=("a-c",)), depth="short")
    regimen = choose(music, plan)
    made = handout(regimen, plan, [100.0] * len(regimen.steps), Room(page=200.0), pages=1)
    first, only = made.regimen.steps
    assert first.study == Study()
    assert "a" in only.study.pluck
    assert "c" in only.study.pluck


def test_a_handout_nobody_asked_anything_of_is_no_handout_of_weak_fingers(music: Variation) -> None:
    """Without a plan it holds the line, something easy, and different kinds of work; never the little finger."""
    regimen = choose(music, Plan())
    made = handout(regimen, Plan(), [80.0] * len(regimen.steps), Room(page=260.0, top=60.0), pages=2)
    steps = made.regimen.steps
    assert steps[0].study == Study()
    assert len(steps) == 5
    assert all("c" not in step.study.pluck.split("-") for step in steps)
    assert sum(step.study.pluck in ("m-a", "a-m") for step in steps) <= 1
    assert any(step.section == "Warm-up" for step in steps)


def test_a_handout_holds_a_warm_up_and_work_on_what_the_plan_names_or_says_there_is_no_room(music: Variation) -> None:
    """However much else would train more; where not all fit, the warm-up goes before a goal and a notice says so."""
    plan = Plan(player=Player(level="advanced", weak=("m-a",), goals=("tremolo",)))
    regimen = choose(music, plan)
    ways = ("4 times", "tremolo", "p-a-m-i")
    tremolo = [i for i, step in enumerate(regimen.steps) if step.study.pluck.startswith(ways)]
    heights = [150.0 if i in tremolo else 50.0 for i in range(len(regimen.steps))]
    for page, told in ((300.0, ""), (160.0, "no room for: work on tremolo")):
        made = handout(regimen, plan, heights, Room(page=page), pages=1)
        reasons = [step.reason for step in made.regimen.steps]
        assert any(step.section == "Warm-up" for step in made.regimen.steps)
        assert any(reason.startswith("For m and a") for reason in reasons)
        assert any(step in made.regimen.steps for step in map(regimen.steps.__getitem__, tremolo)) == (not told)
        assert [n.text for n in made.regimen.notices if n.text.startswith("no room")] == [told] * bool(told)
