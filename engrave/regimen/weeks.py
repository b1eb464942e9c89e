"""A week, or several: few studies often, their tempi growing from day to day, and what does not fit.

For each week the studies are chosen, then dealt to the days by one exact programme, then given their times through.
What has reached its last tempo is learnt, and makes room for the next. The log, if there is one, says where each study
stands when the first week begins.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import pairwise, zip_longest
from math import ceil

from engrave.model import Day, Fault, Plan, PlanError, Regimen, Variation, Visit
from engrave.regimen.beyond import asked
from engrave.regimen.days import break_before, calendar, playing, ramp
from engrave.regimen.doses import Cap, Form, doses
from engrave.regimen.log import LEARNT, RESTING, SHORT, Log
from engrave.regimen.order import apart, easy, purpose
from engrave.regimen.planned_weeks import Planned
from engrave.regimen.practice import figure
from engrave.regimen.selected import Ready, most_of, ready, selected, size_of
from engrave.regimen.sought import aimed
from engrave.regimen.study_names import numbers_of
from engrave.regimen.timetable import Item, Schedule, WeekFrame, schedule
from engrave.regimen.week_regimen import told

_TRIES = 6
_ROUNDED = 0.04
"""share of the minutes that whole times through may take off what is weak"""


def week(
    line: Variation,
    plan: Plan,
    *,
    start: date | None = None,
    log: Log | None = None,
    weeks: int = 1,
    sheets: int = 1,
) -> Regimen:
    """The regimen of so many weeks for `line`, from `start` or the plan's first day of the week.

    Steps are the studies visited, in practice order; days name them by index. `sheets` is how many pages of music a
    study takes. Raises PlanError where not one study fits, naming the minutes that would hold one.
    """
    plan = aimed(plan)
    days = calendar(plan, start, weeks)
    if not any(day.practice for day in days):
        raise PlanError(Fault(fact="the plan's rest days leave no day for practising"))
    budget = float(plan.player.minutes or figure("time", "minutes"))
    shortest = playing(budget) * figure("time", "first_day")
    numbered: dict[str, str] = {}
    if log and any(entry.study.strip().isdigit() for entry in log.entries):
        # pages of the week that the plan gives by itself
        numbered = numbers_of(week(line, plan, weeks=weeks, sheets=sheets).steps)
    there = ready(line, plan, log or Log(), shortest, numbered)
    made = _Course(there, plan, budget, size_of(plan, budget, sheets), most_of(plan, sheets))
    for number in range(weeks):
        made.add(days[7 * number : 7 * number + 7])
    return told(Planned(there=there, plan=plan, budget=budget, days=tuple(made.days), verdict=made.verdict))


@dataclass(slots=True)
class _Dealt:
    """A week's days, and where they leave each study."""

    visits: dict[int, int]
    """candidate → visits so far"""
    learnt: set[int]
    days: list[Day] = field(default_factory=list)
    use: float = 0.0
    """share of the minutes there are for playing that the days use"""


@dataclass(slots=True)
class _Course:
    """Weeks under construction: where each study stands, and the days so far."""

    there: Ready
    plan: Plan
    budget: float
    size: int
    """studies of a week"""
    most: int
    """studies of a week whose days would not be used"""
    chosen: tuple[int, ...] = ()
    """studies of the week before"""
    visits: dict[int, int] = field(default_factory=dict)
    """candidate → visits so far"""
    learnt: set[int] = field(default_factory=set)
    days: list[Day] = field(default_factory=list)
    verdict: str = ""

    def __post_init__(self) -> None:
        self.learnt = {i for i, now in enumerate(self.there.standings) if now.state == LEARNT}

    def add(self, week: Sequence[Day]) -> None:
        """One more week of these seven days."""
        going = frozenset(self.chosen) - self.learnt if self.days else self.there.ongoing
        practice = [index for index, day in enumerate(week) if day.practice]
        caps = self._caps(len(practice))
        adjacent = tuple(b - a == 1 for a, b in pairwise(practice))

        def made_of(size: int) -> tuple[tuple[int, ...], Schedule | None]:
            chosen = selected(self.there, self.plan, size, going=going, learnt=frozenset(self.learnt))
            return chosen, self._schedule(chosen, caps, adjacent, going)

        size = self.size
        chosen, made = made_of(size)
        while made is None and size > 2:
            # a very short day holds fewer studies than the house would give it
            size -= 1
            chosen, made = made_of(size)
        if made is None:
            least = sum(self._form(i).least for i in chosen if self.there.candidates[i].plain)
            raise _too_short(self.budget, least)
        dealt = self._dealt(week, chosen, made, caps)
        while dealt.use < figure("time", "used") and len(chosen) < self.most and not self.there.hurts:
            # days that these few cannot fill have room for one more, if it fills them better
            size += 1
            more, fuller = made_of(size)
            if fuller is None or (again := self._dealt(week, more, fuller, caps)).use <= dealt.use:
                break
            chosen, made, dealt = more, fuller, again
        self.verdict, self.chosen = made.verdict, chosen
        self.days += dealt.days
        self.visits, self.learnt = dealt.visits, dealt.learnt

    def _caps(self, days: int) -> tuple[float, ...]:
        """Minutes of playing on each practice day of the next week at most."""
        rising = (1.0,) * days if self.days else ramp(days)
        if self.there.hurts:
            rising = (figure("time", "first_day") if self.days else rising[0],) * days
        return tuple(playing(self.budget) * share for share in rising)

    def _schedule(
        self, chosen: Sequence[int], caps: tuple[float, ...], adjacent: tuple[bool, ...], going: frozenset[int]
    ) -> Schedule | None:
        player = self.plan.player
        due = figure("week", "weak") / max(1, len(player.weak)) + _ROUNDED
        share = figure("week", "goal") / max(1, len(player.goals))
        frame = WeekFrame(
            caps=caps,
            adjacent=adjacent,
            strains=self._strains(chosen),
            due=dict.fromkeys(player.weak, due),
            shares={word: share for word in player.goals if word not in player.weak},
        )
        asked = self._asked(chosen)
        return schedule([replace(self._item(i, going), asked=at in asked) for at, i in enumerate(chosen)], frame)

    def _asked(self, chosen: Sequence[int]) -> frozenset[int]:
        """Which of these the plan's words ask for; none where the log holds all of them back, or all are asked for."""
        player, there = self.plan.player, self.there
        named = {*player.weak, *player.goals}
        found = [at for at, index in enumerate(chosen) if named & set(there.candidates[index].serves)]
        going = any(there.standings[chosen[at]].state not in (SHORT, RESTING) for at in found)
        return frozenset(found) if going and not self.plan.studies else frozenset()

    def _form(self, index: int) -> Form:
        """The study as its visits so far have left it."""
        form = self.there.forms[index]
        done = min(self.visits.get(index, 0), len(form.steps) - 1)
        return replace(form, steps=form.steps[max(0, done - 1) :]) if done > 1 else form

    def _item(self, index: int, going: frozenset[int]) -> Item:
        candidate, form = self.there.candidates[index], self._form(index)
        player = self.plan.player
        word = purpose(candidate, player)
        words = tuple(w for name, w, _ in asked(player) if name in ("weak", "goal") and w in candidate.serves)
        plain, warm = candidate.plain, easy(candidate, player) and not word
        share = figure("week", "line" if plain else "warm" if warm else "one")
        return Item(
            least=form.least,
            most=form.usual,
            at_first=None if index in self.visits else min(form.usual, form.at_first),
            fair=share * playing(self.budget),
            always=plain,
            easy=warm,
            core=bool(word),
            words=words,
            known=index in going or index in self.visits,
            rests=self.there.standings[index].state == RESTING and not self.days,
        )

    def _strains(self, chosen: Sequence[int]) -> tuple[Cap, ...]:
        """Limits on what some of these studies may take together on one day."""
        groups: dict[str, set[int]] = {}
        for at, index in enumerate(chosen):
            candidate = self.there.candidates[index]
            for name in candidate.strains:
                groups.setdefault(name, set()).add(at)
            if muscle := candidate.load.muscle:
                groups.setdefault("little" if muscle == "c" else f"finger {muscle}", set()).add(at)
        return tuple(
            Cap(members=frozenset(members), minutes=figure("caps", name.split()[0]))
            for name, members in sorted(groups.items())
        )

    def _dealt(self, week: Sequence[Day], chosen: Sequence[int], made: Schedule, caps: Sequence[float]) -> _Dealt:
        """The scheduled minutes of each day as times through, day after day."""
        found = _Dealt(visits=dict(self.visits), learnt=set(self.learnt))
        before: float | None = None
        planned = iter(zip(made.days, caps, strict=True))
        for empty in week:
            if not empty.practice:
                found.days.append(empty)
                continue
            day, cap = next(planned)
            limit = cap
            if before is not None:
                grown = before * (1 + figure("time", "growth")) + figure("time", "growth_minutes")
                limit = min(cap, before if self.there.hurts else grown)
            visits = self._day(day, limit, chosen, found.visits)
            for visit in visits:
                index = chosen[visit.step]
                found.visits[index] = found.visits.get(index, 0) + 1
                if visit.tempo[-1] >= self.there.forms[index].steps[-1] and not self.there.candidates[index].plain:
                    found.learnt.add(index)
            before = sum(visit.minutes for visit in visits)
            settled = tuple(replace(visit, step=chosen[visit.step]) for visit in visits)
            found.days.append(replace(empty, visits=settled))
            found.use += before / sum(caps)
        return found

    def _day(
        self, day: Sequence[tuple[int, float]], limit: float, chosen: Sequence[int], visits: Mapping[int, int]
    ) -> tuple[Visit, ...]:
        """The visits of one day, in practice order, with room for the breaks that this order makes."""
        forms = [self.there.forms[index] for index in chosen]
        order = self._ordered([at for at, _ in day], chosen)
        wish = dict(day)
        rows = [(at, visits.get(chosen[at], 0), wish[at]) for at in order]
        keep = frozenset(at for at, index in enumerate(chosen) if self.there.candidates[index].plain)
        caps, asked = self._strains(chosen), self._asked(chosen)
        for _ in range(_TRIES):
            found = doses(forms, rows, cap=limit, caps=caps, keep=keep, asked=asked)
            total = sum(visit.minutes for visit in found)
            pauses = sum(break_before([visit.minutes for visit in found]))
            over = total + pauses * figure("time", "break_minutes") - self.budget
            if over <= 1e-6:
                break
            limit = total - over
        return found

    def _ordered(self, day: Sequence[int], chosen: Sequence[int]) -> list[int]:
        """Warm-up, what is weak, the rest with what loads one muscle parted, the line."""
        player, there = self.plan.player, self.there
        by = {at: there.candidates[chosen[at]] for at in day}
        line = [at for at in day if by[at].plain]
        core = [at for at in day if at not in line and purpose(by[at], player)]
        warm = [at for at in day if at not in line and at not in core and easy(by[at], player)][:1]
        rest = [at for at in day if at not in (*line, *core, *warm)]
        # what the plan itself names comes while the player is fresh
        named = {*player.weak, *player.goals}
        fresh = [at for at in core if named & set(by[at].serves)][:1]
        # work on one thing, then on another: what is weak first, the rest between
        others = [at for at in core if at not in fresh]
        mixed = [at for pair in zip_longest(others, rest) for at in pair if at is not None]
        before = by[fresh[0]].load.muscle if fresh else ""
        return [*warm, *fresh, *apart(mixed, lambda at: by[at].load.muscle, before), *line]


def _too_short(budget: float, least: float) -> PlanError:
    needs = ceil(least / figure("time", "first_day") + 1)
    return PlanError(
        Fault(
            fact=f"{budget:g} minutes a day do not hold the line once and a study beside it",
            hint=f"give at least {max(needs, 5)} minutes, or fewer bars",
        )
    )
