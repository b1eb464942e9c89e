"""The octave a part on a plain treble clef is read in, told either way, and moved as its player asks."""

from __future__ import annotations

import pytest

from engrave.batch import Order, Source, asked
from engrave.model import PlanError
from engrave.reading import read
from tests.reading.xml import CLEF_G, attributes, notes, score, shown

_LOWER = "read an octave lower than written, as guitar music on a plain treble clef sounds"
_OTHER = "read as written; guitar music on a plain treble clef would sound an octave lower: --octave -1"


def _plain(name: str, music: str = "E4/2 E5/2") -> bytes:
    return score(notes(music), name=name, first=attributes(clef=CLEF_G))


@pytest.mark.parametrize(
    "name", ["Guitar", "Guitarra", "Chitarra", "Гитара", "ギター", "吉他", "Gitár", "Kytara", "Κιθάρα"]
)
def test_a_guitar_is_known_in_many_languages(name: str) -> None:
    """A part named for a guitar sounds an octave lower than a plain clef says."""
    passage = read(_plain(name), "x.xml")
    assert shown(passage) == "E3/2 E4/2"
    assert [notice.text for notice in passage.notices] == [_LOWER]


@pytest.mark.parametrize("name", ["", "Part 1", "Music", "Musik", "Untitled"])
def test_a_part_named_for_nothing_is_taken_for_a_guitar(name: str) -> None:
    """It is read an octave lower, and told the way back, unless that leads below the lowest string."""
    passage = read(_plain(name), "x.xml")
    assert shown(passage) == "E3/2 E4/2"
    assert [notice.text for notice in passage.notices] == [f"{_LOWER}; if it is meant as written: --octave 1"]
    low = read(_plain(name, "E2/2 E4/2"), "x.xml")
    assert shown(low) == "E2/2 E4/2"


@pytest.mark.parametrize("name", ["Flute", "Piano", "Soprano"])
def test_a_part_of_another_instrument_is_read_as_written_and_told(name: str) -> None:
    """The way to the other octave is named."""
    passage = read(_plain(name), "x.xml")
    assert shown(passage) == "E4/2 E5/2"
    assert [notice.text for notice in passage.notices] == [_OTHER]


@pytest.mark.parametrize(("octave", "sounds"), [(-1, "E3/2 E4/2"), (0, "E4/2 E5/2"), (1, "E5/2 E6/2")])
def test_a_passage_is_moved_as_asked_once(octave: int, sounds: str) -> None:
    """By option and by plan alike, with a notice; the plan that goes on into the book asks for nothing more."""
    source = Source(name="x.xml", data=_plain("Flute"))
    for order in (
        Order(settings=(("octave", octave),)),
        Order(plan=f"[instrument]\noctave = {octave}\n"),
        Order(plan="[instrument]\noctave = 2\n", settings=(("octave", octave),)),
    ):
        passage, plan = asked(order, source)
        assert shown(passage) == sounds
        assert plan.octave == 0
        assert any("as asked" in notice.text for notice in passage.notices) == bool(octave)


def test_a_move_out_of_all_range_is_refused() -> None:
    """One line says so."""
    source = Source(name="x.xml", data=_plain("Flute", "G9/2 G9/2"))
    with pytest.raises(PlanError, match="leads out of all range"):
        asked(Order(settings=(("octave", 1),)), source)
