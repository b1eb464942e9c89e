"""A week: which studies on which days, in which order, at which tempo, and what does not fit.

The studies are those of the book; the log, if there is one, has moved their tempi. A long study is played fewer times
through on a day. What the minutes do not hold is named, with the minutes that would hold it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import pairwise
from math import ceil

from engrave.model import Coverage, Day, Fault, Notice, Plan, PlanError, Regimen, Variation, Visit
from engrave.regimen import days as calendar
from engrave.regimen.atoms import GROUPS
from engrave.regimen.items import Frame, Item, trained
from engrave.regimen.load import together
from engrave.regimen.log import Log
from engrave.regimen.order import in_order
from engrave.regimen.practice import figure
from engrave.regimen.programme import Row, Unknown, solve
from engrave.regimen.steps import step
from engrave.regimen.visits import Ready, ready
from engrave.regimen.wanted import Want
from engrave.regimen.weekly import Schedule, schedule

_TRIES = 5


def week(line: Variation, plan: Plan, *, start: date | None = None, log: Log | None = None) -> Regimen:
    """The regimen of seven days for `line`, from `start` or the plan's first day of the week.

    Steps are the studies visited, in practice order; days name them by index. Raises PlanError where not
    one study fits.
    """
    slots = calendar.slots(plan, start)
    practice = [index for index, slot in enumerate(slots) if slot.practice]
    if not practice:
        raise PlanError(Fault(fact="the plan's rest days leave no day for practising"))
    budget = float(plan.player.minutes or figure("time", "minutes"))
    caps = tuple(calendar.playing(budget) * share for share in calendar.ramp(len(practice)))
    there = ready(line, plan, log or Log(), caps[0], len(practice))
    adjacent = tuple(b - a == 1 for a, b in pairwise(practice))
    made = _fitting(there, plan, caps, adjacent, budget)
    used = sorted({index for day in made.days for index in day})
    kept = [there.candidates[index] for index in used]
    placed = in_order(kept, plan.player)
    order = [used[place.index] for place in placed]
    steps = tuple(step(kept[place.index], place.section, place.reason) for place in placed)
    visits = iter(made.days)
    return Regimen(
        steps=steps,
        days=tuple(
            _day(slot, next(visits), there, order, plan) if slot.practice else Day(label=slot.label, note="A rest day.")
            for slot in slots
        ),
        coverage=_coverage(there, made, order),
        verdict=made.verdict,
        notices=there.notices + _shortage(there, made, plan, budget, len(practice)) + _moved(there, order),
    )


def _fitting(there: Ready, plan: Plan, caps: tuple[float, ...], adjacent: tuple[bool, ...], budget: float) -> Schedule:
    """The best week whose days fit with the breaks that the order of their visits makes."""
    for _ in range(_TRIES):
        made = schedule(there.items, there.wanted, Frame(caps=caps, adjacent=adjacent))
        if made is None:
            raise AssertionError("a week of nothing but the line does not fit")
        over = [max(0.0, _total(day, there, plan) - budget) for day in made.days]
        if not any(excess > 1e-6 for excess in over):
            return made
        caps = tuple(cap - excess for cap, excess in zip(caps, over, strict=True))
    raise AssertionError("breaks and minutes do not settle")


def _total(day: Sequence[int], there: Ready, plan: Plan) -> float:
    """Minutes of a day with its breaks."""
    lengths = [there.candidates[index].load.minutes for index, _, _ in _in_order(day, there, plan)]
    return sum(lengths) + figure("time", "break_minutes") * sum(calendar.break_before(lengths))


def _in_order(day: Sequence[int], there: Ready, plan: Plan) -> list[tuple[int, str, str]]:
    placed = in_order([there.candidates[index] for index in day], plan.player)
    return [(day[place.index], place.section, place.reason) for place in placed]


def _day(slot: calendar.Slot, day: Sequence[int], there: Ready, order: Sequence[int], plan: Plan) -> Day:
    placed = _in_order(day, there, plan)
    candidates = [there.candidates[index] for index, _, _ in placed]
    pauses = calendar.break_before([candidate.load.minutes for candidate in candidates])
    load = together(candidate.load for candidate in candidates)
    return Day(
        label=slot.label,
        visits=tuple(
            Visit(
                step=order.index(index),
                reason=reason,
                times=candidate.times,
                tempo=candidate.tempo[0],
                minutes=candidate.load.minutes,
                rest_before=pause,
            )
            for (index, _, reason), candidate, pause in zip(placed, candidates, pauses, strict=True)
        ),
        load=load,
        breaks=sum(pauses),
        note=f"{ceil(load.minutes)} minutes of playing" + _breaks(sum(pauses)) + ".",
    )


def _breaks(number: int) -> str:
    pause = f"{figure('time', 'break_minutes'):.0f} minutes"
    return {0: "", 1: f" and a break of {pause}"}.get(number, f" and {number} breaks of {pause}")


def _coverage(there: Ready, made: Schedule, order: Sequence[int]) -> tuple[Coverage, ...]:
    found = trained(there.items, made.days)
    return tuple(
        Coverage(
            group=GROUPS[want.atom.kind],
            label=want.atom.label,
            wanted=want.often,
            found=found[want.atom],
            steps=tuple(i for i, index in enumerate(order) if want.atom in there.items[index].atoms),
            why="" if found[want.atom] >= want.often else "the minutes of the week do not hold more of it",
        )
        for want in there.wanted
    )


def _shortage(there: Ready, made: Schedule, plan: Plan, budget: float, days: int) -> tuple[Notice, ...]:
    """What the week wants and does not get, with the minutes that would be needed; nothing where all is trained."""
    found = trained(there.items, made.days)
    short = [want for want in there.wanted if found[want.atom] < want.often]
    if not short:
        return ()
    least = minutes_needed(there.items, there.wanted, days)
    short.sort(key=lambda want: (-want.worth, want.atom.place))
    names = "; ".join(want.atom.label for want in short[:6])
    more = f"; and {len(short) - 6} more, named in the table of what is trained" if len(short) > 6 else ""
    given = "you gave" if plan.player.minutes else "the house gives"
    if least is not None and least > budget:
        said = f"everything wanted needs at least {least} minutes a day, {given} {budget:g}"
    else:
        said = f"the caps, the growth from day to day and the days' gaps do not let {budget:g} minutes hold everything"
    return (Notice(text=f"{said}; too little room for: {names}{more}"),)


def minutes_needed(items: Sequence[Item], wanted: Sequence[Want], days: int) -> int | None:
    """The fewest minutes a day, breaks included, below which no week can train all that is wanted.

    Counts visits, not days, so it is a bound from below; None where no number of visits would do.
    """
    unknowns = [
        Unknown(
            worth=-item.minutes,
            low=float(days if item.always else 0),
            high=float(days if item.always else min(item.most, days if item.weak else (days + 1) // 2)),
        )
        for item in items
    ]
    rows = [
        Row(
            shares={i: float(item.atoms[want.atom]) for i, item in enumerate(items) if want.atom in item.atoms},
            low=float(want.often),
        )
        for want in wanted
        if want.often
    ]
    for word in sorted({word for item in items for word in item.weak}):
        rows.append(Row(shares={i: 1.0 for i, item in enumerate(items) if word in item.weak}, low=float(days)))
    answer = solve(unknowns, rows, nodes=400, gap=0.01)
    if answer is None:
        return None
    # the bound, not the answer: what is found may be a little above the least there is
    playing = -answer.worth * (1 - answer.gap) / sum(calendar.ramp(days))
    return ceil(calendar.needed(playing) - 1e-6)


def _moved(there: Ready, order: Sequence[int]) -> tuple[Notice, ...]:
    """What the log did to the studies of this week."""
    words = {
        "settled": "it comes once, to keep it",
        "stuck": "three days without a clean time: it comes every day where it can",
    }
    found = []
    for index in order:
        now = there.standings[index]
        said = "; ".join(part for part in (now.moved, words.get(now.state, "")) if part)
        if said:
            found.append(Notice(text=f"“{there.candidates[index].variation.title}”: {said}"))
    return tuple(found)
