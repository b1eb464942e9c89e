"""A week, or several: few studies often, their tempi growing from day to day, and what does not fit.

For each week the studies are chosen, then dealt to the days by one exact programme, then given their times through.
What has reached its last tempo is learnt, and makes room for the next. The log, if there is one, says where each study
stands when the first week begins.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import pairwise
from math import ceil

from engrave.model import Day, Fault, Load, Notice, Plan, PlanError, Regimen, Step, Variation, Visit
from engrave.model.wording import sentence
from engrave.regimen import days as calendar
from engrave.regimen.beyond import asked
from engrave.regimen.candidates import Candidate
from engrave.regimen.choosing import coverage
from engrave.regimen.courses import hard_places
from engrave.regimen.days import Slot
from engrave.regimen.doses import Cap, Dose, Form, doses
from engrave.regimen.load import load_of, together
from engrave.regimen.log import LEARNT, RESTING, Log
from engrave.regimen.names import numbers_of
from engrave.regimen.order import apart, easy, in_order, purpose
from engrave.regimen.practice import figure
from engrave.regimen.selected import Ready, ready, selected, size_of
from engrave.regimen.steps import step
from engrave.regimen.wanted import Want, wants
from engrave.regimen.weekly import Frame, Item, Schedule, schedule

_TRIES = 6


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
    slots = calendar.slots(plan, start, weeks)
    if not any(slot.practice for slot in slots):
        raise PlanError(Fault(fact="the plan's rest days leave no day for practising"))
    budget = float(plan.player.minutes or figure("time", "minutes"))
    shortest = calendar.playing(budget) * figure("time", "first_day")
    numbered: dict[str, str] = {}
    if log and any(entry.study.strip().isdigit() for entry in log.entries):
        # pages of the week that the plan gives by itself
        numbered = numbers_of(week(line, plan, weeks=weeks, sheets=sheets).steps)
    there = ready(line, plan, log or Log(), shortest, numbered)
    made = _Course(there, plan, budget, size_of(plan, budget, sheets))
    for number in range(weeks):
        made.add(slots[7 * number : 7 * number + 7], number + 1)
    return made.regimen()


@dataclass(slots=True)
class _Course:
    """Weeks under construction: where each study stands, and the days so far."""

    there: Ready
    plan: Plan
    budget: float
    size: int
    visits: dict[int, int] = field(default_factory=dict)
    """candidate → visits so far"""
    learnt: set[int] = field(default_factory=set)
    days: list[tuple[Slot, int, tuple[Dose, ...]]] = field(default_factory=list)
    tempi: dict[int, list[int]] = field(default_factory=dict)
    weeks: dict[int, tuple[int, ...]] = field(default_factory=dict)
    verdict: str = ""
    short: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.learnt = {i for i, now in enumerate(self.there.standings) if now.state == LEARNT}

    def add(self, slots: Sequence[Slot], number: int) -> None:
        """One more week of these seven days."""
        practice = [index for index, slot in enumerate(slots) if slot.practice]
        going = self.there.carried if number == 1 else frozenset(set(self.weeks[number - 1]) - self.learnt)
        size = self.size
        while True:
            # a very short day holds fewer studies than the house would give it
            chosen, _ = selected(self.there, self.plan, size, going=going, learnt=frozenset(self.learnt))
            made, caps = self._schedule(chosen, practice, number, going)
            if made is not None or size <= 2:
                break
            size -= 1
        if made is None:
            least = sum(self._form(i).least for i in chosen if self.there.candidates[i].plain)
            raise _too_short(self.budget, least)
        self.verdict = made.verdict
        self.weeks[number] = chosen
        self._deal(slots, number, chosen, made, caps)

    def _schedule(
        self, chosen: Sequence[int], practice: Sequence[int], number: int, going: frozenset[int]
    ) -> tuple[Schedule | None, tuple[float, ...]]:
        playing = calendar.playing(self.budget)
        ramp = calendar.ramp(len(practice)) if number == 1 else (1.0,) * len(practice)
        caps = tuple(playing * share for share in ramp)
        frame = Frame(
            caps=caps,
            adjacent=tuple(b - a == 1 for a, b in pairwise(practice)),
            strains=self._strains(chosen),
            shares=self._shares(),
        )
        return schedule([self._item(i, number, going) for i in chosen], frame), caps

    def _form(self, index: int) -> Form:
        """The study as its visits so far have left it."""
        form = self.there.forms[index]
        done = min(self.visits.get(index, 0), len(form.steps) - 1)
        return replace(form, steps=form.steps[max(0, done - 1) :]) if done > 1 else form

    def _item(self, index: int, number: int, going: frozenset[int]) -> Item:
        candidate, form = self.there.candidates[index], self._form(index)
        player = self.plan.player
        word = purpose(candidate, player)
        words = tuple(w for name, w, _ in asked(player) if name in ("weak", "goal") and w in candidate.serves)
        plain, warm = candidate.plain, easy(candidate, player) and not word
        share = figure("week", "line" if plain else "warm" if warm else "one")
        return Item(
            least=form.least,
            most=form.most,
            fair=share * calendar.playing(self.budget),
            always=plain,
            easy=warm,
            core=bool(word),
            words=words,
            known=index in going or index in self.visits,
            rests=self.there.standings[index].state == RESTING and number == 1,
        )

    def _shares(self) -> dict[str, float]:
        player = self.plan.player
        weak = {word: figure("week", "weak") / len(player.weak) for word in player.weak}
        goals = {word: figure("week", "goal") / len(player.goals) for word in player.goals if word not in weak}
        return weak | goals

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

    def _deal(
        self, slots: Sequence[Slot], number: int, chosen: Sequence[int], made: Schedule, caps: Sequence[float]
    ) -> None:
        """The scheduled minutes of each day as times through, day after day."""
        before: float | None = None
        planned = iter(zip(made.days, caps, strict=True))
        for slot in slots:
            if not slot.practice:
                self.days.append((slot, number, ()))
                continue
            day, cap = next(planned)
            limit = cap
            if before is not None:
                limit = min(cap, before * (1 + figure("time", "growth")) + figure("time", "growth_minutes"))
            found = self._day(day, limit, chosen)
            for dose in found:
                index = chosen[dose.item]
                self.visits[index] = self.visits.get(index, 0) + 1
                self.tempi.setdefault(index, []).extend(dose.tempi)
                if dose.tempi[-1] >= self.there.forms[index].steps[-1] and not self.there.candidates[index].plain:
                    self.learnt.add(index)
            before = sum(dose.minutes for dose in found)
            self.days.append((slot, number, tuple(replace(dose, item=chosen[dose.item]) for dose in found)))

    def _day(self, day: Sequence[tuple[int, float]], limit: float, chosen: Sequence[int]) -> tuple[Dose, ...]:
        """The visits of one day, in practice order, with room for the breaks that this order makes."""
        forms = [self.there.forms[index] for index in chosen]
        order = self._ordered([at for at, _ in day], chosen)
        wish = dict(day)
        rows = [(at, self.visits.get(chosen[at], 0), wish[at]) for at in order]
        keep = frozenset(at for at, index in enumerate(chosen) if self.there.candidates[index].plain)
        for _ in range(_TRIES):
            found = doses(forms, rows, cap=limit, caps=self._strains(chosen), keep=keep)
            total = sum(dose.minutes for dose in found)
            pauses = sum(calendar.break_before([dose.minutes for dose in found]))
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
        # work on one thing, then on another: what is weak first, the rest between
        mixed = [at for pair in _zipped(core, rest) for at in pair]
        return [*warm, *apart(mixed, lambda at: by[at].load.muscle), *line]

    def regimen(self) -> Regimen:
        """The weeks so far."""
        there, plan = self.there, self.plan
        used = sorted({dose.item for _, _, day in self.days for dose in day})
        kept = [self._paged(index) for index in used]
        placed = in_order(kept, plan.player, there.base)
        order = [used[place.index] for place in placed]
        steps = tuple(self._step(kept[place.index], place.section, place.reason) for place in placed)
        shown = [kept[place.index] for place in placed]
        return Regimen(
            steps=steps,
            days=tuple(self._days(order)),
            coverage=coverage(shown, there.candidates, self._asked(), (_FEW,)),
            verdict=self.verdict,
            notices=there.notices + tuple(self._notices(order)),
            troubles=hard_places(shown, steps, there.base),
        )

    def _asked(self) -> list[Want]:
        """What the table of what is trained tells of a week: the things that the plan asks for."""
        named = {*self.plan.player.weak, *self.plan.player.goals}
        found = wants(self.there.candidates, self.plan.player)
        return [want for want in found if want.atom.kind == "asked" and want.atom.parts[0] in named]

    def _paged(self, index: int) -> Candidate:
        """The study with the tempi that the weeks ask of it."""
        candidate = self.there.candidates[index]
        return replace(candidate, tempo=tuple(sorted(set(self.tempi[index]))))

    def _step(self, candidate: Candidate, section: str, reason: str) -> Step:
        made = step(candidate, section, reason, self.there.base)
        # how often, and how long, stands in the table of the week, day by day
        return replace(made, times=0, minutes=None)

    def _days(self, order: Sequence[int]) -> list[Day]:
        seen: dict[int, int] = {}
        found = []
        for slot, number, day in self.days:
            if not slot.practice:
                found.append(Day(label=slot.label, note="A rest day.", week=number, date=slot.date))
                continue
            pauses = calendar.break_before([dose.minutes for dose in day])
            visits = []
            for dose, pause in zip(day, pauses, strict=True):
                at = order.index(dose.item)
                visits.append(
                    Visit(
                        step=at,
                        reason=_since(seen.get(dose.item), dose.tempi[-1]),
                        times=dose.times,
                        tempo=dose.tempi,
                        minutes=dose.minutes,
                        rest_before=pause,
                        new=dose.item not in seen and self._unknown(dose.item),
                    )
                )
                seen[dose.item] = dose.tempi[-1]
            load = together(self._load(dose) for dose in day)
            said = f"{ceil(load.minutes)} minutes of playing" + _breaks(sum(pauses)) + "."
            found.append(
                Day(
                    label=slot.label,
                    visits=tuple(visits),
                    load=load,
                    breaks=sum(pauses),
                    note=said,
                    week=number,
                    date=slot.date,
                )
            )
        return found

    def _unknown(self, index: int) -> bool:
        """Whether a study is new to the player: not the line, nothing easy, and not in the log."""
        candidate = self.there.candidates[index]
        return not (candidate.plain or easy(candidate, self.plan.player) or index in self.there.carried)

    def _load(self, dose: Dose) -> Load:
        candidate = self.there.candidates[dose.item]
        return load_of(
            candidate.variation, times=dose.times, tempo=dose.tempi, beat=candidate.beat, line=self.there.base.line
        )

    def _notices(self, order: Sequence[int]) -> list[Notice]:
        there = self.there
        titles = [c.variation.title for c in there.candidates]
        found = [
            Notice(text=f"“{titles[index]}”: {there.standings[index].moved}")
            for index in range(len(titles))
            if there.standings[index].moved and (index in order or there.standings[index].state == LEARNT)
        ]
        waiting = [titles[i] for i in range(len(titles)) if i not in order and there.standings[i].state != LEARNT]
        if waiting:
            names = ", ".join(f"“{title}”" for title in waiting[:8])
            more = f" and {len(waiting) - 8} more" if len(waiting) > 8 else ""
            found.append(Notice(text=f"{sentence(_FEW)}; waiting for a later week: {names}{more}"))
        return found + list(self._unused())

    def _unused(self) -> list[Notice]:
        """Where the days cannot use their minutes, how many they use."""
        spent = [sum(d.minutes for d in day) for slot, _, day in self.days if slot.practice]
        resting = [
            figure("time", "break_minutes") * sum(calendar.break_before([d.minutes for d in day]))
            for slot, _, day in self.days
            if slot.practice
        ]
        used = [ceil(a + b) for a, b in zip(spent, resting, strict=True)]
        if sum(used) >= len(used) * self.budget * figure("time", "used"):
            return []
        filled = f"{min(used)} to {max(used)}" if min(used) < max(used) else str(max(used))
        text = (
            f"A day has {self.budget:g} minutes; these studies, within this book's limits, fill {filled} of them. The "
            "others are for music of your own."
        )
        return [Notice(text=text)]


_FEW = "a week holds few studies, so that each comes often"


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


def _zipped(one: Sequence[int], other: Sequence[int]) -> list[tuple[int, ...]]:
    size = max(len(one), len(other))
    return [tuple(row[k] for row in (one, other) if k < len(row)) for k in range(size)]


def _too_short(budget: float, least: float) -> PlanError:
    needs = ceil(least / figure("time", "first_day") + 1)
    return PlanError(
        Fault(
            fact=f"{budget:g} minutes a day do not hold the line once and a study beside it",
            hint=f"give at least {max(needs, 5)} minutes, or fewer bars",
        )
    )
