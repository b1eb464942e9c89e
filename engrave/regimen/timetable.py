"""Which study on which day: one exact programme for the week.

For each study and practice day one 0/1 unknown (it comes), one (it comes for the first time) and one for its minutes.
Kept without exception: the minutes of each day, its growth over the day before, the caps on what strains, at most two
new studies a day, the line at the end of every day; and the share of the minutes that is due to what is weak, wherever
any week of these studies can give it. What should be, and costs points where it cannot: that a day uses its minutes,
that goals have their share, that core studies come on most days, that others come twice or more with a day between, and
that each day begins with something easy.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from engrave.model.said import say, strung
from engrave.regimen.doses import Cap
from engrave.regimen.practice import figure
from engrave.regimen.programme import Constraint, Unknown, solve

_NODES = 400
_GAP = 0.005
_UNUSED, _LACKING, _MISSED, _CLOSE, _COLD, _SELDOM, _UNFAIR = 10.0, 12.0, 15.0, 4.0, 25.0, 8.0, 2.0
"""what a minute unused, a minute lacking to what is weak, a core visit missed, two visits without a day between, a day
without a warm-up, a visit less than every second day and a minute beyond a fair part cost; house figures"""
_EARLY = 0.05
_ASKED = 0.05
"""what a minute with something that the plan asks for is worth beside any other; house figure"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One study of the week."""

    least: float
    """minutes of a visit at least"""
    most: float
    at_first: float | None = None
    """minutes of the first visit at most, where that has less to do"""
    fair: float = 0.0
    """minutes up to which it takes its fair part of a day; more only where a day would not be used"""
    always: bool = False
    """comes every day: the line as written"""
    easy: bool = False
    """good to begin with"""
    core: bool = False
    """work on what is weak or a goal: on most days"""
    words: tuple[str, ...] = ()
    """what the plan calls weak, or a goal, that it is a page for"""
    asked: bool = False
    """the plan's own words ask for it"""
    known: bool = False
    """not new in this week"""
    rests: bool = False
    """not on the first day"""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekFrame:
    """What the days allow."""

    caps: tuple[float, ...]
    """minutes of playing on each practice day at most"""
    adjacent: tuple[bool, ...]
    """for each practice day but the first: whether the one before it was the day before"""
    strains: tuple[Cap, ...] = ()
    due: Mapping[str, float] = field(default_factory=dict)
    """word of the plan → share of all minutes that its pages have, if any week can give it"""
    shares: Mapping[str, float] = field(default_factory=dict)
    """word of the plan → share of all minutes that its pages should have"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """Who comes when, and for how long."""

    days: tuple[tuple[tuple[int, float], ...], ...]
    """for each practice day (item, minutes), items ascending"""
    verdict: str


_Unknowns = Callable[[int, int], int]
"""item, day → index of an unknown"""


def schedule(items: Sequence[Item], frame: WeekFrame) -> Schedule | None:
    """The best week, or None where not even what comes every day fits."""
    # where the limits of a day stand in its way, what is due comes as near as it can
    for firm in (True, False):
        programme = _Programme(items, frame, firm=firm)
        answer = solve(programme.unknowns, programme.rows, nodes=_NODES, gap=_GAP)
        if answer is not None or not frame.due:
            break
    if answer is None:
        return None
    values = answer.values
    return Schedule(
        days=tuple(
            tuple(
                (i, values[programme.minutes(i, day)]) for i in programme.every if values[programme.comes(i, day)] > 0.5
            )
            for day in programme.days
        ),
        verdict=strung([say("the week that keeps most of what a week should be"), answer.verdict], ": "),
    )


class _Programme:
    """Unknowns and rows of a week, built once."""

    def __init__(self, items: Sequence[Item], frame: WeekFrame, *, firm: bool) -> None:
        self.items, self.frame = items, frame
        self.size = len(frame.caps)
        self.every, self.days = range(len(items)), range(self.size)
        self.rows: list[Constraint] = []
        self.unknowns: list[Unknown] = []
        for item in items:
            for day in self.days:
                held = item.rests and day == 0 and self.size > 1 and not item.always
                self.unknowns.append(Unknown(worth=0.0, low=float(item.always), high=float(not held)))
        self.unknowns += [Unknown(worth=-_EARLY * day - 1e-4 * i * day) for i in self.every for day in self.days]
        # minutes are worth nothing for themselves, but a little where they are asked for, and a hair by their order
        self.unknowns += [
            Unknown(worth=_ASKED * item.asked - 1e-4 * i, high=item.most, whole=False)
            for i, item in enumerate(items)
            for _ in self.days
        ]
        self._visits()
        for day in self.days:
            self._day(day)
        self._spacing()
        for word, share in frame.due.items():
            self._share(word, share, firm=firm)
        for word, share in frame.shares.items():
            self._share(word, share, firm=False)
        if frame.due:
            self._ceiling(set(frame.due))
        words = {**frame.due, **frame.shares}
        for word in words:
            self._first_of_all(word, set(words))

    def comes(self, item: int, day: int) -> int:
        """Index of the unknown: the item comes on this day."""
        return item * self.size + day

    def first(self, item: int, day: int) -> int:
        """Index of the unknown: it comes for the first time."""
        return (len(self.items) + item) * self.size + day

    def minutes(self, item: int, day: int) -> int:
        """Index of the unknown: its minutes."""
        return (2 * len(self.items) + item) * self.size + day

    def _lack(self, cost: float, high: float) -> int:
        self.unknowns.append(Unknown(worth=-cost, high=high, whole=False))
        return len(self.unknowns) - 1

    def _row(self, *shares: Mapping[int, float], low: float | None = None, high: float | None = None) -> None:
        together = {unknown: share for part in shares for unknown, share in part.items()}
        self.rows.append(Constraint(shares=together, low=low, high=high))

    def _sum(
        self, of: _Unknowns, items: Iterable[int], days: Sequence[int] | None = None, share: float = 1.0
    ) -> dict[int, float]:
        """What comes of these items, or their minutes, on these days, or on all: so much of each."""
        return {of(i, day): share for i in items for day in (self.days if days is None else days)}

    def _visits(self) -> None:
        for i, item in enumerate(self.items):
            fewer = 0.0 if item.at_first is None else item.most - item.at_first
            for day in self.days:
                here, first, time = self.comes(i, day), self.first(i, day), self.minutes(i, day)
                self._row({time: 1.0, here: -item.most, first: fewer}, high=0.0)
                self._row({time: 1.0, here: -item.least}, low=0.0)
                self._row({time: 1.0, self._lack(_UNFAIR, item.most): -1.0}, high=max(item.fair, item.least))
                self._row({here: 1.0}, self._sum(self.first, [i], range(day + 1), -1.0), high=0.0)
                self._row({first: 1.0, here: -1.0}, high=0.0)
            self._row(self._sum(self.first, [i]), high=1.0)
            if not (item.always or item.easy):
                least = float((self.size + 1) // 2)
                self._row(self._sum(self.comes, [i]), {self._lack(_SELDOM, least): 1.0}, low=least)

    def _day(self, day: int) -> None:
        cap = self.frame.caps[day]
        total = self._sum(self.minutes, self.every, [day])
        self._row(total, high=cap)
        self._row(total, {self._lack(_UNUSED, cap): 1.0}, low=cap * _FULL)
        if day:
            before = self._sum(self.minutes, self.every, [day - 1], -1 - figure("time", "growth"))
            self._row(total, before, high=figure("time", "growth_minutes"))
        new = [i for i, item in enumerate(self.items) if not (item.known or item.always or item.easy)]
        self._row(self._sum(self.first, new, [day]), high=figure("week", "new"))
        for one in self.frame.strains:
            self._row(self._sum(self.minutes, one.members, [day]), high=one.minutes)
        self._asked_before(day)
        if easy := [i for i, item in enumerate(self.items) if item.easy]:
            self._row(self._sum(self.comes, easy, [day]), {self._lack(_COLD, 1.0): 1.0}, low=1.0)

    def _asked_before(self, day: int) -> None:
        """No study that nobody asked for has more of a day than all that were asked for and may come on it."""
        free = [i for i, item in enumerate(self.items) if item.asked and self.unknowns[self.comes(i, day)].high]
        for j, item in enumerate(self.items):
            if free and not (item.always or item.asked):
                self._row(self._sum(self.minutes, free, [day], -1.0), {self.minutes(j, day): 1.0}, high=0.0)

    def _spacing(self) -> None:
        for i, item in enumerate(self.items):
            if item.always or item.easy:
                continue
            if item.core:
                least = float(round(figure("week", "core") * self.size))
                self._row(self._sum(self.comes, [i]), {self._lack(_MISSED, float(self.size)): 1.0}, low=least)
                continue
            for day in self.days[1:]:
                if self.frame.adjacent[day - 1]:
                    self._row(self._sum(self.comes, [i], [day - 1, day]), {self._lack(_CLOSE, 1.0): -1.0}, high=1.0)

    def _ceiling(self, words: set[str]) -> None:
        """All pages for these together should not have more than so much of the minutes that are used."""
        over = self._lack(_UNFAIR, sum(self.frame.caps))
        most = figure("week", "weak_most")
        own = [i for i, item in enumerate(self.items) if words & set(item.words)]
        everything = self._sum(self.minutes, self.every, share=-most)
        self._row(everything, self._sum(self.minutes, own, share=1.0 - most), {over: -1.0}, high=0.0)

    def _first_of_all(self, word: str, words: set[str]) -> None:
        """No study that works on nothing of what was asked for should have more minutes than all pages for `word`."""
        own = self._sum(self.minutes, [i for i, item in enumerate(self.items) if word in item.words], share=-1.0)
        for j, item in enumerate(self.items):
            if own and not (item.always or words & set(item.words)):
                over = self._lack(_LACKING, item.most * self.size)
                self._row(self._sum(self.minutes, [j]), own, {over: -1.0}, high=0.0)

    def _share(self, word: str, share: float, *, firm: bool) -> None:
        """The pages for `word` have this share of the minutes: without exception, and of all there are, if `firm`.

        Of those that are used it would be had as well by a week that uses few.
        """
        own = [i for i, item in enumerate(self.items) if word in item.words]
        if not own:
            return
        whole = sum(self.frame.caps)
        if firm:
            self._row(self._sum(self.minutes, own), low=share * whole)
            return
        everything = self._sum(self.minutes, self.every, share=-share)
        wanted = self._sum(self.minutes, own, share=1.0 - share)
        self._row(everything, wanted, {self._lack(_LACKING, whole): 1.0}, low=0.0)


_FULL = 0.97
"""share of a day's playing minutes that is aimed at; whole times through make it a little less"""
