"""A study that the line's strings stand in the way of is offered on strings where it works."""

from __future__ import annotations

from engrave.axes import vary
from engrave.model import Plan, Study, Variation
from engrave.regimen.candidate_pool import pool
from engrave.regimen.varied import elsewhere
from tests.regimen.lines import line

TOP = "E4:1.0.0/8 F4:1.1.1/8 E4:1.0.0/8 G4:1.3.3/8 F4:1.1.1/4 E4:1.0.0/4"
CHORDS = "C3:5.3.3+E3:4.2.2+C4:2.1.1/2 C3:5.3.3+E3:4.2.2+C4:2.1.1/2"


def test_tremolo_of_a_line_on_the_first_string_is_offered_from_the_second() -> None:
    """The first string is left to hold the tremolo; the study keeps all else."""
    music = line(TOP)
    asked = Study(pluck="tremolo p-a-m-i", times=2)
    found = elsewhere(music, asked)
    assert found == Study(strings="shape on 2", pluck="tremolo p-a-m-i", times=2)
    assert isinstance(vary(music, found), Variation)


def test_what_the_strings_do_not_stand_in_the_way_of_is_not_moved() -> None:
    """A study that applies, one that chords forbid, one that moves the line itself."""
    assert elsewhere(line(TOP), Study(pluck="i-m")) is None
    assert elsewhere(line(CHORDS), Study(pluck="tremolo p-a-m-i")) is None
    assert elsewhere(line(TOP), Study(strings="shape on 1", pluck="tremolo p-a-m-i")) is None


def test_a_plan_that_asks_for_it_gets_it_with_a_notice() -> None:
    """The page stands in the pool, and the notice says what was wrong and where it is printed."""
    found = pool(line(TOP), Plan(studies=(Study(pluck="tremolo p-a-m-i"),)))
    assert [c.study.strings for c in found.candidates] == ["as written", "shape on 2"]
    (notice,) = found.notices
    assert notice.text.endswith("; it does with the line elsewhere: same frets from ②")
