from __future__ import annotations

from datetime import date
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engrave.model import Plan, Player, Week
from engrave.regimen.days import break_before, needed, playing, ramp, slots
from engrave.regimen.practice import figure


def test_a_week_starts_where_it_is_told() -> None:
    """With a date the labels carry dates; without one the plan's first day leads. 4 January 2027 is a Monday."""
    dated = slots(Plan(week=Week(rest=("sunday",))), date(2027, 1, 6))
    assert [slot.label for slot in dated] == [
        "Wednesday 6 January 2027",
        "Thursday 7 January 2027",
        "Friday 8 January 2027",
        "Saturday 9 January 2027",
        "Sunday 10 January 2027",
        "Monday 11 January 2027",
        "Tuesday 12 January 2027",
    ]
    assert [slot.practice for slot in dated] == [True, True, True, True, False, True, True]
    plain = slots(Plan(week=Week(start="sunday")))
    assert [slot.label for slot in plain][:2] == ["Sunday", "Monday"]
    assert all(slot.practice for slot in plain)


@pytest.mark.parametrize("days", range(1, 8))
def test_fewer_days_are_spread_over_the_week(days: int) -> None:
    """So many practice days as asked for, and no gap more than a day longer than another."""
    found = [i for i, slot in enumerate(slots(Plan(player=Player(days=days)))) if slot.practice]
    assert len(found) == days
    gaps = [b - a for a, b in zip(found, [*found[1:], found[0] + 7], strict=True)]
    assert max(gaps) - min(gaps) <= 1


@pytest.mark.parametrize(("minutes", "played"), [(12, 12), (25, 25), (30, 25), (35, 30), (55, 50), (60, 50), (85, 75)])
def test_breaks_come_out_of_the_minutes_there_are(minutes: float, played: float) -> None:
    """Common practice: five minutes off in every 25 to 30. Of an hour, fifty minutes are played."""
    assert playing(minutes) == played


@given(st.floats(0.5, 300))
def test_minutes_needed_turn_minutes_played_round(minutes: float) -> None:
    """What is played in the minutes needed is what was to be played, and never more than there is."""
    assert playing(needed(minutes)) >= minutes - 1e-6
    assert playing(minutes) <= minutes
    assert needed(playing(minutes)) <= minutes + 1e-6


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
