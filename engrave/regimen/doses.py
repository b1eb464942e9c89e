"""How much of one study a day holds: its tempi of that day, and how many times through at each.

A study starts where the player is, and grows one step of a few beats from visit to visit; a visit plays the step before
once more and then the new one. A study that did not go is played at one tempo only, a few times.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil

from engrave.axes.defaults import FASTEST, SLOWEST
from engrave.model import Variation, Visit
from engrave.regimen.load import minutes
from engrave.regimen.practice import figure

SHORTENED = 2
"""times through of a study that did not go on two days running; house figure"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """Where a study stands before a week begins."""

    variation: Variation
    beat: Fraction
    steps: tuple[int, ...]
    """tempi still to come, a day's growth apart, from the one to start with"""
    times: int = field(default=12)
    """most times through at one tempo"""
    longest: float = 10.0
    """most minutes of one visit"""

    def tempi(self, visit: int) -> tuple[int, ...]:
        """The tempi of a visit, counted from 0: the step before, where two fit, and the step itself."""
        at = min(visit, len(self.steps) - 1)
        pair = self.steps[max(0, at - 1) : at + 1]
        return pair if self.takes(pair, 1) <= self.longest else pair[-1:]

    def takes(self, tempi: Sequence[int], times: int) -> float:
        """Minutes of so many times through at each of these tempi, with the time to settle."""
        return minutes(self.variation, times=times, tempo=tempi, beat=self.beat)

    @property
    def least(self) -> float:
        """Minutes that any visit may need at least: worth turning to it, and once through in any case."""
        once = max(self.takes(self.tempi(visit), 1) for visit in range(min(2, len(self.steps))))
        return max(once, min(figure("week", "least"), self.longest, self.takes(self.steps[:1], self.times)))

    @property
    def most(self) -> float:
        """Minutes beyond which no visit goes."""
        return max(self.least, min(self.longest, self.takes(self.steps[:2], self.times)))

    @property
    def usual(self) -> float:
        """Minutes beyond which visits of a week do not go as a rule: the faster, the sooner all times are through."""
        visits = range(1, min(len(self.steps), int(figure("week", "days"))) + 1)
        full = [min(self.longest, self.takes(self.tempi(visit), self.times)) for visit in visits]
        return max(self.least, sum(full) / len(full))

    @property
    def at_first(self) -> float:
        """Minutes beyond which the first visit, at one tempo, does not go."""
        return max(self.least, min(self.longest, self.takes(self.steps[:1], self.times)))


def growth(start: float, top: float, step: int) -> tuple[int, ...]:
    """Tempi from `start` to `top`, evenly spread and at most `step` beats apart."""
    low = min(FASTEST, max(SLOWEST, round(start)))
    high = min(FASTEST, max(low, round(top)))
    steps = max(1, ceil((high - low) / step))
    # rounded down, so that no step is a beat too wide
    return tuple(dict.fromkeys(high - (high - low) * (steps - k) // steps for k in range(steps + 1)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Cap:
    """Minutes that some items may have together on one day."""

    members: frozenset[int]
    minutes: float


def doses(
    forms: Sequence[Form],
    planned: Sequence[tuple[int, int, float]],
    *,
    cap: float,
    caps: Sequence[Cap],
    keep: frozenset[int],
    asked: frozenset[int] = frozenset(),
) -> tuple[Visit, ...]:
    """The visits of one day: (item, which visit it is, minutes planned) as times through, within `cap` minutes in all.

    A visit's step is its item. Each is played once at least; then whoever is furthest behind its plan gets once more,
    then whoever has least. What does not fit even once is dropped from the end, what was `asked` for after the rest,
    and never what is in `keep`. Where something was asked for, no other visit, but for `keep`, is longer than all those
    together.
    """
    rows = list(planned)
    while True:
        made = _Filling(forms, rows, cap=cap, caps=caps, asked=asked, keep=keep)
        loose = [row for row in rows if row[0] not in keep | asked] or [row for row in rows if row[0] not in keep]
        if not made.over() or not loose:
            made.fill()
            long = made.too_long()
            if long is None:
                return made.doses()
            rows = [row for row in rows if row[0] != long]
        else:
            rows.remove(loose[-1])


class _Filling:
    """One day while it is filled: every visit once, and then more."""

    def __init__(
        self,
        forms: Sequence[Form],
        rows: Sequence[tuple[int, int, float]],
        *,
        cap: float,
        caps: Sequence[Cap],
        asked: frozenset[int],
        keep: frozenset[int],
    ) -> None:
        self.forms, self.cap, self.caps = forms, cap, caps
        self.tempi = {item: forms[item].tempi(visit) for item, visit, _ in rows}
        self.times = dict.fromkeys(self.tempi, 1)
        self.most = {item: forms[item].most for item in self.tempi}
        self.taken: dict[tuple[int, int], float] = {}
        self.wish = {item: wanted for item, _, wanted in rows}
        self.first = asked
        self.bound = [item for item in self.tempi if asked and item not in asked | keep]

    def takes(self, item: int, more: int = 0) -> float:
        """Minutes of a visit, so many times more than now."""
        played = item, self.times[item] + more
        if played not in self.taken:
            # asked for again with every other visit
            self.taken[played] = self.forms[item].takes(self.tempi[item], played[1])
        return self.taken[played]

    def together(self, items: Collection[int]) -> float:
        """Minutes of all these that come on the day."""
        return sum(self.takes(item) for item in self.tempi if item in items)

    def over(self) -> bool:
        """Whether the day is longer than it may be."""
        limits = [(self.tempi.keys(), self.cap), *((one.members, one.minutes) for one in self.caps)]
        return any(self.together(items) > most + 1e-9 for items, most in limits)

    def fits(self, item: int) -> bool:
        """Whether once more through is within every limit."""
        form = self.forms[item]
        if self.times[item] >= form.times or self.takes(item, 1) > self.most[item] + 1e-9:
            return False
        if item in self.bound and self.takes(item, 1) > self.together(self.first) + 1e-9:
            return False
        more = self.takes(item, 1) - self.takes(item)
        limits = [(self.tempi.keys(), self.cap), *((g.members, g.minutes) for g in self.caps if item in g.members)]
        return all(self.together(items) + more <= most + 1e-9 for items, most in limits)

    def fill(self) -> None:
        """Once more through for whoever is furthest behind its plan, then for whoever has least, while any fits."""
        while open_ := [item for item in self.tempi if self.fits(item)]:
            self.times[max(open_, key=lambda i: (self.wish[i] - self.takes(i, 1), -self.takes(i), -i))] += 1

    def too_long(self) -> int | None:
        """The last visit that nobody asked for and that takes longer than what was asked for, if there is one."""
        own = self.together(self.first)
        return next((item for item in reversed(self.bound) if self.takes(item) > own + 1e-9), None)

    def doses(self) -> tuple[Visit, ...]:
        """The visits as they are now."""
        return tuple(Visit(step=i, tempo=self.tempi[i], times=self.times[i], minutes=self.takes(i)) for i in self.tempi)
