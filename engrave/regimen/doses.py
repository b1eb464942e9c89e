"""How much of one study a day holds: its tempi of that day, and how many times through at each.

A study starts where the player is, and grows one step of a few beats from visit to visit; a visit plays the step before
once more and then the new one. A study that did not go is played at one tempo only, a few times.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil

from engrave.axes.defaults import FASTEST, SLOWEST
from engrave.model import Variation
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


def growth(start: float, top: float, step: int) -> tuple[int, ...]:
    """Tempi from `start` to `top`, evenly spread and at most `step` beats apart."""
    low = min(FASTEST, max(SLOWEST, round(start)))
    high = min(FASTEST, max(low, round(top)))
    steps = max(1, ceil((high - low) / step))
    # rounded down, so that no step is a beat too wide
    return tuple(dict.fromkeys(high - (high - low) * (steps - k) // steps for k in range(steps + 1)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Dose:
    """One visit."""

    item: int
    tempi: tuple[int, ...]
    times: int
    minutes: float


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
) -> tuple[Dose, ...]:
    """The visits of one day: (item, which visit it is, minutes planned) as times through, within `cap` minutes in all.

    Each is played once at least; then whoever is furthest behind its plan gets once more, then whoever has least. What
    does not fit even once is dropped from the end, but for `keep`.
    """
    rows = list(planned)
    while True:
        tempi = {item: forms[item].tempi(visit) for item, visit, _ in rows}
        times = dict.fromkeys(tempi, 1)

        def takes(item: int, more: int = 0) -> float:
            return forms[item].takes(tempi[item], times[item] + more)  # noqa: B023 (called in this round only)

        if sum(takes(item) for item, _, _ in rows) <= cap + 1e-9 and all(_within(takes, tempi, one) for one in caps):
            break
        loose = [row for row in rows if row[0] not in keep]
        if not loose:
            break
        rows.remove(loose[-1])
    wish = {item: wanted for item, _, wanted in rows}

    def fits(item: int) -> bool:
        if times[item] >= forms[item].times or takes(item, 1) > forms[item].most + 1e-9:
            return False
        more = takes(item, 1) - takes(item)
        if sum(takes(i) for i in tempi) + more > cap + 1e-9:
            return False
        groups = [one for one in caps if item in one.members]
        return all(sum(takes(i) for i in tempi if i in g.members) + more <= g.minutes + 1e-9 for g in groups)

    while open_ := [item for item in tempi if fits(item)]:
        times[max(open_, key=lambda i: (wish[i] - takes(i, 1), -takes(i), -i))] += 1
    return tuple(Dose(item=i, tempi=tempi[i], times=times[i], minutes=takes(i)) for i in tempi)


def _within(takes: Callable[[int], float], tempi: dict[int, tuple[int, ...]], one: Cap) -> bool:
    return sum(takes(i) for i in tempi if i in one.members) <= one.minutes + 1e-9
