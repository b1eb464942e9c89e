"""A week as a table: a row a study, a column a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

from engrave.model import Day, Regimen, Visit
from engrave.regimen.practice import figure


@dataclass(frozen=True, slots=True, kw_only=True)
class DayCell:
    """One study on one day."""

    tempo: tuple[int, ...] = ()
    """tempi of this day, rising; empty where the study does not come"""
    times: int = 0
    """boxes: times through at each tempo"""
    whole: int = 0
    """minutes as they are printed: a day's are their sum"""
    place: int = 0
    """in the day's order, from 1"""
    new: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyRow:
    """One study of the week."""

    step: int
    """index of the step in the regimen"""
    cells: tuple[DayCell, ...]
    """one a day"""


def grid(regimen: Regimen, week: int = 1, minutes: float | None = None) -> tuple[tuple[Day, ...], tuple[StudyRow, ...]]:
    """The days of one week and its rows, in the order of the pages; studies that do not come in it have no row.

    `minutes` are those of the player's day, breaks and all; None: the house's.
    """
    days = tuple(day for day in regimen.days if day.week == week)
    room = minutes or figure("time", "minutes")
    pause = figure("time", "break_minutes")
    printed = whole_parts(
        [[visit.minutes for visit in day.visits] for day in days], [room - day.breaks * pause for day in days]
    )
    cells = [
        tuple(_cell(index, day.visits, parts) for day, parts in zip(days, printed, strict=True))
        for index in range(len(regimen.steps))
    ]
    return days, tuple(StudyRow(step=i, cells=row) for i, row in enumerate(cells) if any(cell.tempo for cell in row))


def grids(regimen: Regimen, minutes: float | None = None) -> list[tuple[tuple[Day, ...], tuple[StudyRow, ...]]]:
    """Every week's table."""
    return [grid(regimen, week, minutes) for week in sorted({day.week for day in regimen.days})]


def _cell(step: int, visits: tuple[Visit, ...], printed: tuple[int, ...]) -> DayCell:
    for place, (visit, whole) in enumerate(zip(visits, printed, strict=True), start=1):
        if visit.step == step:
            return DayCell(tempo=visit.tempo, times=visit.times, whole=whole, place=place, new=visit.new)
    return DayCell()


_UP = (5, 4, 3, 2, 1, 0)
"""tenths of a minute that are added before a minute is cut to a whole one: as near to rounding as the days allow"""


def whole_parts(days: Sequence[Sequence[float]], rooms: Sequence[float]) -> tuple[tuple[int, ...], ...]:
    """Whole minutes for these of each day, at least 1, by one rule for all, so that what is equal is printed so.

    They are rounded, or rounded down a little more where a day would else print more than there is room for.
    """

    def cut(tenths: int) -> tuple[tuple[int, ...], ...]:
        # a hair less than a whole number is that number
        return tuple(tuple(max(1, floor(part + tenths / 10 + 1e-9)) for part in parts) for parts in days)

    ways = map(cut, _UP)
    fits = (way for way in ways if all(sum(parts) <= room for parts, room in zip(way, rooms, strict=True)))
    return next(fits, cut(0))
