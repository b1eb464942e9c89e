"""A week: which studies on which days, in which order, at which tempo, and what does not fit.

The studies are those of the book; the log, if there is one, has moved their tempi. A long study is played fewer times
through on a day. What the minutes do not hold is named, with the minutes that would hold it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from itertools import pairwise
from math import ceil

from engrave.model import Coverage, Day, Fault, Notice, Place, Plan, PlanError, Regimen, Variation, Visit
from engrave.regimen import days as calendar
from engrave.regimen.atoms import GROUPS, Atom
from engrave.regimen.candidates import Candidate, pool
from engrave.regimen.items import Frame, Item, trained
from engrave.regimen.load import minutes, reloaded, together
from engrave.regimen.log import Log, Standing, same_heading, standing
from engrave.regimen.order import easy, in_order, weakness
from engrave.regimen.practice import figure
from engrave.regimen.programme import Row, Unknown, solve
from engrave.regimen.steps import step
from engrave.regimen.wanted import Want, wants
from engrave.regimen.weekly import Schedule, schedule

_TRIES = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ready:
    """What the programme of a week is made from."""

    candidates: tuple[Candidate, ...]
    """with the times through and tempi of a visit this week"""
    standings: tuple[Standing, ...]
    items: tuple[Item, ...]
    wanted: tuple[Want, ...]
    notices: tuple[Notice, ...]


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
    ready = _ready(line, plan, log or Log(), caps[0], len(practice))
    adjacent = tuple(b - a == 1 for a, b in pairwise(practice))
    made = _fitting(ready, plan, caps, adjacent, budget)
    used = sorted({index for day in made.days for index in day})
    kept = [ready.candidates[index] for index in used]
    placed = in_order(kept, plan.player)
    order = [used[place.index] for place in placed]
    steps = tuple(step(kept[place.index], place.section, place.reason) for place in placed)
    visits = iter(made.days)
    return Regimen(
        steps=steps,
        days=tuple(
            _day(slot, next(visits), ready, order, plan) if slot.practice else Day(label=slot.label, note="A rest day.")
            for slot in slots
        ),
        coverage=_coverage(ready, made, order),
        verdict=made.verdict,
        notices=ready.notices + _shortage(ready, made, plan, budget, len(practice)) + _moved(ready, order),
    )


def _ready(line: Variation, plan: Plan, log: Log, shortest: float, days: int) -> _Ready:
    """Candidates at their tempi, as visits that fit the shortest day."""
    there = pool(line, plan)
    notices = list(there.notices + log.notices)
    limit = min(figure("visit", "longest"), figure("visit", "share") * shortest)
    kept: list[Candidate] = []
    standings: list[Standing] = []
    for candidate in there.candidates:
        rows = [entry for entry in log.entries if _named(candidate, entry.study)]
        now = standing(rows, candidate.tempo, candidate.times)
        visit = _visit(candidate, now.tempo, limit)
        if visit.load.minutes > shortest:
            once = (
                f"“{candidate.variation.title}” takes {visit.load.minutes:.1f} minutes once through at {now.tempo[0]}"
            )
            notices.append(Notice(text=f"{once}, more than the first day's {shortest:.1f}; it is left out"))
        else:
            kept.append(visit)
            standings.append(now)
    for entry in log.entries:
        if not any(_named(candidate, entry.study) for candidate in there.candidates):
            place = Place(file=log.name, line=entry.line)
            fact = f"“{entry.study}” is none of the studies there are; the row does not count"
            notices.append(Notice(text=fact, place=place))
    if not kept:
        raise PlanError(
            Fault(
                fact=f"no study of this passage fits once into a first day of {shortest:.1f} minutes' playing",
                hint="give more minutes, fewer bars or a faster tempo",
            )
        )
    items = tuple(_item(c, s, plan) for c, s in zip(kept, standings, strict=True))
    return _Ready(
        candidates=tuple(kept),
        standings=tuple(standings),
        items=items,
        wanted=_weekly(wants(kept, plan.player), items, days),
        notices=tuple(notices),
    )


def _named(candidate: Candidate, study: str) -> bool:
    return same_heading(candidate.variation.title, study)


def _visit(candidate: Candidate, tempo: tuple[int, ...], limit: float) -> Candidate:
    """The candidate at its tempo of today, with as many times through as `limit` minutes hold, one at least."""
    settle = figure("time", "settle")
    once = minutes(candidate.variation, times=1, tempo=tempo[0], beat=candidate.beat) - settle
    times = max(1, min(candidate.times, int((limit - settle) / once) if once else candidate.times))
    share = Fraction(times, candidate.times)
    return replace(
        candidate,
        times=times,
        tempo=tempo,
        atoms={atom: int(n * share) for atom, n in candidate.atoms.items()},
        load=reloaded(candidate.load, share, minutes=once * times + settle),
    )


def _item(candidate: Candidate, now: Standing, plan: Plan) -> Item:
    weak = weakness(candidate, plan.player) if now.state != "settled" else ""
    stuck = candidate.variation.title if now.state == "stuck" else ""
    return Item(
        minutes=candidate.load.minutes,
        atoms=candidate.atoms,
        weak=tuple(word for word in (weak, stuck) if word),
        always=candidate.plain,
        easy=easy(candidate, plan.player) and not weak,
        must=bool(plan.studies) and candidate.study.must,
        most=1 if now.state == "settled" else 7,
        muscle=candidate.load.muscle,
        tremolo=candidate.leading == "tremolo",
    )


def _weekly(found: Sequence[Want], items: Sequence[Item], days: int) -> tuple[Want, ...]:
    """What a week wants: no more of anything than all visits that may be could give."""
    most: Counter[Atom] = Counter()
    for item in items:
        visits = days if item.weak or item.always else (days + 1) // 2
        for atom, n in item.atoms.items():
            most[atom] += n * min(visits, item.most)
    return tuple(replace(want, often=min(want.often, most[want.atom])) for want in found)


def _fitting(ready: _Ready, plan: Plan, caps: tuple[float, ...], adjacent: tuple[bool, ...], budget: float) -> Schedule:
    """The best week whose days fit with the breaks that the order of their visits makes."""
    for _ in range(_TRIES):
        made = schedule(ready.items, ready.wanted, Frame(caps=caps, adjacent=adjacent))
        if made is None:
            raise AssertionError("a week of nothing but the line does not fit")
        over = [max(0.0, _total(day, ready, plan) - budget) for day in made.days]
        if not any(excess > 1e-6 for excess in over):
            return made
        caps = tuple(cap - excess for cap, excess in zip(caps, over, strict=True))
    raise AssertionError("breaks and minutes do not settle")


def _total(day: Sequence[int], ready: _Ready, plan: Plan) -> float:
    """Minutes of a day with its breaks."""
    lengths = [ready.candidates[index].load.minutes for index, _, _ in _in_order(day, ready, plan)]
    return sum(lengths) + figure("time", "break_minutes") * sum(calendar.break_before(lengths))


def _in_order(day: Sequence[int], ready: _Ready, plan: Plan) -> list[tuple[int, str, str]]:
    placed = in_order([ready.candidates[index] for index in day], plan.player)
    return [(day[place.index], place.section, place.reason) for place in placed]


def _day(slot: calendar.Slot, day: Sequence[int], ready: _Ready, order: Sequence[int], plan: Plan) -> Day:
    placed = _in_order(day, ready, plan)
    candidates = [ready.candidates[index] for index, _, _ in placed]
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


def _coverage(ready: _Ready, made: Schedule, order: Sequence[int]) -> tuple[Coverage, ...]:
    found = trained(ready.items, made.days)
    return tuple(
        Coverage(
            group=GROUPS[want.atom.kind],
            label=want.atom.label,
            wanted=want.often,
            found=found[want.atom],
            steps=tuple(i for i, index in enumerate(order) if want.atom in ready.items[index].atoms),
            why="" if found[want.atom] >= want.often else "the minutes of the week do not hold more of it",
        )
        for want in ready.wanted
    )


def _shortage(ready: _Ready, made: Schedule, plan: Plan, budget: float, days: int) -> tuple[Notice, ...]:
    """What the week wants and does not get, with the minutes that would be needed; nothing where all is trained."""
    found = trained(ready.items, made.days)
    short = [want for want in ready.wanted if found[want.atom] < want.often]
    if not short:
        return ()
    least = minutes_needed(ready.items, ready.wanted, days)
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


def _moved(ready: _Ready, order: Sequence[int]) -> tuple[Notice, ...]:
    """What the log did to the studies of this week."""
    words = {
        "settled": "it comes once, to keep it",
        "stuck": "three days without a clean time: it comes every day where it can",
    }
    found = []
    for index in order:
        now = ready.standings[index]
        said = "; ".join(part for part in (now.moved, words.get(now.state, "")) if part)
        if said:
            found.append(Notice(text=f"“{ready.candidates[index].variation.title}”: {said}"))
    return tuple(found)
