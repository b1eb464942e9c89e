"""Cuts of finished passages, and the loose ends they leave."""

from __future__ import annotations

from engrave.reading.cut import cut, without_loose_ends
from tests.build import passage
from tests.reading.xml import facts, shown


def test_a_cut_of_a_passage_begins_at_nought() -> None:
    """Bars, events and directions move together."""
    whole = passage("C4/4 D4/4 E4/4 F4/4 | G4/2 A4/2 | B4/1", "C3/1 | D3/1 | E3/1")
    made = cut(whole, bars="2-3")
    assert shown(made) == "G4/2 A4/2; D3/1 | B4/1; E3/1"
    assert [bar.onset for bar in made.bars] == [0, 4]
    assert [event.onset for event in made.events if event.voice == 1] == [0, 2, 4]
    assert cut(whole) == whole


def test_a_chosen_voice_becomes_the_first() -> None:
    """Where it is silent it rests, and what is left out is told."""
    whole = passage("C4/1 | D4/1", "r/1 | D3/1")
    made = cut(whole, voice="2")
    assert (shown(made), made.voices) == ("r/1 | D3/1", (1,))
    assert facts(made)[-1] == "left out: voice 1"


def test_a_tie_across_a_cut_is_mended() -> None:
    """The note is struck, and told."""
    made = cut(passage("C4~/1 | C4/1 | D4/1"), bars="2")
    assert shown(made) == "C4/1"
    assert facts(made)[-1] == "a note is tied to what is not before it; it is struck here (bar 2)"


def test_mending_a_sound_passage_changes_nothing() -> None:
    """Ties with both ends stay."""
    whole = passage("C4~/2 C4/4 E4~/4 | E4/1")
    assert without_loose_ends(whole, whole_start=True) == whole
