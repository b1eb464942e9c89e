"""Twenty pairs of pages that any teacher would put in the same order (common practice), the easier first."""

from __future__ import annotations

import pytest

from engrave import axes
from engrave.axes.defaults import HABITS
from engrave.model import Study, Variation
from engrave.regimen.candidate import written
from engrave.regimen.difficulty import WORK, difficulty
from tests.regimen.lines import OPEN_AND_STOPPED, SCALE, line

FIFTH = "A4:1.5.1/8 E4:1.0.0/8 B4:1.7.3/8 E4:1.0.0/8 C5:1.8.4/8 E4:1.0.0/8 B4:1.7.3/8 E4:1.0.0/8"
"""a bar in the fifth position, where every pair of fingers has room"""
BROKEN = " | ".join(2 * [" ".join(2 * ["A2:5.0.0/8 A3:3.2.2/8 C4:2.1.1/8 E4:1.0.0/8"])])
"""two bars of a chord broken over four strings"""
LINES = {
    "broken": line(BROKEN),
    "open and stopped": line(OPEN_AND_STOPPED),
    "scale": line(SCALE),
    "two bars": line(f"{SCALE} | {SCALE}"),
    "fifth": line(f"{FIFTH} | {FIFTH}"),
}
PAIRS = (
    (Study(), Study(pluck="m-a")),
    (Study(pluck="i-m"), Study(pluck="m-a")),
    (Study(pluck="m-a"), Study(pluck="a-c")),
    (Study(pluck="i-m"), Study(pluck="a-m-i")),
    (Study(pluck="i-m"), Study(pluck="i-m", stroke="rest")),
    (Study(pluck="i-m", stroke="rest"), Study(pluck="i-m", stroke="rest, then free")),
    (Study(pluck="a-m-i"), Study(pluck="c-a-m-i")),
    (Study(pluck="m-a"), Study(pluck="4 times p-a-m-i")),
    (Study(rhythm="double values"), Study(rhythm="dotted")),
    (Study(rhythm="dotted"), Study(rhythm="bursts of 4")),
    (Study(rhythm="planting"), Study(rhythm="off the beat")),
    (Study(accent="beats"), Study(accent="against the metre")),
    (Study(accent="crescendo"), Study(accent="every 3")),
    (Study(fret="1-2"), Study(fret="3-4")),
    (Study(fret="1-3"), Study(fret="1-2-4")),
    (Study(slurs="hammer-ons"), Study(slurs="left hand alone")),
    (Study(strings="up 2"), Study(strings="climb")),
    (Study(strings="up 2"), Study(strings="up 2", pluck="a-m-i")),
    (Study(slurs="pull-offs"), Study(slurs="pull-offs", fret="2-4", pluck="m-a")),
    (Study(pluck="block"), Study(pluck="block first")),
    (Study(pluck="block first"), Study(pluck="planted")),
    (Study(pluck="a-m-i", accent="fretted notes"), Study(pluck="a-c", fret="4", accent="fretted notes")),
)


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: f"{pair[0].asked or 'the line'} before {pair[1].asked}")
@pytest.mark.parametrize("name", LINES)
def test_pages_stand_in_the_order_any_teacher_would_give_them(name: str, pair: tuple[Study, Study]) -> None:
    """The easier page of each pair has fewer points, on every line where both apply."""
    base = written(LINES[name])
    points = []
    for study in pair:
        made = axes.vary(LINES[name], study)
        if isinstance(made, Variation):
            points.append(difficulty(made, study, base))
    if len(points) == 2:
        assert points[0] < points[1]


def test_every_pair_is_held_against_some_line() -> None:
    """No pair is skipped on all lines."""
    for pair in PAIRS:
        assert any(all(isinstance(axes.vary(music, s), Variation) for s in pair) for music in LINES.values()), pair


def test_the_line_as_written_has_no_points() -> None:
    """Difficulty is beside the line."""
    for music in LINES.values():
        assert difficulty(written(music), Study(), written(music)) == 0.0


def test_every_kind_of_work_has_its_points() -> None:
    """No kind is reckoned by a default."""
    assert set(HABITS) == set(WORK)
