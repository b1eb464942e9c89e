"""Planned weeks as a regimen: the pages they need, what each day asks of them, and what is said of both."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from math import ceil

from engrave.model import Day, Notice, Regimen, Step
from engrave.model.said import say, say_count, strung
from engrave.regimen.candidate import Candidate
from engrave.regimen.choosing import coverage
from engrave.regimen.courses import hard_places
from engrave.regimen.days import break_before
from engrave.regimen.lacking import lacking
from engrave.regimen.log import LEARNT
from engrave.regimen.order import easy, in_order
from engrave.regimen.planned_weeks import Planned
from engrave.regimen.practice import figure
from engrave.regimen.selected import Ready
from engrave.regimen.steps import step
from engrave.regimen.studies import quoted
from engrave.regimen.targets import Target, targets
from engrave.regimen.week_grid import grids

_FEW = say("the week holds few studies, so that each comes often")


_NAMED = 8
"""studies that wait which are named; of more the number is said"""


def told(planned: Planned) -> Regimen:
    """The regimen of planned weeks: the studies they use in practice order, and their days."""
    there, player = planned.there, planned.plan.player
    used = planned.used
    kept = [_paged(index, planned) for index in used]
    first = {used.index(day.visits[0].step) for day in planned.days if day.visits}
    placed = in_order(kept, player, there.base, first=first)
    order = [used[place.index] for place in placed]
    steps = tuple(_step(kept[place.index], place.section, place.reason, there) for place in placed)
    shown = [kept[place.index] for place in placed]
    made = Regimen(
        steps=steps,
        days=tuple(_days(planned, order)),
        coverage=coverage(shown, there.candidates, _asked(planned), (_FEW,)),
        verdict=planned.verdict,
        troubles=hard_places(shown, steps, there.base),
    )
    # what is said of minutes is what the tables print
    tables = grids(made, player.minutes)
    minutes: Counter[int] = Counter()
    for _, rows in tables:
        for row in rows:
            minutes[order[row.step]] += sum(cell.whole for cell in row.cells)
    played = [
        sum(row.cells[at].whole for row in rows) for days, rows in tables for at, day in enumerate(days) if day.visits
    ]
    notices = (
        *there.notices,
        *_moved(planned, order),
        *_waiting(planned, order),
        *lacking(planned, minutes),
        *_unused(planned, played),
    )
    return replace(made, notices=notices)


def _asked(planned: Planned) -> list[Target]:
    """What the table of what is trained tells of a week: the things that the plan asks for."""
    player = planned.plan.player
    named = {*player.weak, *player.goals}
    found = targets(planned.there.candidates, player)
    return [target for target in found if target.skill.kind == "asked" and target.skill.parts[0] in named]


def _paged(index: int, planned: Planned) -> Candidate:
    """The study with the tempi that the weeks ask of it."""
    tempi = {tempo for day in planned.days for visit in day.visits if visit.step == index for tempo in visit.tempo}
    return replace(planned.there.candidates[index], tempo=tuple(sorted(tempi)))


def _step(candidate: Candidate, section: str, reason: str, there: Ready) -> Step:
    made = step(candidate, section, reason, there.base)
    # no page asks for round and round of what a finger does that hurts
    spots = tuple(spot for spot in made.spots if not any(there.sore.intersection(parts[1:]) for parts in spot.treats))
    # how often, and how long, stands in the table of the week, day by day
    return replace(made, times=0, minutes=None, spots=spots)


def _days(planned: Planned, order: Sequence[int]) -> list[Day]:
    seen: set[int] = set()
    found = []
    for day in planned.days:
        pauses = break_before([visit.minutes for visit in day.visits])
        visits = tuple(
            replace(
                visit,
                step=order.index(visit.step),
                rest_before=pause,
                new=visit.step not in seen and _unknown(visit.step, planned),
            )
            for visit, pause in zip(day.visits, pauses, strict=True)
        )
        seen.update(visit.step for visit in day.visits)
        minutes, breaks = sum((visit.minutes for visit in visits), 0.0), sum(pauses)
        note = _played(ceil(minutes), breaks) if day.practice else day.note
        found.append(replace(day, visits=visits, minutes=minutes, breaks=breaks, note=note))
    return found


def _unknown(index: int, planned: Planned) -> bool:
    """Whether a study is new to the player: not the line, nothing easy, and not in the log."""
    candidate = planned.there.candidates[index]
    return not (candidate.plain or easy(candidate, planned.plan.player) or index in planned.there.ongoing)


def _moved(planned: Planned, order: Sequence[int]) -> list[Notice]:
    """What the log has done to each study."""
    there = planned.there
    return [
        Notice(text=say("“{study}”: {moved}", study=candidate.variation.title, moved=now.moved))
        for index, (candidate, now) in enumerate(zip(there.candidates, there.standings, strict=True))
        if now.moved and (index in order or now.state == LEARNT)
    ]


def _waiting(planned: Planned, order: Sequence[int]) -> list[Notice]:
    """What did not come in these weeks."""
    there = planned.there
    titles = [
        candidate.variation.title
        for index, (candidate, now) in enumerate(zip(there.candidates, there.standings, strict=True))
        if index not in order and now.state != LEARNT
    ]
    if not titles:
        return []
    names, more = strung(map(quoted, titles[:_NAMED]), ", "), len(titles) - _NAMED
    all_named = say(
        "The week holds few studies, so that each comes often; waiting for a later week: {studies}", studies=names
    )
    some_named = say_count(
        "The week holds few studies, so that each comes often; waiting for a later week: {studies} and {n} more",
        "The week holds few studies, so that each comes often; waiting for a later week: {studies} and {n} more",
        more,
        studies=names,
    )
    return [Notice(text=some_named if more > 0 else all_named)]


def _unused(planned: Planned, used: Sequence[int]) -> list[Notice]:
    """Where the days cannot use their minutes, how many they use: `used` on each practice day, breaks not counted."""
    visits = [[visit.minutes for visit in day.visits] for day in planned.days if day.practice]
    lasting = [sum(day) + figure("time", "break_minutes") * sum(break_before(day)) for day in visits]
    if planned.there.hurts or sum(lasting) >= len(lasting) * planned.budget * figure("time", "used"):
        return []
    minutes = f"{planned.budget:g}"
    same = say(
        "A day has {minutes} minutes; these studies, within this book's limits, fill {most} of them. The others are "
        "for breaks and for music of your own.",
        minutes=minutes,
        most=max(used),
    )
    various = say(
        "A day has {minutes} minutes; these studies, within this book's limits, fill {least} to {most} of them. The "
        "others are for breaks and for music of your own.",
        minutes=minutes,
        least=min(used),
        most=max(used),
    )
    return [Notice(text=various if min(used) < max(used) else same)]


def _played(minutes: int, breaks: int) -> str:
    """How much of a day is playing, and how much is rest."""
    pause = f"{figure('time', 'break_minutes'):.0f}"
    if not breaks:
        return say_count("{n} minute of playing.", "{n} minutes of playing.", minutes)
    if breaks == 1:
        return say_count(
            "{n} minute of playing and a break of {pause} minutes.",
            "{n} minutes of playing and a break of {pause} minutes.",
            minutes,
            pause=pause,
        )
    return say_count(
        "{n} minute of playing and {breaks} breaks of {pause} minutes.",
        "{n} minutes of playing and {breaks} breaks of {pause} minutes.",
        minutes,
        breaks=breaks,
        pause=pause,
    )
