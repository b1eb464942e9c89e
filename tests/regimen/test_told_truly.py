"""What weeks, courses and classes say is what their pages and tables show."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from fractions import Fraction
from functools import cache

import pytest

from engrave import axes
from engrave.model import Plan, Player, Regimen, Step, Study, Variation
from engrave.regimen import Room, choose, grid, handout, summary, week
from engrave.regimen.beyond import FRETTING, Base, base_of, more_than
from engrave.regimen.candidate import Candidate, make, written
from engrave.regimen.log import Entry, Log
from engrave.regimen.relatives import easier
from engrave.regimen.skills import Skill, count
from engrave.regimen.spots import felt
from tests.regimen.lines import SCALE, TWO_BARS, line, varied

LINE = line(TWO_BARS)


def entries(name: str, tempo: int, *, clean: int, days: int = 1, note: str = "") -> list[Entry]:
    """Sittings with one study, day after day; the note is that of the last."""
    notes = [""] * (days - 1) + [note]
    return [
        Entry(line=at + 2, study=name, day=date(2027, 1, 4 + at), tempo=tempo, clean=clean, times=5, note=said)
        for at, said in enumerate(notes)
    ]


def logged(plan: Plan, *rows: Entry) -> Regimen:
    """The week after such a log."""
    return week(LINE, plan, log=Log(entries=rows))


def uses(step: Step, finger: str) -> bool:
    """Whether a page has a note that this fretting finger stops, or this plucking finger plays."""
    return any(
        finger in (note.stroke and note.stroke.finger, note.placement and str(note.placement.finger))
        for note in step.variation.passage.notes
    )


def test_after_pain_nothing_rises_and_nothing_new_has_the_finger() -> None:
    """A study that went clean stays at its tempo, and no page comes anew that uses the finger that hurts."""
    plan = Plan(player=Player(minutes=40, tempo=60, goal=84))
    rows = (
        *entries("p i in turn", 50, clean=5),
        *entries("every slur there is", 40, clean=5),
        *entries("a m in turn", 40, clean=0, note="my little finger hurts"),
    )
    after = logged(plan, *rows)
    known = {"p i in turn", "Every slur there is", "The line as written"}
    mine = [v for d in after.days for v in d.visits if after.steps[v.step].study == Study(pluck="p-i")]
    tempi = {tempo for visit in mine for tempo in visit.tempo}
    assert tempi == {50}
    assert "“p i in turn”: clean at 50: once more at that, as something hurts" in [n.text for n in after.notices]
    assert not [s for s in after.steps if s.variation.title not in known and uses(s, "4")]
    assert "fill" not in " ".join(notice.text for notice in after.notices)
    told = [spot.reason for step in after.steps for spot in step.spots]
    assert not [reason for reason in told if re.search(r"[Ff]ingers? .*4", reason)], told
    assert [spot for step in week(LINE, plan).steps for spot in step.spots if "inger 4" in spot.reason]


PLANS = {
    "finger 4": Plan(player=Player(weak=("finger 4",), minutes=60)),
    "tremolo": Plan(player=Player(level="advanced", goals=("tremolo",), minutes=60)),
    "weeks of 25 minutes": Plan(player=Player(weak=("string crossing",), strong=("m-a",), minutes=25)),
}


@cache
def made(name: str) -> Regimen:
    """The week of a plan."""
    return week(LINE, PLANS[name], start=date(2027, 1, 4))


@pytest.mark.parametrize("name", PLANS)
def test_what_is_said_of_minutes_is_what_the_table_prints(name: str) -> None:
    """Days that are not full, and work that has less than it is due, are told by the minutes of the table's cells."""
    regimen, plan = made(name), PLANS[name]
    days, rows = grid(regimen, 1, plan.player.minutes)
    played = [sum(row.cells[at].whole for row in rows) for at, day in enumerate(days) if day.visits]
    said = " ".join(notice.text for notice in regimen.notices)
    if found := re.search(r"fill (\d+)(?: to (\d+))? of them", said):
        assert {int(n) for n in found.groups() if n} == {min(played), max(played)}
    if found := re.search(r"has \d+ of (\d+) minutes", said):
        assert int(found[1]) == sum(played)
    assert "fill" in said or max(played) > 0.8 * (plan.player.minutes or 0)


def test_a_class_is_told_the_minutes_of_its_own_tables() -> None:
    """The teacher's page names for each student the fullest day of the student's table, and what is strong as well."""
    rolls = summary([(PLANS[name], made(name)) for name in PLANS]).rolls
    for roll, name in zip(rolls, PLANS, strict=True):
        days, rows = grid(made(name), 1, PLANS[name].player.minutes)
        full = (sum(row.cells[at].whole for row in rows) + 5 * day.breaks for at, day in enumerate(days))
        assert roll.minutes == max(full)
        assert roll.minutes <= (PLANS[name].player.minutes or 0)
    assert rolls[-1].wants == "string crossing (weak), m-a (strong)"


def test_a_place_that_is_hard_for_all_in_one_study_is_said_once() -> None:
    """Names with the same studies stand together, and a whole class is all."""
    plan = Plan(studies=(Study(fret="along one string"), Study(pluck="m-a")))
    class_ = [(replace(plan, player=Player(name=name)), choose(LINE, plan)) for name in ("Ana", "Ben")]
    hard = [one.names for one in summary(class_).hard if one.names]
    assert hard
    assert all(len(names) == 1 and names[0].startswith("all in “") for names in hard)


def test_two_loops_of_a_page_are_two_stretches() -> None:
    """The second place to loop lies neither in the first nor around it."""
    studies = (Study(slurs="left hand alone"), Study(slurs="twos"), Study(pluck="a-m-i"), Study(strings="up 3"))
    two = [step.spots for step in choose(LINE, Plan(studies=studies)).steps if len(step.spots) == 2]
    assert two
    for one, other in ([set(spot.notes) for spot in spots] for spots in two):
        assert not one <= other
        assert not other <= one


def test_a_study_that_rests_does_not_come_on_the_first_day() -> None:
    """The sentence says no more than the table shows: at first it rests, then it comes short."""
    plan = Plan(player=Player(minutes=40, tempo=60, goal=84), studies=(Study(pluck="a-m-i"), Study(pluck="p-i")))
    regimen = logged(plan, *entries("a m i in turn", 50, clean=0, days=3))
    assert any("it rests at first, then comes short, at 45" in notice.text for notice in regimen.notices)
    rested = next(row for row in grid(regimen)[1] if regimen.steps[row.step].study.pluck == "a-m-i")
    assert rested.cells[0].tempo == ()


@cache
def book() -> Regimen:
    """A book with a page of each sort of work."""
    return choose(LINE, Plan(depth="standard"))


def test_hard_places_are_those_of_the_line_and_treated_by_pages_that_play_the_move() -> None:
    """Each place named for the teacher is hard in the line itself; what treats it has the same move somewhere."""
    regimen = book()
    assert regimen.troubles
    ids = {note.id: note.id for note in LINE.passage.notes}
    for trouble in regimen.troubles:
        assert 0 in trouble.steps
        for at in trouble.treated:
            step = regimen.steps[at]
            there = felt(step.variation, tempo=step.tempo[-1], beat=step.beat, line=ids)
            assert trouble.reason in {reason for _, reason in there}


def test_more_than_in_the_line_is_more_than_in_the_line() -> None:
    """A reason that holds a page against the line is a count that the page wins, however many notes each has."""
    regimen = book()
    line_ = regimen.steps[0].variation
    assert line_ is not None
    before = {_named(skill): n for skill, n in count(line_).items()}
    for step in regimen.steps:
        if step.reason.startswith("More than in the line: "):
            skill = step.reason.removeprefix("More than in the line: ").removesuffix(".")
            after = {_named(skill): n for skill, n in count(step.variation).items()}
            assert after[skill] > before[skill]


def test_the_fretting_hand_does_no_more_where_each_note_is_fretted_as_in_the_line() -> None:
    """Fewer notes give what is left a larger share: that is no work of the fretting hand, nor of a string."""
    line_ = written(line("C4:2.1.1/8 D4:2.3.3/8 E4:1.0.0/8 F4:1.1.1/8 G4:1.3.3/8 A4:1.5.4/8 E4:1.0.0/4"))
    base = base_of(line_)
    passage = line_.passage
    fewer = replace(passage, events=tuple(e if e.onset < 2 else replace(e, notes=()) for e in passage.events))
    page = replace(line_, passage=fewer, figures=replace(line_.figures, notes=4))
    skills = count(page)
    assert {s.kind for s in skills} >= {"fingers", "reach", "string"}
    more = more_than(base, skills, page)
    assert not {s.kind for s in more} & {*FRETTING, "string"}
    other = axes.vary(line_, Study(fret="1-3"))
    assert isinstance(other, Variation)
    assert {s.kind for s in more_than(base, count(other), other)} & {*FRETTING}


def _named(skill: Skill) -> str:
    return f"{skill.label} ({skill.where})" if skill.where else str(skill.label)


def test_a_grip_set_together_is_no_hard_step() -> None:
    """A bass and the chord struck over it, one after the other, ask for no finger after a finger; a line does."""
    struck = "F2:6.1.1/4 B3:2.0.0+G4:1.3.3/4"
    for music, does in ((line(" | ".join([f"{struck} {struck}"] * 2)), False), (LINE, True)):
        reasons = {reason for _, reason in felt(music, tempo=60, beat=Fraction(1), line=())}
        assert any("follows finger" in reason for reason in reasons) is does


def test_an_easier_study_in_the_place_of_another_works_on_the_same_and_has_not_failed() -> None:
    """What would not go gives its place to nothing that would not go either, nor to other work."""
    base = base_of(written(LINE))
    plan = Plan(player=Player(weak=("m-a",)))
    made_ = {name: _candidate(Study(pluck=name), plan, base) for name in ("a-m-i", "m-a", "p-i")}
    hard, near, other = replace(made_["a-m-i"], difficulty=9.0), made_["m-a"], made_["p-i"]
    assert "m-a" in hard.serves
    assert easier(hard, [other, near]) is not None
    assert easier(hard, [other, near], ("m-a",)) == 1
    assert easier(hard, [other, near], ("m-a",), {near.study}) is None


def _candidate(study: Study, plan: Plan, base: Base) -> Candidate:
    page = varied(LINE, study)
    return make(study, page, plan, base)


def test_a_line_that_is_moved_and_fingered_anew_keeps_no_shape() -> None:
    """The cue of such a page is that of its fingering, and says one thing once."""
    page = axes.vary(LINE, Study(strings="up 3", fret="without 1"))
    alone = varied(LINE, Study(strings="up 3"))
    assert "keep their shape" in alone.cue
    assert isinstance(page, Variation)
    assert page.cue == "Keep the resting finger loose and near its string."


def test_the_first_study_of_a_handout_is_its_warm_up() -> None:
    """The warm-up comes first wherever that costs no study, though it does not fit beside the line."""
    warm, other = (
        Step(study=Study(pluck=pluck), variation=line(SCALE), section=section, reason="", times=1, tempo=(60,))
        for pluck, section in (("p-i", "Warm-up"), ("m-a", "Focus"))
    )
    line_ = Step(study=Study(), variation=line(SCALE), section="The line", reason="", times=1, tempo=(60,))
    regimen = Regimen(steps=(line_, warm, other))
    plan = Plan(studies=(warm.study, other.study))
    for heights, first in (((100.0, 60.0, 60.0), "p-i"), ((100.0, 95.0, 60.0), "p-i"), ((100.0, 120.0, 60.0), "m-a")):
        found = handout(regimen, plan, heights, Room(page=200.0, top=10.0, end=40.0), pages=2)
        assert found.regimen.steps[1].study.pluck == first
