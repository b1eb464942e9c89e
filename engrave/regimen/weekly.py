"""Which study on which day: one exact programme for the week.

One 0/1 unknown a study and practice day. Kept without exception: the minutes of each day, its growth over the day
before, the caps on tremolo and on one finger, a day's gap between two visits to a study that is not for every day, and
the line as written at the end of every day. Made as large as possible: what is trained of what the week wants, each
weak thing on every day, and something easy to begin with.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from engrave.regimen.choosing import A_LITTLE, MORE
from engrave.regimen.items import DAILY, MUST, WARM, Frame, Item, capped, rotates
from engrave.regimen.plainly import by_hand
from engrave.regimen.practice import figure
from engrave.regimen.programme import Row, Unknown, solve
from engrave.regimen.wanted import Want

_NODES = 100
_GAP = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """Who comes when."""

    days: tuple[tuple[int, ...], ...]
    """for each practice day the indices of the items visited, ascending"""
    verdict: str
    gap: float
    worth: float


def schedule(items: Sequence[Item], wants: Sequence[Want], frame: Frame) -> Schedule | None:
    """The best week, or None where not even what comes every day fits."""
    programme = _Programme(items, wants, frame)
    start = programme.values(by_hand(items, wants, frame))
    answer = solve(programme.unknowns, programme.rows, nodes=_NODES, gap=_GAP, start=start)
    if answer is None:
        return None
    size = len(frame.caps)
    return Schedule(
        days=tuple(tuple(i for i in range(len(items)) if answer.values[i * size + d] > 0.5) for d in range(size)),
        verdict=f"the week that trains most in these minutes: {answer.verdict}",
        gap=answer.gap,
        worth=answer.worth,
    )


@dataclass(frozen=True, slots=True)
class _Gain:
    """Something worth having: the share of it that each unknown brings, and the unknowns that count it."""

    shares: Mapping[int, float]
    counted: tuple[int, ...]


class _Programme:
    """Unknowns and rows of a week, built once."""

    def __init__(self, items: Sequence[Item], wants: Sequence[Want], frame: Frame) -> None:
        self.items, self.frame = items, frame
        self.size = len(frame.caps)
        self.unknowns = [Unknown(worth=item.worth, low=float(item.always)) for item in items for _ in range(self.size)]
        self.rows: list[Row] = []
        self.gains: list[_Gain] = []
        self._minutes()
        self._caps()
        self._rotation()
        self._daily()
        self._wanted(wants)

    def values(self, days: Sequence[Sequence[int]]) -> tuple[float, ...]:
        """Every unknown's value in a week of these visits."""
        values = [0.0] * len(self.unknowns)
        for day, visits in enumerate(days):
            for item in visits:
                values[self.at(item, day)] = 1.0
        for gain in self.gains:
            left = sum(share * values[index] for index, share in gain.shares.items())
            for index in gain.counted:
                values[index] = min(left, self.unknowns[index].high)
                left -= values[index]
        return tuple(values)

    def at(self, item: int, day: int) -> int:
        """Index of the unknown for an item on a practice day."""
        return item * self.size + day

    def _day(self, day: int) -> dict[int, float]:
        return {self.at(i, day): item.minutes for i, item in enumerate(self.items)}

    def _minutes(self) -> None:
        growth = 1 + figure("time", "growth")
        for day, cap in enumerate(self.frame.caps):
            self.rows.append(Row(shares=self._day(day), high=cap))
            if day:
                before = {index: -growth * share for index, share in self._day(day - 1).items()}
                self.rows.append(Row(shares=self._day(day) | before, high=figure("time", "growth_minutes")))

    def _caps(self) -> None:
        for members, cap in capped(self.items):
            for day in range(self.size):
                self.rows.append(Row(shares={self.at(i, day): self.items[i].minutes for i in members}, high=cap))

    def _rotation(self) -> None:
        """A day's gap, and no more visits than an item may have; what must come comes once at least, where it fits."""
        for i, item in enumerate(self.items):
            visits = {self.at(i, day): 1.0 for day in range(self.size)}
            if rotates(item):
                for day in range(1, self.size):
                    if self.frame.adjacent[day - 1]:
                        self.rows.append(Row(shares={self.at(i, day - 1): 1.0, self.at(i, day): 1.0}, high=1.0))
            if item.most < self.size and not item.always:
                self.rows.append(Row(shares=visits, high=float(item.most)))
            if item.must:
                self._gain(visits, (MUST,))

    def _daily(self) -> None:
        weak = sorted({word for item in self.items for word in item.weak})
        for day in range(self.size):
            groups = [([i for i, item in enumerate(self.items) if word in item.weak], DAILY) for word in weak]
            groups.append(([i for i, item in enumerate(self.items) if item.easy], WARM))
            for members, worth in groups:
                self._gain({self.at(i, day): 1.0 for i in members}, (worth,))

    def _wanted(self, wants: Sequence[Want]) -> None:
        for want in wants:
            shares = {
                self.at(i, day): min(n / want.often, MORE)
                for i, item in enumerate(self.items)
                if want.often and (n := item.atoms.get(want.atom, 0))
                for day in range(self.size)
            }
            self._gain(shares, (want.worth, A_LITTLE * want.worth / (MORE - 1)), (1.0, MORE - 1))

    def _gain(self, shares: dict[int, float], worths: tuple[float, ...], highs: tuple[float, ...] = (1.0,)) -> None:
        """Unknowns that are worth something as far as the shares are taken, one filled after the other."""
        if not shares:
            return
        counted = tuple(range(len(self.unknowns), len(self.unknowns) + len(worths)))
        self.unknowns += [Unknown(worth=w, high=h, whole=False) for w, h in zip(worths, highs, strict=True)]
        self.rows.append(Row(shares={**shares, **dict.fromkeys(counted, -1.0)}, low=0.0))
        self.gains.append(_Gain(shares, counted))


def worth(items: Sequence[Item], wants: Sequence[Want], frame: Frame, days: Sequence[Sequence[int]]) -> float:
    """What a week of these visits is worth to the programme."""
    programme = _Programme(items, wants, frame)
    return sum(u.worth * value for u, value in zip(programme.unknowns, programme.values(days), strict=True))
