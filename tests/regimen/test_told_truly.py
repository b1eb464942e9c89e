"""What weeks, courses and classes say is what their pages and tables show."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from functools import cache

import pytest

from engrave.model import Plan, Player, Regimen, Step, Study
from engrave.regimen import choose, grid, summary, week
from engrave.regimen.log import Entry, Log
from tests.regimen.lines import TWO_BARS, line

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
    assert step.variation is not None
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
    assert not [s for s in after.steps if s.variation and s.variation.title not in known and uses(s, "4")]
    assert "fill" not in " ".join(notice.text for notice in after.notices)


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
