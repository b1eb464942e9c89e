from __future__ import annotations

from datetime import date, timedelta
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engrave.model import Plan, PlanError, Player, Week
from engrave.regimen.days import break_before, calendar, playing, ramp
from engrave.regimen.practice import figure


def test_a_week_starts_where_it_is_told() -> None:
    """With a date the days carry dates; without, the plan's first day leads. Unasked, the last day is for resting."""
    dated = calendar(Plan(week=Week(rest=("sunday",))), date(2027, 1, 6))
    assert [day.label for day in dated[:2]] == ["Wednesday 6 January 2027", "Thursday 7 January 2027"]
    assert [(day.weekday, day.date) for day in dated] == [((2 + n) % 7, f"2027-01-{6 + n:02d}") for n in range(7)]
    assert [day.practice for day in dated] == [True, True, True, True, False, True, True]
    plain = calendar(Plan(week=Week(start="sunday")))
    assert [day.label for day in plain][:2] == ["Sunday", "Monday"]
    assert [day.practice for day in plain] == [True] * 6 + [False]
    assert all(day.practice for day in calendar(Plan(player=Player(days=7))))


@pytest.mark.parametrize("days", range(1, 8))
def test_fewer_days_are_spread_over_the_week(days: int) -> None:
    """So many practice days as asked for, and no gap more than a day longer than another."""
    found = [i for i, day in enumerate(calendar(Plan(player=Player(days=days)))) if day.practice]
    assert len(found) == days
    gaps = [b - a for a, b in zip(found, [*found[1:], found[0] + 7], strict=True)]
    assert max(gaps) - min(gaps) <= 1


@pytest.mark.parametrize(("minutes", "played"), [(12, 12), (30, 30), (32, 30), (40, 35), (60, 55), (65, 60), (100, 90)])
def test_breaks_come_out_of_the_minutes_there_are(minutes: float, played: float) -> None:
    """Common practice: five minutes off in every 25 to 30. Of an hour, fifty-five minutes are played."""
    assert playing(minutes) == played


@pytest.mark.parametrize("weeks", [1, 4])
def test_the_end_of_the_calendar_is_told(weeks: int) -> None:
    """Weeks that would go beyond the last day there is are refused in one line; those before it are not."""
    last = date.max - timedelta(days=7 * weeks)
    assert len(calendar(Plan(), last, weeks)) == 7 * weeks
    with pytest.raises(PlanError) as caught:
        calendar(Plan(), last + timedelta(days=1), weeks)
    assert str(caught.value).endswith("goes beyond 9999-12-31, where the calendar ends (give an earlier --start)")


@given(st.lists(st.floats(0.5, 5), max_size=40))
def test_no_stretch_of_short_visits_passes_thirty_minutes(lengths: list[float]) -> None:
    """Between breaks at most thirty minutes, and of visits up to five minutes no more breaks than the minutes need."""
    pauses = break_before(lengths)
    assert len(pauses) == len(lengths)
    stretch = 0.0
    for pause, length in zip(pauses, lengths, strict=True):
        stretch = length if pause else stretch + length
        assert stretch <= figure("time", "break_latest")
    assert sum(pauses) <= max(0, ceil(sum(lengths) / figure("time", "break_after")) - 1)


def test_a_week_grows_gently_to_its_whole_minutes() -> None:
    """From the first day's share to the whole, evenly; a single day has all of it."""
    assert ramp(1) == (1.0,)
    assert ramp(7)[0] == figure("time", "first_day")
    assert ramp(7)[-1] == 1.0
    steps = [b / a - 1 for a, b in zip(ramp(6), ramp(6)[1:], strict=False)]
    assert max(steps) < figure("time", "growth")
