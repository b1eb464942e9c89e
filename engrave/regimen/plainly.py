"""A week made the plain way: day by day, always the study that brings most a minute and still fits.

It is where the exact programme starts from, and what it is compared with.
"""

from __future__ import annotations

from collections.abc import Sequence

from engrave.regimen.items import DAILY, MUST, WARM, Frame, Item, capped, rotates
from engrave.regimen.practice import figure
from engrave.regimen.wanted import Want


def by_hand(items: Sequence[Item], wants: Sequence[Want], frame: Frame) -> tuple[tuple[int, ...], ...]:
    """For each practice day the indices of the items visited, ascending. Keeps every rule of the exact programme."""
    made = _Made(items, wants)
    for day, cap in enumerate(frame.caps):
        limit = cap
        if day:
            before = sum(items[i].minutes for i in made.days[-1])
            limit = min(cap, (1 + figure("time", "growth")) * before + figure("time", "growth_minutes"))
        rested = made.days[-1] if day and frame.adjacent[day - 1] else ()
        made.fill(limit, rested)
    return tuple(tuple(sorted(day)) for day in made.days)


class _Made:
    """A week under construction: what has been taken and what is still missing."""

    def __init__(self, items: Sequence[Item], wants: Sequence[Want]) -> None:
        self.items = items
        self.groups = capped(items)
        self.missing = {want.atom: float(want.often) for want in wants if want.often}
        self.worth = {want.atom: want.worth / want.often for want in wants if want.often}
        self.visits = [0] * len(items)
        self.days: list[list[int]] = []

    def fill(self, limit: float, rested: Sequence[int]) -> None:
        """Add a day of at most `limit` minutes; items visited the day before (`rested`) wait if they rotate."""
        self.days.append([])
        for index, item in enumerate(self.items):
            if item.always:
                self._take(index)
        waiting = [i for i, item in enumerate(self.items) if not (i in rested and rotates(item))]
        while waiting := [i for i in waiting if self._fits(i, limit)]:
            best = max(waiting, key=lambda i: (self._gain(i) / self.items[i].minutes, -i))
            if self._gain(best) <= 0:
                break
            self._take(best)

    def _take(self, index: int) -> None:
        self.days[-1].append(index)
        self.visits[index] += 1
        for atom, n in self.items[index].atoms.items():
            if atom in self.missing:
                self.missing[atom] -= n

    def _fits(self, index: int, limit: float) -> bool:
        today = self.days[-1]
        if index in today or self.visits[index] >= self.items[index].most:
            return False
        groups = [(members, cap) for members, cap in self.groups if index in members]
        return all(
            sum(self.items[i].minutes for i in (*today, index) if i in members) <= cap
            for members, cap in [(range(len(self.items)), limit), *groups]
        )

    def _gain(self, index: int) -> float:
        item, today = self.items[index], self.days[-1]
        served = {word for i in today for word in self.items[i].weak}
        gain = sum(
            self.worth[a] * min(n, max(0.0, self.missing[a])) for a, n in item.atoms.items() if a in self.missing
        )
        gain += item.worth + DAILY * len(set(item.weak) - served)
        gain += WARM if item.easy and not any(self.items[i].easy for i in today) else 0.0
        return gain + (MUST if item.must and not self.visits[index] else 0.0)
