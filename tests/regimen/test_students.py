from __future__ import annotations

import re
from dataclasses import replace

import pytest

from engrave.model import Plan, PlanError, Player, Student
from engrave.regimen import choose, class_plans, dump_plan, read_plan, summary
from tests.regimen.lines import TWO_BARS, line

CLASS = """\
[player]
minutes = 30
weak = ["m-a"]
[[student]]
name = "Ana"
level = "beginner"
weak = []
[[student]]
name = "Bo"
goals = ["slurs"]
minutes = 45
"""


def test_each_student_has_what_the_plan_says_but_for_their_own() -> None:
    """A key of a student goes before the player's, an empty list too; the rest is the plan's."""
    plan = read_plan(CLASS)
    ana, bo = class_plans(plan)
    assert ana.player == Player(name="Ana", level="beginner", minutes=30)
    assert bo.player == Player(name="Bo", weak=("m-a",), goals=("slurs",), minutes=45)
    assert not ana.students
    assert class_plans(ana) == (ana,)
    assert read_plan(dump_plan(plan)) == plan


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[[student]]\nlevel = "beginner"\n', "[[student]] names nobody"),
        ('[[student]]\nname = "A"\n[[student]]\nname = "A"\n', "name 'A' is taken by another student"),
        ('[[student]]\nname = "A"\ngrade = 1\n', "grade is no key of [student]"),
    ],
)
def test_a_class_at_fault_is_told(text: str, said: str) -> None:
    """Students without a name, with one name twice, or with a key that is not known."""
    with pytest.raises(PlanError) as caught:
        read_plan(text, "class.toml")
    assert said in str(caught.value)


def test_the_summary_says_who_has_what() -> None:
    """Every study of every student stands in it; what all have is named once, what some share with their names."""
    plan = Plan(depth="short", students=(Student(name="Ana", level="beginner"), Student(name="Bo", weak=("m-a",))))
    music = line(TWO_BARS)
    made = [(one, choose(music, one)) for one in class_plans(plan)]
    made.append((replace(made[0][0], player=replace(made[0][0].player, name="Cy")), made[0][1]))
    found = summary(made)
    assert [roll.name for roll in found.rolls] == ["Ana", "Bo", "Cy"]
    assert [len(roll.studies) for roll in found.rolls] == [len(regimen.steps) for _, regimen in made]
    assert "The line as written" in found.everyone
    for shared in found.shared:
        assert 1 < len(shared.names) < 3
        for roll in found.rolls:
            assert (shared.title in roll.studies) == (roll.name in shared.names)
    assert found.hard
    each = [[re.split(" and |, ", str(who).partition(" in ")[0]) for who in hard.names] for hard in found.hard]
    whose = [[name for names in together for name in names] for together in each]
    assert all(set(names) <= {"Ana", "Bo", "Cy", "all"} and len(names) == len(set(names)) for names in whose)
    assert len({(hard.place, hard.reason) for hard in found.hard}) == len(found.hard)
