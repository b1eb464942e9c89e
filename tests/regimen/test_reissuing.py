from __future__ import annotations

import pytest

from engrave import axes
from engrave.model import Declined, Plan, PlanError, Regimen, Study, Variation
from engrave.regimen import as_plan, choose, dump_plan, read_plan, reissue
from engrave.regimen.studies import canonical
from tests.regimen.lines import SCALE, TWO_BARS, line, varied

KINDS = {
    "one bar on two strings": line(SCALE),
    "open strings only": line("E4:1.0.0/4 B3:2.0.0/4 G3:3.0.0/4 D3:4.0.0/4"),
    "a compound metre": line("E4:1.0.0/8 F4:1.1.1/8 G4:1.3.3/8 E4:1.0.0/8 F4:1.1.1/8 D4:2.3.3/8", metre="6/8"),
    "two voices": line("E4:1.0.0/4 G4:1.3.3/4 F4:1.1.1/4 E4:1.0.0/4", "C3:5.3.2/2 A2:5.0.0/2"),
    "chords": line("C3:5.3.3+E3:4.2.2+C4:2.1.1/2 A2:5.0.0+E3:4.2.2+C4:2.1.1/2"),
}


@pytest.fixture(scope="module")
def old() -> Regimen:
    """A short book for a line of two bars."""
    return choose(line(TWO_BARS), Plan(depth="short"))


@pytest.mark.parametrize("kind", KINDS)
def test_a_regimen_is_made_again_for_another_passage(old: Regimen, kind: str) -> None:
    """What applies keeps its place, section and settings; each of the others is exchanged or dropped, with a notice."""
    new = KINDS[kind]
    made = reissue(old, new, Plan())
    gone = [step for step in old.steps if isinstance(axes.vary(new, step.study), Declined)]
    kept = [step.study for step in old.steps if step not in gone]
    assert [step.study for step in made.steps if step.study in kept] == kept
    assert len(made.notices) == len(gone)
    exchanged = [n for n in made.notices if n.text.endswith("” takes its place")]
    assert len(made.steps) == len(kept) + len(exchanged)
    studies = [canonical(step.study) for step in made.steps]
    assert len(set(studies)) == len(studies)
    for step in made.steps:
        again = varied(new, step.study)
        assert step.variation.passage == again.passage
    for notice in made.notices:
        assert " does not apply here: " in notice.text
        assert notice.text.endswith(("takes its place", "nothing near enough takes its place"))


def test_the_same_passage_gives_the_same_steps(old: Regimen) -> None:
    """Reissued for its own passage a regimen is unchanged, without a notice."""
    made = reissue(old, line(TWO_BARS), Plan())
    assert made.steps == old.steps
    assert made.notices == ()
    assert made.verdict == f"{len(old.steps)} of {len(old.steps)} studies as they were, 0 exchanged"


def test_the_nearest_kin_takes_the_place() -> None:
    """A move to a string that the new line cannot make is replaced by another move, not by something else."""
    music = line(TWO_BARS)
    there = [s for s in axes.axis("strings").settings if s.kind == "place"]
    new = KINDS["open strings only"]
    lost = next(
        Study(strings=s.name)
        for s in there
        if isinstance(axes.vary(music, Study(strings=s.name)), Variation)
        and isinstance(axes.vary(new, Study(strings=s.name)), Declined)
    )
    made = reissue(choose(music, Plan(studies=(lost,))), new, Plan())
    taken = [step.study for step in made.steps if step.study not in (lost, Study())]
    assert all(study.strings != "as written" for study in taken)


def test_a_regimen_becomes_a_plan_that_asks_for_it(old: Regimen) -> None:
    """The studies of a regimen by name, written and read, make the same regimen again, in the same order."""
    plan = as_plan(old, Plan())
    assert read_plan(dump_plan(plan)) == plan
    again = choose(line(TWO_BARS), plan)
    assert [canonical(step.study) for step in again.steps] == [canonical(step.study) for step in old.steps]
    assert [step.section for step in again.steps] == [step.section for step in old.steps]


def test_nothing_that_applies_is_a_fault_of_the_plan() -> None:
    """Where no study applies and nothing is near, it is said in one line."""
    music = line(TWO_BARS)
    old = choose(music, Plan(studies=(Study(slurs="to open", name="Pulled"),)))
    with pytest.raises(PlanError) as caught:
        reissue(old, KINDS["open strings only"], Plan())
    assert str(caught.value).startswith(
        "nothing of the old regimen applies to this passage (“Pulled” does not apply here"
    )
