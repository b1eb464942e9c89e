from __future__ import annotations

from fractions import Fraction

import pytest

from engrave import resources
from engrave.model import LEVELS, Study
from engrave.regimen.load import beat_of, minutes, muscle
from engrave.regimen.practice import depth_pages, figure
from engrave.regimen.strains import NAMES
from tests.regimen.lines import OPEN_AND_STOPPED, line, varied


def test_minutes_are_beats_over_tempo_and_the_time_to_settle() -> None:
    """Four bars of four quarters at 60, three times: 48 beats are 48 seconds, and half a minute to settle.

    With a second step at 120, three times more at half the time.
    """
    music = line(OPEN_AND_STOPPED)
    assert minutes(music, times=3, tempo=(60, 120), beat=Fraction(1)) == pytest.approx(48 / 60 + 24 / 60 + 0.5)
    assert minutes(music, times=3, tempo=(60,), beat=Fraction(1)) == pytest.approx(48 / 60 + 0.5)


def test_the_beat_of_a_compound_metre_is_dotted() -> None:
    """In 6/8 tempo steps count dotted quarters: two a bar."""
    music = line("E4:1.0.0/8 F4:1.1.1/8 E4:1.0.0/8 F4:1.1.1/8 E4:1.0.0/8 F4:1.1.1/8", metre="6/8")
    assert beat_of(music.passage) == Fraction(3, 2)
    assert minutes(music, times=30, tempo=(60,), beat=beat_of(music.passage)) == pytest.approx(1 + 0.5)


@pytest.mark.parametrize(
    ("pluck", "finger"), [("i-m", ""), ("m-i", ""), ("a-c", "c"), ("m-a", "a"), ("a-m-i", "a"), ("p-i", "p")]
)
def test_the_finger_that_has_more_to_do_is_named(pluck: str, finger: str) -> None:
    """Against the line in i-m, the finger whose share grows most is named; of two that grow alike, the weaker."""
    music = varied(line(OPEN_AND_STOPPED), Study(pluck="i-m"))
    assert muscle(varied(line(OPEN_AND_STOPPED), Study(pluck=pluck)), music) == finger


def test_every_house_figure_has_its_source() -> None:
    """The figures of practice say whose they are, and the breaks are those of common practice."""
    table = resources.table("shared/practice.toml")
    for name in ("settle", "minutes", "break", "growth", "first_day"):
        assert table["time"][f"{name}_source"].startswith(("house default", "common practice"))
    assert all(table["caps"][f"{name}_source"].startswith("house default") for name in (*NAMES, "finger", "little"))
    assert (figure("time", "break_minutes"), figure("time", "break_after"), figure("time", "break_latest")) == (
        5,
        25,
        30,
    )
    assert figure("caps", "tremolo") == 15
    assert [depth_pages("standard", level) for level in LEVELS] == [10, 20, 30]
    assert depth_pages("complete", "beginner") is None
