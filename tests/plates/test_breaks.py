"""Which bars share a line."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engrave.model import Marks
from engrave.plates import draw
from engrave.plates.breaks import FLAG, HEAD, TIGHT, bar_widths, last_width, line_breaks
from engrave.plates.drawing import NEAREST
from engrave.plates.mei import shown_accidentals
from tests.build import passage
from tests.plates.hands import line_of
from tests.plates.readback import read_back
from tests.plates.textures import TEXTURES

WIDTHS = st.lists(st.floats(min_value=8, max_value=60), min_size=1, max_size=24)


@given(WIDTHS)
def test_no_line_is_fuller_than_allowed(widths: list[float]) -> None:
    """A line with more than one bar never needs more than its width and what tightness allows; bars keep order."""
    breaks = line_breaks(widths, room=90, first=84)
    assert breaks == sorted(set(breaks))
    edges = [0, *breaks, len(widths)]
    for k, (a, b) in enumerate(pairwise(edges)):
        assert a < b
        if b - a > 1:
            assert sum(widths[a:b]) * TIGHT <= (90 if k else 84) + 1e-6


def test_equal_bars_are_shared_out_equally() -> None:
    """Eight equal bars that fit two to a line stand two to a line, the last line included."""
    assert line_breaks([42.0] * 8, room=92, first=88) == [2, 4, 6]


def test_four_equal_bars_are_not_left_with_one_over() -> None:
    """Four bars of which three would fit a line are set two and two."""
    assert line_breaks([30.0] * 4, room=92, first=88) == [2]


@given(WIDTHS)
def test_the_last_line_is_no_wider_than_the_others(widths: list[float]) -> None:
    """A short last line is set at most as wide as the line, and never narrower than its bars need."""
    breaks = line_breaks(widths, room=90, first=84)
    width = last_width(widths, breaks, room=90, first=84)
    natural = sum(widths[breaks[-1] if breaks else 0 :])
    room = 90 if breaks else 84
    assert width <= room
    assert width >= min(natural, room) * (1 - 1e-9)


def test_more_in_a_bar_wants_more_room() -> None:
    """Sixteenths want more than quarters, signs more than none."""
    music = passage("E4/4 F4/4 G4/4 A4/4 | " + " ".join(["E4/16"] * 16) + " | " + " ".join(["E4/16 Eb4/16"] * 8))
    for widths in bar_widths(music, shown_accidentals(music)):
        quarters, sixteenths, signs = widths
        assert quarters < sixteenths < signs


def test_flags_before_rests_take_room_where_lines_are_closest() -> None:
    """A bar of sixteenths and rests needs more, at the least, than one of as many heads alone."""
    short, long = passage(" ".join(["E4/16 r/16"] * 8)), passage(" ".join(["E4/8"] * 8))
    (_, needed), (_, plain) = ([sum(w) for w in bar_widths(one, {})] for one in (short, long))
    assert needed - plain == pytest.approx(8 * (HEAD + FLAG))


def test_neighbouring_heads_keep_their_distance() -> None:
    """Heads of neighbouring moments stand at least the stated distance apart, so that a digit fits between them."""
    plate = draw(line_of(TEXTURES["Sixteenths"]), width=170)
    for system in plate.systems:
        heads = sorted(mark.x for mark in system.marks if mark.role == "head")
        gaps = [(b - a) / (plate.staff / 4) for a, b in pairwise(heads)]
        assert min(gaps) >= NEAREST


def test_a_bar_too_long_for_the_line_is_parted_at_a_beat() -> None:
    """A bar of 64 sixteenths is drawn whole over several lines at full size, and every note still reads as meant."""
    long = passage(" ".join(["E4/16 F#4/16 F4/16 A4/16"] * 16) + " | F4/1 s/1 s/1 s/1", metre="16/4")
    plate = draw(line_of(long), width=100, staff=7.2)
    assert plate.staff == 7.2
    assert len(plate.systems) > 2
    assert {(s.first, s.last) for s in plate.systems} <= {(0, 0), (0, 1), (1, 1)}
    assert "Bar 1 continued:" in plate.systems[1].words
    said = read_back(plate)
    assert all(said[note.id].pitch == note.pitch for note in long.notes)


def test_a_bar_that_cannot_be_parted_makes_the_staff_smaller() -> None:
    """Under a long bass note a bar stays whole, on a smaller staff, and the plate says so."""
    long = passage(" ".join(["E4/16 F4/16 G4/16 A4/16"] * 8), "E2/0", metre="8/4")
    plate = draw(line_of(long), width=100, staff=7.2)
    assert plate.staff < 7.2
    assert len(plate.systems) == 1
    assert all(0 <= mark.x <= 100 for mark in plate.systems[0].marks)
    lines = sorted(m.path[0][1][1] for m in plate.systems[0].marks if m.role == "staff")
    assert abs(lines[-1] - lines[0] - plate.staff) < 1e-6


def test_lines_break_only_where_we_say() -> None:
    """Three bars of short notes and rests that we set on one line stay there, though they are fuller than usual."""
    bar = "A3/32 r/32 D4/16 r/16 D4/32 r/32 D4/16. r/32 r/16 C4/32 r/32"
    last = "G3/32 r/32 D3/32 r/32 B2/32 r/32 D3/32 r/32 E3/32 r/32 F#3/32 r/32 G3/32 r/32 A3/32 r/32"
    music = passage(f"{bar} | {bar} | {last}", metre="2/4", fifths=1)
    plate = draw(line_of(music), width=173, staff=7.2, marks=Marks())
    assert len(plate.systems) == 1
    assert len(read_back(plate)) == len(list(music.notes))
