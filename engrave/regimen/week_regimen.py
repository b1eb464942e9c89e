"""Planned weeks as a regimen: the pages they need, what each day asks of them, and what is said of both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from engrave.model import Day, Load, Notice, Plan, Regimen, Step, Visit
from engrave.model.wording import sentence
from engrave.regimen import days as calendar
from engrave.regimen.candidate import Candidate
from engrave.regimen.choosing import coverage
from engrave.regimen.courses import hard_places
from engrave.regimen.days import Slot
from engrave.regimen.doses import Dose
from engrave.regimen.load import load_of, together
from engrave.regimen.log import LEARNT
from engrave.regimen.order import easy, in_order
from engrave.regimen.practice import figure
from engrave.regimen.selected import Ready
from engrave.regimen.steps import step
from engrave.regimen.targets import Target, targets

_FEW = "the week holds few studies, so that each comes often"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedDay:
    """One day of the calendar, with what is to be done on it."""

    slot: Slot
    week: int
    """from 1"""
    doses: tuple[Dose, ...] = ()
    """in practice order, items by index of the candidate; none on a rest day"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """Weeks that are settled, before they are told."""

    there: Ready
    plan: Plan
    budget: float
    """minutes of a practice day, with breaks"""
    days: tuple[PlannedDay, ...]
    verdict: str

    @property
    def used(self) -> list[int]:
        """Candidates that come on some day, ascending."""
        return sorted({dose.item for day in self.days for dose in day.doses})


def told(planned: Planned) -> Regimen:
    """The regimen of planned weeks: the studies they use in practice order, and their days."""
    there, player = planned.there, planned.plan.player
    used = planned.used
    kept = [_paged(index, planned) for index in used]
    first = {used.index(day.doses[0].item) for day in planned.days if day.doses}
    placed = in_order(kept, player, there.base, first=first)
    order = [used[place.index] for place in placed]
    steps = tuple(_step(kept[place.index], place.section, place.reason, there) for place in placed)
    shown = [kept[place.index] for place in placed]
    return Regimen(
        steps=steps,
        days=tuple(_days(planned, order)),
        coverage=coverage(shown, there.candidates, _asked(planned), (_FEW,)),
        verdict=planned.verdict,
        notices=(*there.notices, *_moved(planned, order), *_waiting(planned, order), *_unused(planned)),
        troubles=hard_places(shown, steps, there.base),
    )


def _asked(planned: Planned) -> list[Target]:
    """What the table of what is trained tells of a week: the things that the plan asks for."""
    player = planned.plan.player
    named = {*player.weak, *player.goals}
    found = targets(planned.there.candidates, player)
    return [target for target in found if target.skill.kind == "asked" and target.skill.parts[0] in named]


def _paged(index: int, planned: Planned) -> Candidate:
    """The study with the tempi that the weeks ask of it."""
    tempi = {tempo for day in planned.days for dose in day.doses if dose.item == index for tempo in dose.tempi}
    return replace(planned.there.candidates[index], tempo=tuple(sorted(tempi)))


def _step(candidate: Candidate, section: str, reason: str, there: Ready) -> Step:
    made = step(candidate, section, reason, there.base)
    # how often, and how long, stands in the table of the week, day by day
    return replace(made, times=0, minutes=None)


def _days(planned: Planned, order: Sequence[int]) -> list[Day]:
    seen: dict[int, int] = {}
    found = []
    for one in planned.days:
        slot = one.slot
        if not slot.practice:
            found.append(Day(label=slot.label, weekday=slot.weekday, note="A rest day.", week=one.week, date=slot.date))
            continue
        pauses = calendar.break_before([dose.minutes for dose in one.doses])
        visits = []
        for dose, pause in zip(one.doses, pauses, strict=True):
            visits.append(_visit(dose, pause, order.index(dose.item), seen.get(dose.item), planned))
            seen[dose.item] = dose.tempi[-1]
        load = together(_load(dose, planned.there) for dose in one.doses)
        found.append(
            Day(
                label=slot.label,
                weekday=slot.weekday,
                visits=tuple(visits),
                load=load,
                breaks=sum(pauses),
                note=f"{ceil(load.minutes)} minutes of playing{_breaks(sum(pauses))}.",
                week=one.week,
                date=slot.date,
            )
        )
    return found


def _visit(dose: Dose, pause: bool, at: int, before: int | None, planned: Planned) -> Visit:
    """One visit to step `at`; `before` is the tempo of the last one, if there was one."""
    return Visit(
        step=at,
        reason=_since(before, dose.tempi[-1]),
        times=dose.times,
        tempo=dose.tempi,
        minutes=dose.minutes,
        rest_before=pause,
        new=before is None and _unknown(dose.item, planned),
    )


def _unknown(index: int, planned: Planned) -> bool:
    """Whether a study is new to the player: not the line, nothing easy, and not in the log."""
    candidate = planned.there.candidates[index]
    return not (candidate.plain or easy(candidate, planned.plan.player) or index in planned.there.carried)


def _load(dose: Dose, there: Ready) -> Load:
    candidate = there.candidates[dose.item]
    return load_of(candidate.variation, times=dose.times, tempo=dose.tempi, beat=candidate.beat, line=there.base.line)


def _moved(planned: Planned, order: Sequence[int]) -> list[Notice]:
    """What the log has done to each study."""
    there = planned.there
    return [
        Notice(text=f"“{candidate.variation.title}”: {now.moved}")
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
    names = ", ".join(f"“{title}”" for title in titles[:8])
    more = f" and {len(titles) - 8} more" if len(titles) > 8 else ""
    return [Notice(text=f"{sentence(_FEW)}; waiting for a later week: {names}{more}")]


def _unused(planned: Planned) -> list[Notice]:
    """Where the days cannot use their minutes, how many they use."""
    played = [[dose.minutes for dose in day.doses] for day in planned.days if day.slot.practice]
    used = [ceil(sum(day) + figure("time", "break_minutes") * sum(calendar.break_before(day))) for day in played]
    if sum(used) >= len(used) * planned.budget * figure("time", "used"):
        return []
    filled = f"{min(used)} to {max(used)}" if min(used) < max(used) else str(max(used))
    text = (
        f"A day has {planned.budget:g} minutes; these studies, within this book's limits, fill {filled} of them. The "
        "others are for music of your own."
    )
    return [Notice(text=text)]


def _since(before: int | None, now: int) -> str:
    """How the tempo has moved since the last visit."""
    if before is None:
        return "New."
    if now > before:
        return f"Up from {before} to {now}."
    return f"Once more at {now}."


def _breaks(number: int) -> str:
    pause = f"{figure('time', 'break_minutes'):.0f} minutes"
    return {0: "", 1: f" and a break of {pause}"}.get(number, f" and {number} breaks of {pause}")
