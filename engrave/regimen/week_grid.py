"""A week as a table: a row a study, a column a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

from engrave.model import Day, Regimen, Visit


@dataclass(frozen=True, slots=True, kw_only=True)
class DayCell:
    """One study on one day."""

    tempo: tuple[int, ...] = ()
    """tempi of this day, rising; empty where the study does not come"""
    times: int = 0
    """boxes: times through at each tempo"""
    minutes: float = 0.0
    whole: int = 0
    """minutes as they are printed: those of a day add up to the day's, rounded up"""
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


def grid(regimen: Regimen, week: int = 1) -> tuple[tuple[Day, ...], tuple[StudyRow, ...]]:
    """The days of one week and its rows, in the order of the pages; studies that do not come in it have no row."""
    days = tuple(day for day in regimen.days if day.week == week)
    printed = [whole_parts([visit.minutes for visit in day.visits]) for day in days]
    rows = []
    for index in range(len(regimen.steps)):
        cells = tuple(_cell(index, day.visits, parts) for day, parts in zip(days, printed, strict=True))
        if any(cell.tempo for cell in cells):
            rows.append(StudyRow(step=index, cells=cells))
    return days, tuple(rows)


def _cell(step: int, visits: tuple[Visit, ...], printed: tuple[int, ...]) -> DayCell:
    for place, visit in enumerate(visits, start=1):
        if visit.step == step:
            return DayCell(
                tempo=visit.tempo,
                times=visit.times,
                minutes=visit.minutes,
                whole=printed[place - 1],
                place=place,
                new=visit.new,
            )
    return DayCell()


def whole_parts(parts: Sequence[float]) -> tuple[int, ...]:
    """Whole numbers for these, none more than one away, that add up to their sum rounded up."""
    made = [floor(part) for part in parts]
    # a hair more than a whole number is that number
    left = ceil(sum(parts) - 1e-9) - sum(made)
    for index in sorted(range(len(made)), key=lambda i: (made[i] - parts[i], i))[:left]:
        made[index] += 1
    return tuple(made)
