"""Which study on which day: one exact programme for the week.

For each study and practice day one 0/1 unknown (it comes), one (it comes for the first time) and one for its minutes.
Kept without exception: the minutes of each day, its growth over the day before, the caps on what strains, at most two
new studies a day, the line at the end of every day; and the share of the minutes that is due to what is weak, wherever
any week of these studies can give it. What should be, and costs points where it cannot: that a day uses its minutes,
that goals have their share, that core studies come on most days, that others come twice or more with a day between, and
that each day begins with something easy.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

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
    visits: int = 7
    """at most"""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekFrame:
    """What the days allow."""

    caps: tuple[float, ...]
    """minutes of playing on each practice day at most"""
    adjacent: tuple[bool, ...]
    """for each practice day but the first: whether the one before it was the day before"""
    strains: tuple[Cap, ...] = ()
    due: Mapping[str, float] | None = None
    """word of the plan → share of all minutes that its pages have, if any week can give it"""
    shares: Mapping[str, float] | None = None
    """word of the plan → share of all minutes that its pages should have"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """Who comes when, and for how long."""

    days: tuple[tuple[tuple[int, float], ...], ...]
    """for each practice day (item, minutes), items ascending"""
    verdict: str
    gap: float


def schedule(items: Sequence[Item], frame: WeekFrame) -> Schedule | None:
    """The best week, or None where not even what comes every day fits."""
    programme = _Programme(items, frame, firm=True)
    answer = solve(programme.unknowns, programme.rows, nodes=_NODES, gap=_GAP)
    if answer is None and frame.due:
        # where the limits of a day stand in its way, what is due comes as near as it can
        programme = _Programme(items, frame, firm=False)
        answer = solve(programme.unknowns, programme.rows, nodes=_NODES, gap=_GAP)
    if answer is None:
        return None
    size = len(frame.caps)
    values = answer.values
    return Schedule(
        days=tuple(
            tuple(
                (i, values[programme.minutes(i, day)])
                for i in range(len(items))
                if values[programme.comes(i, day)] > 0.5
            )
            for day in range(size)
        ),
        verdict=strung([say("the week that keeps most of what a week should be"), answer.verdict], ": "),
        gap=answer.gap,
    )


class _Programme:
    """Unknowns and rows of a week, built once."""

    def __init__(self, items: Sequence[Item], frame: WeekFrame, *, firm: bool) -> None:
        self.items, self.frame = items, frame
        self.size = len(frame.caps)
        self.unknowns: list[Unknown] = []
        self.rows: list[Constraint] = []
        for item in items:
            for day in range(self.size):
                held = item.rests and day == 0 and self.size > 1 and not item.always
                self.unknowns.append(Unknown(worth=0.0, low=float(item.always), high=float(not held)))
        for index, _ in enumerate(items):
            for day in range(self.size):
                self.unknowns.append(Unknown(worth=-_EARLY * day - 1e-4 * index * day))
        # minutes are worth nothing for themselves, but a little where they are asked for, and a hair by their order
        self.unknowns += [
            Unknown(worth=_ASKED * item.asked - 1e-4 * i, high=item.most, whole=False)
            for i, item in enumerate(items)
            for _ in range(self.size)
        ]
        self._visits()
        self._days()
        self._spacing()
        for word, share in (frame.due or {}).items():
            self._share(word, share, firm=firm)
        for word, share in (frame.shares or {}).items():
            self._share(word, share, firm=False)
        if frame.due:
            self._ceiling(set(frame.due))
        for word in {**(frame.due or {}), **(frame.shares or {})}:
            self._first_of_all(word, {*(frame.due or {}), *(frame.shares or {})})

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

    def _visits(self) -> None:
        for i, item in enumerate(self.items):
            for day in range(self.size):
                here, time = self.comes(i, day), self.minutes(i, day)
                fewer = 0.0 if item.at_first is None else item.most - item.at_first
                self.rows.append(Constraint(shares={time: 1.0, here: -item.most, self.first(i, day): fewer}, high=0.0))
                self.rows.append(Constraint(shares={time: 1.0, here: -item.least}, low=0.0))
                over = self._lack(_UNFAIR, item.most)
                self.rows.append(Constraint(shares={time: 1.0, over: -1.0}, high=max(item.fair, item.least)))
                earlier = {self.first(i, k): -1.0 for k in range(day + 1)}
                self.rows.append(Constraint(shares={here: 1.0, **earlier}, high=0.0))
                self.rows.append(Constraint(shares={self.first(i, day): 1.0, here: -1.0}, high=0.0))
            self.rows.append(Constraint(shares={self.first(i, day): 1.0 for day in range(self.size)}, high=1.0))
            if item.visits < self.size and not item.always:
                self.rows.append(
                    Constraint(shares={self.comes(i, d): 1.0 for d in range(self.size)}, high=float(item.visits))
                )
            least = 0 if item.always or item.easy else min(item.visits, (self.size + 1) // 2)
            if least:
                lack = self._lack(_SELDOM, float(least))
                row = {self.comes(i, d): 1.0 for d in range(self.size)}
                self.rows.append(Constraint(shares={**row, lack: 1.0}, low=float(least)))

    def _days(self) -> None:
        growth, more = 1 + figure("time", "growth"), figure("time", "growth_minutes")
        new = [i for i, item in enumerate(self.items) if not (item.known or item.always or item.easy)]
        easy = [i for i, item in enumerate(self.items) if item.easy]
        for day, cap in enumerate(self.frame.caps):
            total = {self.minutes(i, day): 1.0 for i in range(len(self.items))}
            self.rows.append(Constraint(shares=total, high=cap))
            unused = self._lack(_UNUSED, cap)
            self.rows.append(Constraint(shares={**total, unused: 1.0}, low=cap * _FULL))
            if day:
                before = {self.minutes(i, day - 1): -growth for i in range(len(self.items))}
                self.rows.append(Constraint(shares={**total, **before}, high=more))
            self.rows.append(Constraint(shares={self.first(i, day): 1.0 for i in new}, high=figure("week", "new")))
            for one in self.frame.strains:
                self.rows.append(
                    Constraint(shares={self.minutes(i, day): 1.0 for i in sorted(one.members)}, high=one.minutes)
                )
            self._asked_before(day)
            if easy:
                cold = self._lack(_COLD, 1.0)
                self.rows.append(Constraint(shares={**{self.comes(i, day): 1.0 for i in easy}, cold: 1.0}, low=1.0))

    def _asked_before(self, day: int) -> None:
        """No study that nobody asked for has more of a day than all that were asked for and may come on it."""
        asked = {i for i, item in enumerate(self.items) if item.asked}
        free = {i for i in asked if self.unknowns[self.comes(i, day)].high}
        if not free:
            return
        own = {self.minutes(i, day): -1.0 for i in free}
        for j, item in enumerate(self.items):
            if not item.always and j not in asked:
                self.rows.append(Constraint(shares={**own, self.minutes(j, day): 1.0}, high=0.0))

    def _spacing(self) -> None:
        for i, item in enumerate(self.items):
            if item.always or item.easy:
                continue
            if item.core:
                least = round(figure("week", "core") * self.size)
                lack = self._lack(_MISSED, float(self.size))
                row = {self.comes(i, d): 1.0 for d in range(self.size)}
                self.rows.append(Constraint(shares={**row, lack: 1.0}, low=float(min(least, item.visits))))
                continue
            for day in range(1, self.size):
                if self.frame.adjacent[day - 1]:
                    both = self._lack(_CLOSE, 1.0)
                    self.rows.append(
                        Constraint(shares={self.comes(i, day - 1): 1.0, self.comes(i, day): 1.0, both: -1.0}, high=1.0)
                    )

    def _ceiling(self, words: set[str]) -> None:
        """All pages for these together should not have more than so much of the minutes that are used."""
        most = figure("week", "weak_most")
        over = self._lack(_UNFAIR, sum(self.frame.caps))
        row = {
            self.minutes(i, d): 1.0 - most if words & set(item.words) else -most
            for i, item in enumerate(self.items)
            for d in range(self.size)
        }
        self.rows.append(Constraint(shares={**row, over: -1.0}, high=0.0))

    def _first_of_all(self, word: str, words: set[str]) -> None:
        """No study that works on nothing of what was asked for should have more minutes than all pages for `word`."""
        own = {self.minutes(i, d): -1.0 for i, x in enumerate(self.items) if word in x.words for d in range(self.size)}
        if not own:
            return
        for j, item in enumerate(self.items):
            if item.always or words & set(item.words):
                continue
            over = self._lack(_LACKING, item.most * self.size)
            row = {self.minutes(j, d): 1.0 for d in range(self.size)}
            self.rows.append(Constraint(shares={**row, **own, over: -1.0}, high=0.0))

    def _share(self, word: str, share: float, *, firm: bool) -> None:
        """The pages for `word` have this share of the minutes: without exception, and of all there are, if `firm`.

        Of those that are used it would be had as well by a week that uses few.
        """
        members = [i for i, item in enumerate(self.items) if word in item.words]
        if not members:
            return
        if firm:
            all_own = {self.minutes(i, d): 1.0 for i in members for d in range(self.size)}
            self.rows.append(Constraint(shares=all_own, low=share * sum(self.frame.caps)))
            return
        everything = [self.minutes(i, d) for i in range(len(self.items)) for d in range(self.size)]
        own = {self.minutes(i, d): 1.0 - share for i in members for d in range(self.size)}
        row = {**dict.fromkeys(everything, -share), **own}
        row[self._lack(_LACKING, sum(self.frame.caps))] = 1.0
        self.rows.append(Constraint(shares=row, low=0.0))


_FULL = 0.97
"""share of a day's playing minutes that is aimed at; whole times through make it a little less"""
