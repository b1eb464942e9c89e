"""Where a hard spot lies: words with which a player finds it on paper."""

from __future__ import annotations

import pytest

from engrave.regimen.spot_places import place_of, stretch_of
from tests.build import passage

MUSIC = passage("E4/4 F4/8 G4/8 3(A4/8 G4/8 F4/8) E4/16 F4/16 G4/16 A4~/16 | A4/16 G4/8. F4/2.")
PLACES = (
    (0, "bar 1, beat 1"),
    (2, "bar 1, second half of beat 2"),
    (4, "bar 1, note 2 of beat 3"),
    (5, "bar 1, note 3 of beat 3"),
    (7, "bar 1, note 2 of beat 4"),
    (9, "bar 1, note 4 of beat 4"),
    (11, "bar 2, note 2 of beat 1"),
)


@pytest.mark.parametrize(("at", "said"), PLACES)
def test_a_place_is_a_beat_its_half_or_a_note_of_it(at: int, said: str) -> None:
    """No fraction of a beat is printed; the notes of a beat are counted as heads, tied ones too."""
    assert place_of(MUSIC, MUSIC.events[at]) == said


def test_no_two_places_have_the_same_name() -> None:
    """What a page tells to loop can be found by its words alone."""
    assert len({place_of(MUSIC, event) for event in MUSIC.events}) == len(MUSIC.events)


def test_a_stretch_names_its_bar_once() -> None:
    """From where to where, with the bar of the end only where it is another."""
    one, same, other = MUSIC.events[0], MUSIC.events[4], MUSIC.events[10]
    assert stretch_of(MUSIC, one, one) == "bar 1, beat 1"
    assert stretch_of(MUSIC, one, same) == "bar 1, beat 1 to note 2 of beat 3"
    assert stretch_of(MUSIC, same, other) == "bar 1, note 2 of beat 3 to bar 2, beat 1"
