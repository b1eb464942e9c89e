"""A class: one passage, a plan for each student, and what the teacher sees of them all together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

from engrave.model import Plan, Regimen
from engrave.model.said import Said, say, strung
from engrave.regimen.beyond import asked
from engrave.regimen.levels import level_word
from engrave.regimen.terms import worded


@dataclass(frozen=True, slots=True, kw_only=True)
class Roll:
    """One student's line in the summary."""

    name: str
    level: str
    wants: str
    """what is weak and what the goals are"""
    studies: tuple[str, ...]
    """headings in practice order"""
    minutes: int
    """on the fullest day of a week, or of all sittings of a handout together"""


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
    named = [_wanted(name, word) for name, word, _ in asked(player) if word in (*player.weak, *player.goals)]
    if regimen.days:
        minutes = max(day.load.minutes for day in regimen.days)
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


def _hard(rolls: Sequence[Roll], class_: Sequence[tuple[Plan, Regimen]]) -> tuple[Hard, ...]:
    found: dict[str, tuple[float, str, list[str]]] = {}
    for roll, (_, regimen) in zip(rolls, class_, strict=True):
        for trouble in regimen.troubles:
            score, reason, names = found.get(trouble.place, (0.0, trouble.reason, []))
            found[trouble.place] = (score + trouble.score, reason, [*names, roll.name])
    rows = sorted(found.items(), key=lambda row: (-len(row[1][2]), -row[1][0], row[0]))
    return tuple(Hard(place=place, reason=reason, names=tuple(names)) for place, (_, reason, names) in rows[:6])
