"""Axes together: a later one sees the earlier ones, and what has been varied can be varied again."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.axes import alike, letters, vary
from engrave.axes.selection import selection
from engrave.model import Declined, Direction, Study, Variation, with_notes
from tests.axes.laws import check
from tests.axes.lines import TREBLES, line, say
from tests.axes.passages import own


def test_the_default_study_keeps_the_music() -> None:
    """Nothing changes but that notes without letters get some; done twice it changes nothing at all."""
    for name, before in own().items():
        once = vary(before, Study())
        assert isinstance(once, Variation)
        bare = {n.id: replace(n, stroke=None) for n in once.passage.notes}
        assert with_notes(once.passage, bare) == before.passage, name
        assert vary(once, Study()) == once


@pytest.mark.parametrize("name", ["alternating", "moving bass", "graces"])
def test_what_was_varied_can_be_varied_again(name: str) -> None:
    """The default study leaves every page of the catalogue as it is."""
    for study in selection("standard"):
        made = vary(own()[name], study)
        if isinstance(made, Variation):
            again = vary(made, Study())
            assert isinstance(again, Variation)
            assert alike(made, again), study
            assert check(again) == ()


def test_strokes_skip_what_is_slurred_and_accents_follow_what_is_fretted_now() -> None:
    """Pull-offs first, then the cycle over what is left, then accents on what the new fingering frets."""
    made = vary(
        line("G4/8 E4/8 A4/8 E4/8 G4/8 E4/8 A4/8 E4/8"),
        Study(fret="3-4", slurs="to open", pluck="a-m-i", accent="every 2"),
    )
    assert isinstance(made, Variation)
    assert say(made) == "a - m - i - a -"
    assert [e.notes[0].placement.finger for e in made.passage.events[::2] if e.notes[0].placement] == [3, 4, 3, 4]
    assert made.figures.slurs == (("3-0", 2), ("4-0", 2))
    assert made.figures.accents == (("i", 1), ("a", 1))


def test_a_line_moved_on_purpose_keeps_its_strings_under_another_fingering() -> None:
    """The `fret` axis chooses fingers for the strings the `strings` axis chose."""
    made = vary(line("E4/4 F4/4 G4/4 A4/4"), Study(strings="shape on 5", fret="best"))
    assert isinstance(made, Variation)
    assert {n.placement.string for n in made.passage.notes if n.placement} == {5}


def test_a_mixture_that_cannot_be_done_names_the_axis_and_the_note() -> None:
    """The first axis at fault, its setting, the reason and the place."""
    made = vary(line(TREBLES), Study(strings="shape on 5", pluck="i-m"))
    assert isinstance(made, Declined)
    assert (made.axis, made.setting, made.place) == ("strings", "shape on 5", "bar 2, beat 1")


def test_position_words_of_the_source_go_when_the_hand_lies_elsewhere() -> None:
    """A printed position that no longer holds is left out with a notice."""
    music = line("F4/4 G4/4 A4/4 F4/4")
    words = Direction(kind="position", text="I", bar=0, onset=Fraction(0), fret=1)
    marked = replace(music, passage=replace(music.passage, directions=(words,)))
    for study in (Study(strings="up 3"), Study(strings="octave down"), Study(fret="no open strings")):
        made = vary(marked, study)
        assert isinstance(made, Variation)
        assert made.passage.directions == ()
        assert "position and barre words of the source are left out: the hand lies elsewhere" in map(str, made.notices)
    kept = vary(marked, Study(pluck="i-m"))
    assert isinstance(kept, Variation)
    assert kept.passage.directions == (words,)


@given(st.lists(st.sampled_from(["E2+E4", "A2", "D3+B3", "G3", "B3", "E4", "F4", "C3+C4+E4"]), min_size=1, max_size=5))
@settings(max_examples=40, deadline=None)
def test_letters_are_the_cheapest_of_all_that_the_rules_allow(names: list[str]) -> None:
    """The search finds what adds up to least among every way to choose from what each onset group may have."""
    music = line(" ".join(f"{name}/4" for name in names), metre=f"{len(names)}/4")
    row = tuple(letters._places(music, {}))
    found = {name: letter.finger for name, letter in letters.letters(music, {}).items()}
    chosen = tuple(tuple(found[s.note.id] for s in place.group.plucked) for place in row)

    def cost(way: tuple[tuple[str, ...], ...]) -> float:
        own = sum(price for place, one in zip(row, way, strict=True) for f, price, _ in place.choices if f == one)
        last = ""
        for (a, one), (b, other) in pairwise(zip(row, way, strict=True)):
            last = letters._last(one, last)
            own += letters._step(a, one, last, b, other)
        return own

    least = min(cost(way) for way in product(*([f for f, _, _ in place.choices] for place in row)))
    assert cost(chosen) == pytest.approx(least)


def test_the_time_to_let_go_is_one_note_at_the_tempo() -> None:
    """An eighth at 60 quarters a minute is half a second; at 120 a quarter of one."""
    music = line("F4/8 E4/8 G4/8 E4/8 F4/4 E4/4")
    slow, quick = (vary(music, Study(tempo=tempo)) for tempo in ((60,), (60, 120)))
    assert isinstance(slow, Variation)
    assert isinstance(quick, Variation)
    assert (slow.figures.let_go, quick.figures.let_go) == (0.5, 0.25)


def test_figures_count_what_the_hands_do() -> None:
    """Strokes and frettings add up to the notes; reach is the distance between the fret places used."""
    made = vary(line("F4:1.1.1/4 G4:1.3.3/4 E4/4 F4:1.1.1/4"), Study(pluck="i-m"))
    assert isinstance(made, Variation)
    figures = made.figures
    assert (figures.notes, figures.strokes, figures.frettings) == (4, (("i", 2), ("m", 2)), ((1, 2), (3, 1)))
    # 650 mm: frets 1 and 3 lie at 36.5 and 103.4 mm (L(1 − 2^(−n/12)))
    assert figures.reach == pytest.approx(103.4 - 36.5, abs=0.1)
    assert figures.reach_at == "bar 1, beat 2"
