"""Slurs of the fretting hand: a table of what it can play, and curves of a source."""

from __future__ import annotations

from dataclasses import replace

import pytest

from engrave.fretting import can_slide, can_slur
from engrave.fretting.fingered import fret
from engrave.fretting.slurs import unresolved
from engrave.model import Passage, Placement, Slur
from tests.build import passage
from tests.fretting.strategies import GUITAR, HAND


def at(string: int, fret_: int, finger: int) -> Placement:
    """A placement."""
    return Placement(string=string, fret=fret_, finger=finger)


@pytest.mark.parametrize(
    ("before", "after", "possible"),
    [
        (at(1, 3, 3), at(1, 0, 0), True),
        (at(1, 0, 0), at(1, 3, 3), True),
        (at(2, 5, 3), at(2, 3, 1), True),
        (at(2, 3, 1), at(2, 5, 3), True),
        (at(2, 5, 1), at(2, 3, 3), False),
        (at(2, 3, 1), at(2, 5, 1), False),
        (at(2, 3, 1), at(2, 3, 2), False),
        (at(1, 3, 3), at(2, 0, 0), False),
        (at(1, 1, 1), at(1, 8, 4), False),
    ],
)
def test_what_the_hand_can_slur(before: Placement, after: Placement, possible: bool) -> None:
    """One string, two frets, fingers in the order of the frets and within reach (common practice)."""
    assert can_slur(before, after, instrument=GUITAR, hand=HAND) is possible


def test_one_finger_on_two_frets_is_a_slide() -> None:
    """A slide needs one finger, one string, two frets."""
    assert can_slide(at(2, 3, 1), at(2, 5, 1))
    assert not can_slide(at(2, 3, 1), at(2, 5, 3))
    assert not can_slide(at(2, 0, 0), at(2, 5, 0 + 1))


def curved(text: str, *spans: tuple[int, int, str]) -> Passage:
    """A passage with curves between the n-th and m-th of its notes."""
    piece = passage(text)
    names = [note.id for note in piece.notes]
    return replace(piece, slurs=tuple(Slur(start=names[a], stop=names[b], kind=kind) for a, b, kind in spans))


def test_curves_the_hand_can_play_become_slurs() -> None:
    """Two and three notes under a curve lie on one string and are sounded from each other."""
    made = fret(curved("C4/8 D4/8 E4/4 F4/8 G4/8 A4/4", (0, 1, "slur"), (3, 5, "slur")), GUITAR, HAND)
    notes = list(made.passage.notes)
    assert [bool(note.slurred_from) for note in notes] == [False, True, False, False, True, True]
    assert notes[1].slurred_from == notes[0].id
    assert made.passage.slurs == ()
    for before, after in ((0, 1), (3, 4), (4, 5)):
        one, other = notes[before].placement, notes[after].placement
        assert one is not None
        assert other is not None
        assert can_slur(one, other, instrument=GUITAR, hand=HAND)


def test_phrase_marks_stay_curves() -> None:
    """A curve over a whole phrase is printed as it is."""
    long = fret(curved("C4/8 D4/8 E4/8 F4/8 G4/8 A4/8 B4/4", (0, 6, "slur")), GUITAR, HAND)
    assert [slur.kind for slur in long.passage.slurs] == ["slur"]
    assert long.notices == ()


@pytest.mark.parametrize("kind", ["slur", "hammer-on"])
def test_a_slur_that_cannot_be_played_is_plucked_and_noticed(kind: str) -> None:
    """A slur between strings far apart is no slur: its note is plucked, the curve goes, and the book says so."""
    made = fret(curved("E2/2 E5/2", (0, 1, kind)), GUITAR, HAND)
    assert made.passage.slurs == ()
    assert not any(note.slurred_from for note in made.passage.notes)
    assert [str(n) for n in made.notices] == [
        f"test, bar 1, beat 3: the {kind} from E2 to E5 cannot be played on one string with this fingering: E5 is "
        "plucked"
    ]


@pytest.mark.parametrize("text", ["E4/4 D#4/4 E4/2", "G4/8 F#4/8 E4/4 B3/2", "B3/4 C4/4 A3/2", "E4/4 G4/4 F4/2"])
def test_a_slur_of_the_source_forces_one_string(text: str) -> None:
    """Two notes under a slur lie on one string, though the second would be easier on another."""
    made = fret(curved(text, (0, 1, "slur")), GUITAR, HAND)
    one, other = list(made.passage.notes)[:2]
    assert other.slurred_from == one.id
    assert one.placement is not None
    assert other.placement is not None
    assert one.placement.string == other.placement.string


def test_a_slide_is_one_finger() -> None:
    """A slide of the source keeps one finger on one string."""
    made = fret(curved("A4/2 C5/2", (0, 1, "slide")), GUITAR, HAND)
    first, second = made.passage.notes
    assert second.slide
    assert second.slurred_from == first.id
    assert first.placement is not None
    assert second.placement is not None
    assert can_slide(first.placement, second.placement)


def test_slurs_turn_back_into_curves_for_another_fingering() -> None:
    """Unresolving and fingering again finds the same slurs."""
    made = fret(curved("C4/8 D4/8 E4/4 r/2", (0, 1, "slur")), GUITAR, HAND)
    back = unresolved(made.passage)
    assert [(s.start, s.stop, s.kind) for s in back.slurs] == [
        (next(made.passage.notes).id, list(made.passage.notes)[1].id, "hammer-on")
    ]
    assert all(not note.slurred_from for note in back.notes)
