"""A class: one passage, a plan for each student, and what the teacher sees of them all together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace

from engrave.model import Plan, Regimen, Trouble
from engrave.model.said import Said, say, strung
from engrave.model.wording import listed
from engrave.regimen.beyond import asked
from engrave.regimen.levels import level_word
from engrave.regimen.practice import figure
from engrave.regimen.spots import troubles
from engrave.regimen.steps import changes
from engrave.regimen.studies import quoted
from engrave.regimen.terms import worded
from engrave.regimen.week_grid import grid


@dataclass(frozen=True, slots=True, kw_only=True)
class Roll:
    """One student's line in the summary."""

    name: str
    level: str
    wants: str
    """what is weak, what the goals are and what is strong"""
    studies: tuple[str, ...]
    """headings in practice order"""
    minutes: int
    """on the fullest day of a week, with breaks, or of all sittings of a handout together"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shared:
    """A study that several students have."""

    title: str
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hard:
    """A place of the passage that is hard for several students."""

    place: str
    reason: str
    names: tuple[str, ...]
    """whose studies it is in, each with the studies where the line itself has it not; empty where the line has it,
    which all have"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """A class at a glance, for the teacher."""

    rolls: tuple[Roll, ...]
    everyone: tuple[str, ...]
    """headings of the studies that all have"""
    shared: tuple[Shared, ...]
    """studies that two or more have, but not all; what most have first"""
    hard: tuple[Hard, ...]
    """hard places of the passage, those of most students first"""


_MOST_HARD = 6
"""hard places that the summary holds; house figure"""


def class_plans(plan: Plan) -> tuple[Plan, ...]:
    """A plan for each student of a class, in the order of the file; the plan itself where it names none."""
    if not plan.students:
        return (plan,)
    made = []
    for student in plan.students:
        own = {f.name: getattr(student, f.name) for f in fields(student) if getattr(student, f.name) is not None}
        made.append(replace(plan, player=replace(plan.player, **own), students=()))
    return tuple(made)


def summary(class_: Sequence[tuple[Plan, Regimen]]) -> Summary:
    """The class at a glance, from each one's plan and regimen."""
    rolls = tuple(_roll(plan, regimen, number) for number, (plan, regimen) in enumerate(class_, start=1))
    have: dict[str, list[str]] = {}
    for roll in rolls:
        for title in roll.studies:
            have.setdefault(title, []).append(roll.name)
    several = [(title, names) for title, names in have.items() if 1 < len(names) < len(rolls)]
    several.sort(key=lambda row: -len(row[1]))
    return Summary(
        rolls=rolls,
        everyone=tuple(title for title, names in have.items() if len(names) == len(rolls)),
        shared=tuple(Shared(title=title, names=tuple(names)) for title, names in several),
        hard=_hard(rolls, class_),
    )


def _roll(plan: Plan, regimen: Regimen, number: int) -> Roll:
    player = plan.player
    own = (*player.weak, *player.goals, *player.strong)
    named = [_wanted(name, word) for name, word, _ in asked(player) if word in own]
    if regimen.days:
        # as the foot of the student's own table says
        pause = figure("time", "break_minutes")
        tables = [grid(regimen, number, player.minutes) for number in sorted({day.week for day in regimen.days})]
        minutes = max(
            sum(row.cells[at].whole for row in rows) + day.breaks * pause
            for days, rows in tables
            for at, day in enumerate(days)
        )
    else:
        minutes = sum(step.minutes or 0.0 for step in regimen.steps)
    return Roll(
        name=player.name or say("Student {number}", number=number),
        level=level_word(player),
        wants=strung(named, ", ") if named else "",
        studies=tuple(step.variation.title if step.variation else step.study.name for step in regimen.steps),
        minutes=round(minutes),
    )


def _wanted(standing: str, word: str) -> Said:
    """A word of the plan with what it is to the player: weak, goal or strong."""
    if standing == "weak":
        return say("{thing} (weak)", thing=worded(word))
    if standing == "goal":
        return say("{thing} (goal)", thing=worded(word))
    return say("{thing} (strong)", thing=worded(word))


def _places(regimen: Regimen) -> tuple[Trouble, ...]:
    """Every hard place of the line over the steps, not the hardest alone."""
    line = next((step.variation for step in regimen.steps if not changes(step)), None)
    if line is None:
        return regimen.troubles
    found = [step.spots for step in regimen.steps]
    hard = [{(spot.source, spot.reason) for spot in spots} for spots in found]
    return troubles(line, found, hard, lambda _, __: (), most=sum(map(len, found)))


def _in_studies(rolls: Sequence[Roll], studies: Mapping[int, Sequence[str]]) -> tuple[str, ...]:
    """Who has a place in which studies, those with the same ones together."""
    together: dict[tuple[str, ...], list[str]] = {}
    for at, own in studies.items():
        together.setdefault(tuple(own), []).append(rolls[at].name)
    found = []
    for own, names in together.items():
        titles = strung(map(quoted, own), ", ")
        if len(names) == len(rolls) > 1:
            # for the translator: all students of a class, as in "For all in “Shape, moved”."
            found.append(say("all in {studies}", studies=titles))
        else:
            found.append(say("{name} in {studies}", name=listed(names), studies=titles))
    return tuple(found)


def _hard(rolls: Sequence[Roll], class_: Sequence[tuple[Plan, Regimen]]) -> tuple[Hard, ...]:
    """Places hard in the line first, which all of them play; then those that only studies have, with their names."""
    scores: dict[tuple[str, str], float] = {}
    in_line: set[tuple[str, str]] = set()
    studies: dict[tuple[str, str], dict[int, list[str]]] = {}
    for at, (_, regimen) in enumerate(class_):
        for trouble in _places(regimen):
            key = (trouble.place, trouble.reason)
            scores[key] = scores.get(key, 0.0) + trouble.score
            if any(not changes(regimen.steps[i]) for i in trouble.steps):
                in_line.add(key)
            own = studies.setdefault(key, {}).setdefault(at, [])
            own += [title for i in trouble.steps if (title := rolls[at].studies[i]) not in own]
    rows = sorted(scores, key=lambda key: (key not in in_line, -len(studies[key]), -scores[key], key))
    return tuple(
        Hard(
            place=key[0],
            reason=key[1],
            names=() if key in in_line else _in_studies(rolls, studies[key]),
        )
        for key in rows[:_MOST_HARD]
    )
