"""The diagrams: frets where they lie on a real neck, fingers where the variation puts them, bars as long as counts."""

from __future__ import annotations

from collections import Counter

import pytest

from engrave.fretting.fingered import fret
from engrave.instruments import find_hand, find_instrument
from engrave.model import Variation
from engrave.model.wording import numeral
from engrave.pages.drawn import Drawing
from engrave.pages.neck_picture import draw_neck, neck_height
from tests.build import passage

FRETS = (0, 36.5, 70.9, 103.4, 134.1, 163.1, 190.4, 216.2, 240.5, 263.5, 285.2, 305.7, 325.0)
"""mm from the nut to each fret of a 650 mm string: L(1 - 2^(-n/12)), equal temperament, worked out by hand"""


@pytest.fixture(scope="module")
def line() -> Variation:
    """A line in first position with open strings, one note at the twelfth fret."""
    music = passage("E3:4.2.2/8 F3:4.3.3/8 E4:1.0.0/8 F4:1.1.1/8 E4:1.0.0/8 G4:1.3.4/8 E4:1.0.0/8 E5:1.12.4/8")
    return fret(music, find_instrument("standard"), find_hand("standard"))


def drawn(line: Variation) -> tuple[Drawing, str]:
    """The neck of a line and its words."""
    drawing = Drawing(width=170, height=neck_height(line.instrument))
    return drawing, draw_neck(drawing, line)


def test_frets_are_spaced_as_on_a_real_neck(line: Variation) -> None:
    """Distances between the fret lines are to each other as on a string of 650 mm."""
    drawing, _ = drawn(line)
    uprights = sorted(
        {
            round(mark.path[0][1][0], 3)
            for mark in drawing.marks
            if mark.pen and len(mark.path) == 2 and mark.path[0][1][0] == mark.path[1][1][0]
            if abs(mark.path[0][1][1] - mark.path[1][1][1]) > 10
        }
    )
    assert len(uprights) >= 12
    unit = (uprights[11] - uprights[0]) / (FRETS[12] - FRETS[1])
    for number in range(1, 13):
        assert uprights[number - 1] - uprights[0] == pytest.approx((FRETS[number] - FRETS[1]) * unit, abs=0.03)


def test_each_placement_is_drawn_and_said_once(line: Variation) -> None:
    """A circle with its digit for each stopped place, a ring for each open string, and the same in words."""
    drawing, said = drawn(line)
    places = {(n.placement.string, n.placement.fret) for n in line.passage.notes if n.placement}
    assert len([mark for mark in drawing.marks if mark.role == "circle"]) == len(places)
    digits = Counter(mark.text for mark in drawing.marks if mark.text.isdecimal())
    assert sum(digits.values()) == len([place for place in places if place[1]])
    for note in line.passage.notes:
        place = note.placement
        assert place is not None
        part = said.split(f"string {place.string} ")[1].split(";")[0]
        assert (f"fret {place.fret} with finger {place.finger}" if place.fret else "open") in part
    assert all(0 <= x <= 170 for mark in drawing.marks for _, v in mark.path for x in v[::2])
    assert all(0 <= y <= drawing.height for mark in drawing.marks for _, v in mark.path for y in v[1::2])


def test_frets_are_named_in_roman_numerals() -> None:
    """The numerals of common practice."""
    wanted = {1: "I", 4: "IV", 5: "V", 9: "IX", 10: "X", 14: "XIV", 19: "XIX", 24: "XXIV", 36: "XXXVI"}
    assert {fret_: numeral(fret_) for fret_ in wanted} == wanted


def test_a_bracket_lies_under_each_place_the_hand_lives_in() -> None:
    """A reach out and back gets no bracket, a move of the hand does: as many as the settled hand has places."""
    near = "E4:1.0.0/8 F4:1.1.1/8 G4:1.3.3/8 A4:1.5.4/8 G4:1.3.3/8 F4:1.1.1/8 E4:1.0.0/8 F4:1.1.1/8"
    far = "A4:1.5.1/8 B4:1.7.3/8 C5:1.8.4/8 B4:1.7.3/8 A4:1.5.1/8 B4:1.7.3/8 C5:1.8.4/8 A4:1.5.1/8"
    for music, places in ((near, [0]), (f"{near} | {far}", [0, 4])):
        made = fret(passage(music), find_instrument("standard"), find_hand("standard"))
        drawing = Drawing(width=170, height=neck_height(made.instrument))
        draw_neck(drawing, made)
        lines = [[point for _, point in m.path] for m in drawing.marks if m.pen and len(m.path) == 2]
        frets = sorted({one[0] for one, other in lines if one[0] == other[0] and abs(one[1] - other[1]) > 10})
        low = max(max(one[1], other[1]) for one, other in lines if one[0] in frets)
        starts = sorted({one[0] for one, other in lines if one[1] == other[1] > low + 1})
        # the nut is a box, not a line: the first line is that of the first fret
        assert [sum(at < start for at in frets) for start in starts] == places


def test_a_left_handed_neck_is_the_same_seen_from_the_other_side(line: Variation) -> None:
    """The nut is on the right, every line and circle where the mirror shows it, and letters are not turned."""
    plain, said = drawn(line)
    other = Drawing(width=plain.width, height=plain.height)
    assert draw_neck(other, line, turned=True) == said
    assert len(other.marks) == len(plain.marks)
    for mark, mirrored in zip(plain.marks, other.marks, strict=True):
        if not mark.text:
            xs = [x for _, points in mark.path for x in points[::2]]
            assert [x for _, points in mirrored.path for x in points[::2]] == pytest.approx([170 - x for x in xs])
        else:
            assert (mirrored.text, mirrored.y, mirrored.scale) == (mark.text, mark.y, mark.scale)
    digits = {mark.text: mark.x for mark in plain.marks if mark.text in ("XII", "1")}
    assert all(abs(mark.x - (170 - digits[mark.text])) < 4 for mark in other.marks if mark.text in digits)
