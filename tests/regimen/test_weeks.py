from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import cache
from itertools import pairwise, product
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave import axes
from engrave.model import Day, Plan, PlanError, Player, Regimen, Step, Study, Variation, Visit, Week
from engrave.regimen import choose, grid, read_log, week
from engrave.regimen.beyond import base_of, serves, times_by_kind
from engrave.regimen.candidate import changes_for
from engrave.regimen.doses import Cap, Form, doses, growth
from engrave.regimen.levels import limit
from engrave.regimen.log import Entry, Log
from engrave.regimen.practice import figure
from engrave.regimen.sittings import goal_of
from engrave.regimen.skills import count
from engrave.regimen.strains import longest, strains
from engrave.regimen.terms import terms_of
from engrave.regimen.timetable import Item, WeekFrame, schedule
from engrave.regimen.week_grid import whole_parts
from tests.regimen.lines import OPEN_AND_STOPPED, SCALE, TWO_BARS, example, line

LINES = {"two bars": TWO_BARS, "high": f"{SCALE} | {SCALE}"}
PLAYERS = {
    "nobody": Player(),
    "25 minutes": Player(minutes=25),
    "beginner": Player(level="beginner", minutes=20, tempo=50),
    "ring finger": Player(weak=("ring finger",), minutes=25),
    "finger 4": Player(weak=("finger 4",), strong=("i-m",), minutes=40, tempo=60, goal=84),
    "both": Player(weak=("m-a", "finger 4"), minutes=30),
    "advanced": Player(level="advanced", goals=("tremolo",), minutes=60, tempo=70, goal=100),
    "an hour and a half": Player(minutes=90, days=7),
    "short days": Player(minutes=8),
}


@cache
def music(name: str) -> Variation:
    """One of the lines, or of the example files."""
    return line(LINES[name]) if name in LINES else example(name)


@cache
def planned(name: str, player: str, weeks: int = 1) -> Regimen:
    """The weeks of a player on a line."""
    return week(music(name), Plan(player=PLAYERS[player]), start=date(2027, 1, 4), weeks=weeks)


def heading(step: Step) -> str:
    """Heading of a step's page."""
    return step.variation.title


def budget(player: Player) -> float:
    """Minutes of a day."""
    return float(player.minutes or figure("time", "minutes"))


def keeps_the_limits(regimen: Regimen, player: Player) -> None:
    """The laws of any week: minutes with breaks, growth, caps, new studies, tempi, and what was asked for."""
    for number in {day.week for day in regimen.days}:
        days = [day for day in regimen.days if day.week == number]
        assert len([day for day in days if not day.visits]) >= (0 if player.days == 7 else 1)
        _keeps_its_minutes(regimen, [day for day in days if day.visits], player)
    _goes_up_by_steps(regimen, player)
    _has_what_was_asked(regimen, player)


def _keeps_its_minutes(regimen: Regimen, played: list[Day], player: Player) -> None:
    """A week's days within the player's minutes, the growth from day to day, and the caps."""
    before: float | None = None
    written = regimen.steps[0].variation
    for day in played:
        total = sum(visit.minutes for visit in day.visits)
        assert total == pytest.approx(day.minutes)
        assert total + figure("time", "break_minutes") * day.breaks <= budget(player) + 1e-6
        assert day.breaks == sum(visit.rest_before for visit in day.visits)
        assert sum(visit.new for visit in day.visits) <= figure("week", "new")
        if before is not None:
            assert total <= (1 + figure("time", "growth")) * before + figure("time", "growth_minutes") + 1e-6
        before = total
        strained: Counter[str] = Counter()
        by_finger: Counter[str] = Counter()
        for visit in day.visits:
            step = regimen.steps[visit.step]
            by_finger[step.load.muscle] += visit.minutes  # type: ignore[assignment]
            for name in strains(step.variation, axes.kinds(step.study), written):
                strained[name] += visit.minutes  # type: ignore[assignment]
        for name, minutes in strained.items():
            assert minutes <= figure("caps", name) + 1e-6, (day.label, name)
        for finger, minutes in by_finger.items():
            if finger:
                assert minutes <= figure("caps", "little" if finger == "c" else "finger") + 1e-6


def _goes_up_by_steps(regimen: Regimen, player: Player) -> None:
    """No study rises by more than a step of its level from one visit to the next, nor within one."""
    for index in range(len(regimen.steps)):
        tempi = [visit.tempo for _, visit in visits(regimen, index)]
        assert all(one[-1] - one[0] <= limit(player, "step") for one in tempi)
        assert all(after[-1] - before[-1] <= limit(player, "step") for before, after in pairwise(tempi))


def _has_what_was_asked(regimen: Regimen, player: Player) -> None:
    """On every day all that the plan asks for has as many minutes as any study nobody asked for, if the log lets it."""
    written = regimen.steps[0].variation
    base, terms = base_of(written), terms_of((*player.weak, *player.goals))
    asked = set()
    for index, step in enumerate(regimen.steps[1:], start=1):
        held, notes = count(step.variation), step.variation.figures.notes
        if any(serves(term, held, notes, base, changed=changes_for(step.study, term)) for _, term in terms):
            asked.add(index)
    told = [
        notice.text for notice in regimen.notices if "shorter" in notice.text or "it rests the first" in notice.text
    ]
    if all(any(text.startswith(f"“{heading(regimen.steps[i])}”") for text in told) for i in asked):
        return
    for day in regimen.days:
        own = sum(visit.minutes for visit in day.visits if visit.step in asked)
        others = [visit.minutes for visit in day.visits if visit.step not in asked | {0}]
        assert max(others, default=0.0) <= own + 1e-6, day.label


def visits(regimen: Regimen, step: int) -> list[tuple[int, Visit]]:
    """The visits to a step, with the day they are on."""
    return [(at, visit) for at, day in enumerate(regimen.days) for visit in day.visits if visit.step == step]


@pytest.mark.parametrize("player", PLAYERS)
@pytest.mark.parametrize("name", LINES)
def test_no_week_exceeds_its_limits(name: str, player: str) -> None:
    """Minutes with breaks, growth from day to day and what strains stay within their limits, whoever practises what."""
    keeps_the_limits(planned(name, player), PLAYERS[player])


@pytest.mark.parametrize("player", [name for name in PLAYERS if name != "short days"])
@pytest.mark.parametrize("name", LINES)
def test_a_week_is_few_things_often(name: str, player: str) -> None:
    """Four to eight studies, at most two new ones a day, the line at the end of each, a rest day unless refused."""
    regimen = planned(name, player)
    assert 4 <= len(regimen.steps) <= 8
    practised = [day for day in regimen.days if day.visits]
    assert len(practised) == (PLAYERS[player].days or 6)
    for day in practised:
        assert sum(visit.new for visit in day.visits) <= figure("week", "new")
        assert regimen.steps[day.visits[-1].step].study == Study()
        assert len({visit.step for visit in day.visits}) == len(day.visits)
    often = [len(visits(regimen, step)) for step in range(len(regimen.steps))]
    assert min(often) >= 2
    assert sum(often) >= 2.5 * len(often)
    assert {visit.step for day in regimen.days for visit in day.visits} == set(range(len(regimen.steps)))


@pytest.mark.parametrize("player", [name for name in PLAYERS if name not in ("short days", "an hour and a half")])
@pytest.mark.parametrize("name", LINES)
def test_days_use_their_minutes_or_say_why_not(name: str, player: str) -> None:
    """At least 85 per cent on the average of days, or a notice says what is filled."""
    regimen = planned(name, player)
    used = [day.minutes + figure("time", "break_minutes") * day.breaks for day in regimen.days if day.visits]
    told = any("minutes; these studies" in notice.text for notice in regimen.notices)
    assert told or sum(used) / len(used) >= figure("time", "used") * budget(PLAYERS[player])


@pytest.mark.parametrize("name", ["mill-race.tab", "slow-barge.tab"])
def test_days_are_full_where_there_is_enough_to_do(name: str) -> None:
    """Where a few studies do not fill the days there is room for more of them, up to those of the level."""
    regimen = planned(name, "both")
    used = [day.minutes + figure("time", "break_minutes") * day.breaks for day in regimen.days if day.visits]
    assert sum(used) / len(used) >= figure("time", "used") * budget(PLAYERS["both"])
    assert 4 <= len(regimen.steps) <= limit(PLAYERS["both"], "studies")


@pytest.mark.parametrize("player", PLAYERS)
def test_tempi_grow_a_little_from_where_the_player_is(player: str) -> None:
    """A visit plays the last step again and the next one, a few beats on; the line begins at the tempo of now."""
    regimen, who = planned("two bars", player), PLAYERS[player]
    step = {"beginner": 4, "advanced": 8}.get(who.level, 5)
    for index, found in enumerate(regimen.steps):
        tops = [visit.tempo[-1] for _, visit in visits(regimen, index)]
        assert all(0 <= b - a <= step for a, b in pairwise(tops)), heading(found)
        assert set(found.tempo) == {tempo for _, visit in visits(regimen, index) for tempo in visit.tempo}
        if found.study == Study() and who.tempo:
            assert tops[0] == who.tempo


WEAK = ("ring finger", "m", "p", "m-a", "i-a", "p-i", "finger 3", "finger 4", "fingers 3-4", "rest stroke", "slurs")


@pytest.mark.parametrize("name", LINES)
@pytest.mark.parametrize("word", WEAK)
def test_naming_a_thing_weak_gives_it_a_third_and_never_less_than_before(name: str, word: str) -> None:
    """Its pages have a third of the minutes where their limits allow, and half or no less than without a plan.

    Where they cannot have a third, the week says why.
    """
    plain, weak = planned(name, "25 minutes"), week(music(name), Plan(player=Player(minutes=25, weak=(word,))))
    before, after = _for(plain, word), _for(weak, word)
    assert after.minutes >= min(before.minutes, 0.5 - _WHOLE_TIMES)
    told = any(notice.text.startswith(f"Work on {word} has ") for notice in weak.notices)
    none = any("no study of this passage trains it" in notice.text for notice in weak.notices)
    assert told or none or after.minutes >= 1 / 3 - 0.02
    assert not none or not after.most
    assert not told or after.minutes < 1 / 3
    assert after.often >= (1 - _WHOLE_TIMES) * before.often
    assert after.minutes >= min(1 / 3, after.most), after


@dataclass(frozen=True, slots=True, kw_only=True)
class _Work:
    """What a week does for a thing."""

    minutes: float
    """share of its minutes that pages for it have"""
    often: float
    """how often the thing comes, a note"""
    most: float
    """the share that the limits on those pages leave room for"""


def _for(regimen: Regimen, word: str) -> _Work:
    written = regimen.steps[0].variation
    base, ((_, term),) = base_of(written), terms_of((word,))
    pages, caps, most = set[int](), list[float](), figure("week", "times")
    for index, step in enumerate(regimen.steps):
        held, notes = count(step.variation), step.variation.figures.notes
        if axes.kinds(step.study) and serves(term, held, notes, base, changed=changes_for(step.study, term)):
            pages.add(index)
            muscle = figure("caps", "finger") if step.load.muscle else figure("week", "visit")
            cap = longest(strains(step.variation, axes.kinds(step.study), written)) or figure("week", "visit")
            # two bars are played eight times at two tempi in no time
            often = [v.minutes for day in regimen.days for v in day.visits if v.step == index and v.times >= most]
            caps.append(min(cap, muscle, figure("week", "visit"), max(often, default=inf)))
    spent, came, notes = Counter[bool](), 0, 0
    for day in regimen.days:
        for visit in day.visits:
            spent[visit.step in pages] += visit.minutes  # type: ignore[assignment]
            made = regimen.steps[visit.step].variation
            came += visit.times * len(visit.tempo) * max(times_by_kind(term, count(made)).values(), default=0)
            notes += visit.times * len(visit.tempo) * made.figures.notes
    total = sum(spent.values())
    days = sum(bool(day.visits) for day in regimen.days)
    # a cap holds for all pages with one strain together; a time through that does not fit is left over
    return _Work(minutes=spent[True] / total, often=came / notes, most=_LEFT * days * max(caps, default=0.0) / total)


_LEFT = 0.9
_WHOLE_TIMES = 0.04
"""share of the minutes by which whole times through miss what was planned; ours"""


def test_a_warm_up_begins_every_day_that_has_room() -> None:
    """The first study of a day is an easy one, or the day would not use its minutes."""
    for player in ("nobody", "finger 4", "advanced"):
        regimen = planned("two bars", player)
        first = [regimen.steps[day.visits[0].step] for day in regimen.days if day.visits]
        assert all(step.section == "Warm-up" for step in first)


@given(st.integers(20, 150), st.integers(0, 100), st.sampled_from([4, 5, 8]))
def test_tempi_are_spread_evenly_from_start_to_top(start: int, rise: int, step: int) -> None:
    """No step is wider than the level's, and none is a beat or two where another is whole."""
    tempi = growth(start, start + rise, step)
    assert (tempi[0], tempi[-1]) == (start, start + rise)
    wide = [b - a for a, b in pairwise(tempi)]
    assert all(0 < one <= step for one in wide)
    assert not wide or max(wide) - min(wide) <= 1


def test_who_calls_a_pair_strong_does_not_warm_up_with_its_hardest_way() -> None:
    """A cycle begun at its worst crossings is no page to begin with, and another stroke is no work on crossings."""
    player = Player(weak=("string crossing",), strong=("m-a",), minutes=25)
    for name in LINES:
        regimen = week(music(name), Plan(player=player))
        assert any(step.section == "Warm-up" for step in regimen.steps)
        for step in regimen.steps:
            assert not (step.section == "Warm-up" and step.study.pluck.startswith("worst"))
            assert not (step.section == "Focus" and step.study.asked.startswith("stroke="))


@pytest.mark.parametrize("player", PLAYERS)
@pytest.mark.parametrize("name", LINES)
def test_a_warm_up_ends_well_below_the_goal(name: str, player: str) -> None:
    """In a book and in a week, whoever plays: common practice; four fifths of the level's tempo is our figure."""
    who = PLAYERS[player]
    goal = goal_of(music(name), Plan(player=who)) * limit(who, "tempo") / 100
    for steps in (planned(name, player).steps, choose(music(name), Plan(player=who)).steps):
        warm = [step for step in steps if step.section == "Warm-up"]
        assert warm
        assert all(step.tempo[-1] <= 0.8 * goal + 0.5 for step in warm), [(heading(s), s.tempo) for s in warm]
        assert all(f"begun at {s.tempo[0]}." in s.reason or "strong" in s.reason for s in warm)


def test_a_grid_says_what_the_days_say() -> None:
    """Every visit stands in one cell, with its place, tempi, times and minutes, and no cell is made up."""
    regimen = planned("two bars", "both")
    days, rows = grid(regimen)
    assert days == regimen.days
    for at, day in enumerate(days):
        cells = sorted((row.cells[at].place, row.step, row.cells[at]) for row in rows if row.cells[at].tempo)
        assert [step for _, step, _ in cells] == [visit.step for visit in day.visits]
        for (_, _, cell), visit in zip(cells, day.visits, strict=True):
            assert (cell.tempo, cell.times, cell.new) == (visit.tempo, visit.times, visit.new)
            assert abs(cell.whole - visit.minutes) <= 1


@given(st.lists(st.lists(st.floats(1, 12), max_size=9), max_size=6), st.floats(0, 5))
def test_printed_minutes_follow_one_rule(days: list[list[float]], more: float) -> None:
    """Whole minutes are within one of those planned, equal where those are, and never more than there is room for."""
    rooms = [sum(parts) + more for parts in days]
    made = whole_parts(days, rooms)
    pairs = [pair for parts, whole in zip(days, made, strict=True) for pair in zip(parts, whole, strict=True)]
    assert all(abs(whole - part) <= 1 for part, whole in pairs)
    assert all(one <= other for (a, one), (b, other) in product(pairs, repeat=2) if a <= b)
    assert all(sum(parts) <= room + 1e-6 for parts, room in zip(made, rooms, strict=True))


@pytest.mark.parametrize("player", PLAYERS)
def test_a_day_prints_no_more_minutes_than_there_are(player: str) -> None:
    """A day's printed minutes and its breaks fit the player's minutes, and each visit has one at least."""
    minutes = PLAYERS[player].minutes
    days, rows = grid(planned("two bars", player), 1, minutes)
    for at, day in enumerate(days):
        total = sum(row.cells[at].whole for row in rows) + 5 * day.breaks
        assert total <= (minutes or figure("time", "minutes"))
        assert all(row.cells[at].whole >= 1 for row in rows if row.cells[at].tempo)


def test_weeks_go_on_from_each_other() -> None:
    """Over four weeks studies are learnt and make room, tempi never fall, and every week keeps the limits."""
    regimen = planned("two bars", "finger 4", 4)
    assert [day.week for day in regimen.days] == [n for n in range(1, 5) for _ in range(7)]
    keeps_the_limits(regimen, PLAYERS["finger 4"])
    for index in range(len(regimen.steps)):
        tops = [visit.tempo[-1] for _, visit in visits(regimen, index)]
        assert tops == sorted(tops)
        assert sum(visit.new for _, visit in visits(regimen, index)) <= 1
    weeks = [{visit.step for day in regimen.days if day.week == n for visit in day.visits} for n in range(1, 5)]
    assert weeks[3] - weeks[0]
    assert weeks[0] - weeks[3]
    assert all(4 <= len(found) <= 8 for found in weeks)


def test_every_week_warms_up_and_works_on_what_is_weak() -> None:
    """Also when all pages for it are learnt: then they come back, and so does the warm-up."""
    regimen = planned("two bars", "finger 4", 6)
    (row,) = [row for row in regimen.coverage if row.label == "finger 4"]
    for number in range(1, 7):
        days = [day for day in regimen.days if day.week == number and day.visits]
        assert all(regimen.steps[day.visits[0].step].section == "Warm-up" for day in days)
        weak = sum(visit.minutes for day in days for visit in day.visits if visit.step in row.steps)
        # few pages are left to finger 4 here, and each has its own limit a day
        assert weak >= 0.2 * sum(day.minutes for day in days), number


def test_the_same_week_twice_is_the_same_week() -> None:
    """Same input, same regimen."""
    again = week(music("two bars"), Plan(player=PLAYERS["both"]), start=date(2027, 1, 4))
    assert again == planned("two bars", "both")


def test_studies_a_plan_insists_on_are_visited() -> None:
    """A plan's own studies are in the week."""
    studies = (Study(pluck="m-a", name="Mine"), Study(pluck="p-i", name="Thumb"), Study(pluck="a-c", must=False))
    regimen = week(music("two bars"), Plan(player=Player(minutes=25), studies=studies))
    assert {"Mine", "Thumb"} <= {heading(step) for step in regimen.steps}


@pytest.mark.parametrize("minutes", [1, 2])
def test_minutes_that_hold_nothing_are_refused_in_words(minutes: int) -> None:
    """Where a day cannot hold the line and a study beside it, the plan is at fault, and told what would do."""
    with pytest.raises(PlanError) as caught:
        week(line(OPEN_AND_STOPPED), Plan(player=Player(minutes=minutes, tempo=30)))
    assert "minutes" in str(caught.value)
    assert "fewer bars" in str(caught.value)


def test_rest_days_are_empty() -> None:
    """The plan's rest days hold nothing and say so."""
    regimen = week(music("two bars"), Plan(player=Player(minutes=15), week=Week(rest=("sunday", "friday"))))
    assert [day.label for day in regimen.days if not day.visits] == ["Friday", "Sunday"]
    assert {day.note for day in regimen.days if not day.visits} == {"A rest day."}


LOGGED = ("m a in turn", "pluck=m-a", "m-a", "M  a in turn")


@pytest.mark.parametrize("name", LOGGED)
def test_a_log_moves_a_study_by_any_of_its_names(name: str) -> None:
    """A clean day at its tempo moves a study a few beats on, whether it is named by heading or setting."""
    plan = Plan(player=Player(minutes=40), studies=(Study(pluck="m-a"), Study(pluck="i-m"), Study(pluck="p-i")))
    log = read_log(f"study,day,tempo,clean,times\n{name},2027-01-04,29,5,5\n", "log.csv")
    regimen = week(music("two bars"), plan, log=log)
    (index,) = [i for i, step in enumerate(regimen.steps) if step.study.pluck == "m-a"]
    assert visits(regimen, index)[0][1].tempo == (34,)
    assert "“m a in turn”: clean at 29: on to 34" in [str(notice) for notice in regimen.notices]


def test_a_number_in_a_log_is_the_number_of_the_page() -> None:
    """A row that names page 2 moves the study that the plan's own week prints there."""
    plan = Plan(player=Player(minutes=30))
    second = week(music("two bars"), plan).steps[1]
    log = read_log(f"study,day,tempo,clean,times\n2,2027-01-04,{second.tempo[0]},5,5\n", "log.csv")
    after = week(music("two bars"), plan, log=log)
    assert any(f"“{heading(second)}”: clean at" in notice.text for notice in after.notices)


def test_what_fails_is_slowed_shortened_rested_and_replaced() -> None:
    """Three days without a clean time: not on the first day, at one slower tempo, twice at most; after four it goes."""
    plan = Plan(player=Player(minutes=40), studies=tuple(Study(pluck=p) for p in ("m-a", "i-m", "p-i", "a-m-i", "p-m")))
    head = "study,day,tempo,clean,times\n"
    rows = [f"a m i in turn,2027-01-0{day},50,0,5\n" for day in (4, 5, 6, 7)]
    three = week(music("two bars"), plan, log=read_log(head + "".join(rows[:3])))
    (index,) = [i for i, step in enumerate(three.steps) if step.study.pluck == "a-m-i"]
    came = visits(three, index)
    assert came[0][0] > 0
    assert {visit.tempo for _, visit in came} == {(45,)}
    assert all(visit.times <= 2 for _, visit in came)
    four = week(music("two bars"), plan, log=read_log(head + "".join(rows)))
    assert not [step for step in four.steps if step.study.pluck == "a-m-i"]
    assert any("the easier “" in notice.text for notice in four.notices)


def test_what_hurts_is_left_out_and_nothing_takes_its_place() -> None:
    """A row whose note speaks of pain takes the study out of the week, with the way to a clinician."""
    text = "study,day,tempo,clean,times,note\nm a in turn,2027-01-04,29,5,5,hurts\n"
    plan = Plan(player=Player(minutes=40), studies=tuple(Study(pluck=p) for p in ("m-a", "i-m", "p-i")))
    regimen = week(music("two bars"), plan, log=read_log(text))
    assert not [step for step in regimen.steps if step.study.pluck == "m-a"]
    assert any("licensed clinician" in notice.text for notice in regimen.notices)


def test_a_finger_that_hurts_in_a_study_without_a_page_is_spared_too() -> None:
    """Whatever the log tells of, no page of the passage uses the finger it says hurts, the line alone excepted."""
    text = "study,day,tempo,clean,times,note\nBlock chords,2027-01-04,29,5,5,my ring finger hurts\n"
    regimen = week(music("two bars"), Plan(player=Player(minutes=40)), log=read_log(text))
    told = " ".join(str(notice) for notice in regimen.notices)
    assert "licensed clinician" in told
    assert "does not count" not in told
    for step in regimen.steps:
        notes = step.variation.passage.notes
        used = {n.stroke and n.stroke.finger for n in notes} | {n.placement and str(n.placement.finger) for n in notes}
        assert step.study == Study() or not used & {"a", "3"}, step.variation.title
    assert all(visit.tempo == visit.tempo[:1] for day in regimen.days for visit in day.visits)


def test_work_that_pain_takes_out_is_told_as_waiting() -> None:
    """Where a finger hurts that the plan calls weak, no page loads it, and the week says that the work waits."""
    regimen = planned("two bars", "finger 4")
    title = next(heading(step) for step in regimen.steps if step.section == "Focus")
    entry = Entry(line=2, study=title, day=date(2027, 1, 9), tempo=40, clean=0, times=5, note="finger 4 hurts")
    after = week(music("two bars"), Plan(player=PLAYERS["finger 4"]), log=Log(entries=(entry,)))
    assert not [step for step in after.steps if step.reason.startswith("For finger 4")]
    assert "Work on finger 4 waits: the log has taken its studies out." in [notice.text for notice in after.notices]


def test_rows_of_no_study_are_told_once_a_name() -> None:
    """However many rows name a study there is none of, one line says how many do not count, without the file's path."""
    rows = "".join(f"no such page,2027-01-{day:02d},60,5,5\n" for day in range(1, 29)) * 20
    log = read_log(f"study,day,tempo,clean,times\n{rows}", "/home/somebody/log.csv")
    regimen = week(music("two bars"), Plan(player=Player(minutes=20)), log=log)
    told = [str(n) for n in regimen.notices if "none of the studies" in n.text]
    assert told == ["log, line 2: “no such page” is none of the studies there are; 560 rows do not count"]


def some_log(regimen: Regimen, seed: int) -> Log:
    """A log of a few days with the studies of a week: clean or not, at any tempo, now and then with a note of pain."""
    dice = random.Random(seed)
    rows: list[Entry] = []
    for step in dice.sample(regimen.steps, len(regimen.steps) // 2 + 1):
        for day in range(dice.randint(1, 5)):
            tempo = dice.choice((step.tempo[0], step.tempo[-1], dice.randint(20, 320)))
            clean, note = dice.choice((0, 0, 3, 5)), "hurts" if dice.random() < 0.05 else ""
            made = Entry(line=2, study=heading(step), day=date(2027, 1, 4 + day), tempo=tempo, clean=clean, times=5)
            rows.append(replace(made, line=len(rows) + 2, note=note))
    return Log(entries=tuple(rows))


LOGGED_WEEKS = (
    ("two bars", "ring finger"),
    ("two bars", "short days"),
    ("high", "both"),
    ("high", "beginner"),
    ("mill-race.tab", "finger 4"),
    ("slow-barge.tab", "both"),
    ("lamps-on-the-quay.tab", "advanced"),
)


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize(("name", "player"), LOGGED_WEEKS)
def test_no_log_makes_a_week_break_a_law(name: str, player: str, seed: int) -> None:
    """Whatever was logged, every law of a week is kept, and no study goes on by more than a step."""
    who, log = PLAYERS[player], some_log(planned(name, player), seed)
    regimen = week(music(name), Plan(player=who), start=date(2027, 1, 11), log=log)
    keeps_the_limits(regimen, who)
    last = {entry.study: entry.tempo for entry in log.entries}
    for index, step in enumerate(regimen.steps):
        if heading(step) in last:
            assert visits(regimen, index)[0][1].tempo[-1] <= last[heading(step)] + limit(who, "step")


def test_a_long_log_takes_time_in_proportion() -> None:
    """Twenty thousand rows are looked at a few times each: names are looked up, not compared with every study."""
    seen = 0

    class Counted(str):
        """A name that counts how often it is taken apart."""

        def split(self, *args: object, **extra: object) -> list[str]:
            nonlocal seen
            seen += 1
            return str(self).split(*args, **extra)  # type: ignore[arg-type]

    dice = random.Random(1)
    entries = tuple(
        Entry(line=n, study=Counted(f"name {dice.randrange(9000)}"), day=date(2027, 1, 4), tempo=60, clean=1)
        for n in range(20_000)
    )
    week(music("two bars"), Plan(player=Player(minutes=20)), log=Log(entries=entries))
    assert seen <= 5 * len(entries)


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.tuples(st.integers(30, 90), st.floats(0.5, 9)), min_size=1, max_size=5),
    st.floats(4, 30),
    st.floats(2, 9),
)
def test_doses_fill_a_day_and_never_more(items: list[tuple[int, float]], cap: float, together: float) -> None:
    """Every study once at least where it fits, and no more than the cap and the limits."""
    forms = [Form(variation=music("two bars"), beat=Fraction(1), steps=growth(t, t + 20, 5)) for t, _ in items]
    rows = [(i, i % 3, wish) for i, (_, wish) in enumerate(items)]
    limit = Cap(members=frozenset(range(0, len(items), 2)), minutes=together)
    made = doses(forms, rows, cap=cap, caps=(limit,), keep=frozenset({0}))
    assert sum(d.minutes for d in made) <= cap + 1e-6 or len(made) == 1
    if len(made) > 1:
        assert sum(d.minutes for d in made if d.step in limit.members) <= together + 1e-6 or 0 in limit.members
    for one in made:
        assert one.minutes == pytest.approx(forms[one.step].takes(one.tempo, one.times))
        assert one.times >= 1


@settings(max_examples=30, deadline=None)
@given(st.lists(st.booleans(), min_size=1, max_size=5), st.integers(1, 6), st.floats(8, 40))
def test_a_schedule_keeps_its_rules(core: list[bool], days: int, minutes: float) -> None:
    """The line every day, no more than two first visits a day, minutes within caps, growth and strains."""
    items = [Item(least=1, most=8, fair=4, always=True), Item(least=1, most=8, fair=3, easy=True)]
    items += [Item(least=2, most=8, fair=6, core=one, words=("x",) if one else ()) for one in core]
    caps = tuple(minutes for _ in range(days))
    limit = Cap(members=frozenset(range(2, len(items))), minutes=9.0)
    frame = WeekFrame(caps=caps, adjacent=(True,) * (days - 1), strains=(limit,), due={"x": 0.34})
    made = schedule(items, frame)
    assert made is not None
    seen: set[int] = set()
    before: float | None = None
    for day in made.days:
        total = sum(m for _, m in day)
        assert total <= minutes + 1e-5
        assert 0 in [i for i, _ in day]
        assert sum(m for i, m in day if i in limit.members) <= 9.0 + 1e-5
        assert len([i for i, _ in day if i > 1 and i not in seen]) <= 2
        if before is not None:
            assert total <= 1.15 * before + 1 + 1e-5
        seen |= {i for i, _ in day}
        before = total


def test_a_passage_that_is_too_long_is_refused_in_words() -> None:
    """Where not even one study fits once, the plan is at fault."""
    with pytest.raises(PlanError) as caught:
        week(line(" | ".join([OPEN_AND_STOPPED] * 2)), Plan(player=Player(minutes=1, tempo=20)))
    assert "no study of this passage fits once" in str(caught.value)
