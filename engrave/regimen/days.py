"""The days of a week, the minutes that can be played on each, and the breaks between.

Conventions: minutes a plan gives hold the breaks; five minutes off stand between stretches of twenty-five to thirty
minutes' playing (common practice). Dates come from the caller; nothing here reads the clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from engrave.model import WEEKDAYS, Day, Fault, Plan, PlanError
from engrave.model.said import say, say_day
from engrave.regimen.practice import figure


def calendar(plan: Plan, start: date | None = None, weeks: int = 1) -> tuple[Day, ...]:
    """So many weeks of empty days from `start`, or from the plan's first day of the week, with the plan's rest days.

    Where the plan wants fewer practice days than are left, they are spread evenly over those; where it says neither,
    one day of the week, the last, is for resting. Raises PlanError where the calendar ends first.
    """
    if start and (date.max - start).days < 7 * weeks:
        fact = f"a week from {start.isoformat()} goes beyond {date.max.isoformat()}, where the calendar ends"
        raise PlanError(Fault(fact=fact, hint="give an earlier --start"))
    first = start.weekday() if start else WEEKDAYS.index(plan.week.start)
    free = [offset for offset in range(7) if WEEKDAYS[(first + offset) % 7] not in plan.week.rest]
    if plan.player.days is None:
        free = free[: int(figure("week", "days"))]
    days = min(plan.player.days or len(free), len(free))
    kept = {free[k * len(free) // days] for k in range(days)}
    found = []
    for at in range(7 * weeks):
        on, weekday, practice = start + timedelta(days=at) if start else None, (first + at) % 7, at % 7 in kept
        found.append(
            Day(
                label=say_day(weekday, on),
                weekday=weekday,
                practice=practice,
                note="" if practice else say("A rest day."),
                date=on.isoformat() if on else "",
                week=at // 7 + 1,
            )
        )
    return tuple(found)


def playing(minutes: float) -> float:
    """The most minutes of playing that fit into `minutes` with the breaks they need."""
    stretch, pause = figure("time", "break_latest"), figure("time", "break_minutes")
    most = 0.0
    for breaks in range(int(minutes // stretch) + 1):
        most = max(most, min(stretch * (breaks + 1), minutes - pause * breaks))
    return most


def ramp(days: int) -> tuple[float, ...]:
    """For each practice day of a week, the share of its minutes that may be used: growing gently to the whole."""
    first = figure("time", "first_day")
    return tuple(first + (1 - first) * k / max(1, days - 1) if days > 1 else 1.0 for k in range(days))


def break_before(minutes: Sequence[float]) -> tuple[bool, ...]:
    """For visits of so many minutes in this order: which have a break before them.

    A break comes as late as it can without a stretch passing the longest; a visit longer than that stands alone.
    """
    longest = figure("time", "break_latest")
    stretch = 0.0
    found = []
    for length in minutes:
        pause = bool(stretch) and stretch + length > longest
        stretch = length if pause else stretch + length
        found.append(pause)
    return tuple(found)
