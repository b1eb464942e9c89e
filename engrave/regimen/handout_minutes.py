"""How often the studies of a handout are played, so that one sitting with each lies within the plan's minutes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engrave.model import Plan, Regimen, Step
from engrave.regimen.beyond import Base
from engrave.regimen.levels import limit
from engrave.regimen.load import load_of
from engrave.regimen.order import WARM_UP
from engrave.regimen.practice import figure
from engrave.regimen.steps import base_in, candidate_of, changes, with_steps
from engrave.regimen.strains import longest


def in_minutes(regimen: Regimen, plan: Plan, *, more: bool = True) -> Regimen:
    """The regimen with fewer times through where its studies take more than the plan's minutes, with more where few.

    What the plan names keeps its times longest and gets more first; times that a plan gives are its own. `more` false
    takes none on. Where once through at each tempo is still too long, the fastest steps wait; then studies that nobody
    asked for go, the last first, down to the line, a warm-up and one study.
    """
    if not plan.player.minutes:
        return regimen
    base, minutes = base_in(regimen.steps), float(plan.player.minutes)
    words = {*plan.player.weak, *plan.player.goals}
    candidates = [candidate_of(step, plan, base) for step in regimen.steps]
    named = [bool(words & set(candidate.serves)) for candidate in candidates]
    house = limit(plan.player, "longest")
    most = [min(house, longest(candidate.strains) or house) for candidate in candidates]
    steps = list(regimen.steps)
    while _total(steps) > minutes:
        at = max(range(len(steps)), key=lambda i: (_can_less(steps[i], plan), not named[i], steps[i].load.minutes))
        if not _can_less(steps[at], plan):
            break
        steps[at] = _less(steps[at], base)
    kept = range(len(steps)) if plan.studies else _kept(steps, named, minutes)
    regimen, steps = with_steps(regimen, kept), [steps[i] for i in kept]
    named, most = [named[i] for i in kept], [most[i] for i in kept]
    open_ = set(range(len(steps))) if more else set()
    while open_ and _total(steps) < minutes * figure("handout", "used"):
        at = min(open_, key=lambda i: (not named[i], steps[i].load.minutes, i))
        fuller = _taken(steps[at], steps[at].times + 1, steps[at].tempo, base)
        others = _total(steps) - steps[at].load.minutes
        if _may(fuller, plan, most[at]) and others + fuller.load.minutes <= minutes:
            steps[at] = fuller
        else:
            open_.remove(at)
    return replace(regimen, steps=tuple(steps))


_FEWEST = 3
"""studies that a handout keeps however short the day is, the line among them; house figure"""


def _kept(steps: Sequence[Step], named: Sequence[bool], minutes: float) -> Sequence[int]:
    """Which studies one sitting has minutes for: without the last of those that nobody asked for, while it is long."""
    kept = list(range(len(steps)))
    while len(kept) > _FEWEST and _total([steps[i] for i in kept]) > minutes:
        loose = [i for i in kept if changes(steps[i]) and not named[i] and steps[i].section != WARM_UP]
        if not loose:
            break
        kept.remove(loose[-1])
    return kept


def _total(steps: Sequence[Step]) -> float:
    return sum(step.load.minutes for step in steps)


def _can_less(step: Step, plan: Plan) -> bool:
    """Whether times or tempi may go: of those that a plan gives none do."""
    if step.study.times or plan.times:
        return False
    return step.times > 1 or (len(step.tempo) > 1 and not (step.study.tempo or plan.tempo))


def _less(step: Step, base: Base) -> Step:
    if step.times > 1:
        return _taken(step, step.times - 1, step.tempo, base)
    return _taken(step, step.times, step.tempo[:-1], base)


def _may(step: Step, plan: Plan, most: float) -> bool:
    """Whether so many times are within what the house gives to a study, `most` minutes."""
    own = step.study.times or plan.times
    return not own and step.times <= figure("week", "times") and step.load.minutes <= most


def _taken(step: Step, times: int, tempo: tuple[int, ...], base: Base) -> Step:
    load = load_of(step.variation, times=times, tempo=tempo, beat=step.beat, line=base.line)
    return replace(step, times=times, tempo=tempo, load=load, minutes=load.minutes)
