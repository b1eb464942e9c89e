"""Books on passages of other textures than a line: the example files."""

from __future__ import annotations

from functools import cache

import pytest

from engrave.model import Plan, Player, Regimen
from engrave.regimen import choose
from engrave.regimen.beyond import base_of, shown
from engrave.regimen.candidate import written
from engrave.regimen.skills import Skill, count
from engrave.regimen.terms import parse_term
from tests.axes.laws import check
from tests.regimen.lines import TWO_BARS, example, line

FILES = ("mill-race.tab", "lamps-on-the-quay.tab", "slow-barge.tab", "four-doors.tab")
"""broken chords, tremolo, a melody over a bass, several textures"""


@cache
def book(name: str, weak: str) -> Regimen:
    """A short book for a player with something weak."""
    return choose(example(name), Plan(player=Player(weak=(weak,)), depth="short"))


@pytest.fixture(scope="module", params=FILES)
def name(request: pytest.FixtureRequest) -> str:
    """An example; all that is asked of one comes together, so that what is remembered of its line serves."""
    return str(request.param)


def test_every_book_warms_up_right_after_the_line(name: str) -> None:
    """Whatever the texture, the second page is an easy one."""
    steps = book(name, "ring finger").steps
    assert [step.section for step in steps[:2]] == ["The line", "Warm-up"]
    assert steps[1].difficulty <= 2.5


def test_every_page_keeps_the_laws(name: str) -> None:
    """Whatever the texture, all that is printed is lawful: its barres and numerals, its hands and bars."""
    for step in book(name, "ring finger").steps:
        assert check(step.variation) == (), step.variation.title


@pytest.mark.parametrize("word", ["i-a", "p-a", "rhythm"])
@pytest.mark.parametrize("name", ["lamps-on-the-quay.tab", "two bars"])
def test_a_book_warms_up_whatever_it_works_on(name: str, word: str) -> None:
    """A page that is easy and work on the weak thing at once leaves room for another, or begins the book itself."""
    music = line(TWO_BARS) if name == "two bars" else example(name)
    steps = choose(music, Plan(player=Player(weak=(word,)), depth="short")).steps
    assert [step.section for step in steps[:2]] == ["The line", "Warm-up"]


@pytest.mark.parametrize("word", ["ring finger", "finger 4"])
def test_what_is_weak_has_pages_or_the_book_says_that_none_works_on_it(name: str, word: str) -> None:
    """Both have work in every texture; where finger 4 stops the whole melody already, a notice says so."""
    made = book(name, word)
    focus = [step for step in made.steps if step.reason.startswith(("For the ring finger", "For finger 4"))]
    told = [n.text for n in made.notices if n.text.startswith(f"The plan calls {word} weak")]
    assert bool(focus) != bool(told)
    assert focus or (name, word) == ("lamps-on-the-quay.tab", "finger 4")


def test_no_page_of_chords_is_work_for_one_of_their_fingers(name: str) -> None:
    """From chord to chord every finger plucks again: that counts for none of them."""
    for step in book(name, "ring finger").steps:
        if step.study.pluck == "block":
            assert not any(skill.kind == "again" and skill.parts[0] != "p" for skill in count(step.variation))


def test_a_thing_is_held_against_the_line_kind_by_kind() -> None:
    """A finger that plucks as often as in the line, but is accented, is worked; one that only comes as often is not."""
    term = parse_term("a")
    assert term is not None
    base = base_of(written(example("lamps-on-the-quay.tab")))
    assert shown(term, base.skills, base.notes, base, changed=False) is None
    accented = {**base.skills, Skill("accent", ("a",)): base.notes // 4}
    assert shown(term, accented, base.notes, base, changed=True) == ("accent", (base.notes // 4) / base.notes)


def test_the_bass_alone_is_work_on_the_bass_strings() -> None:
    """For a player whose bass strings are weak, the bass of a melody over it stands in the focus."""
    steps = book("slow-barge.tab", "bass strings").steps
    assert next(step.reason for step in steps if step.study.pluck == "bass alone").startswith("For bass strings: ")
