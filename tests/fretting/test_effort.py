"""Figures of the fretting hand against sums worked out by hand, and the survey."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from engrave.fretting import hand_figures
from engrave.fretting.effort import differences
from engrave.fretting.fingered import fret
from engrave.fretting.surveyed import survey
from engrave.fretting.weights import weights_from
from engrave.model import Place
from engrave.model.wording import numeral
from tests.build import passage
from tests.fretting.strategies import GUITAR, HAND


def test_figures_of_a_line_worked_out_by_hand() -> None:
    """One shift from position I to V (163.1 − 36.5 mm), seven notes, one open string half a beat after its finger."""
    piece = passage("F4:1.1.1/8 E4:1.0.0/8 G4:1.3.3/8 A4:1.5.1/8 C5:1.8.4/4 E4:2.5.1/4")
    made = hand_figures(fret(piece, GUITAR, HAND), tempo=Fraction(60))
    assert made.shifts == 1
    assert made.travel == 126.6
    assert made.fingers == ((0, 1), (1, 3), (3, 1), (4, 1))
    assert made.positions == ((1, 2), (5, 3))
    assert made.strings == ((1, 5), (2, 1))
    assert made.opens == 1
    assert made.crossings == 1
    assert made.let_go == 0.5
    assert made.let_go_at == Place(file="test", bar="1", beat=Fraction(3, 2))
    assert made.reach == 77.5
    assert made.barres == 0


def test_without_a_tempo_there_is_no_time_to_let_go() -> None:
    """A passage without a tempo gives no seconds."""
    assert hand_figures(fret(passage("F4/2 E4/2"), GUITAR, HAND)).let_go is None


def test_a_barre_is_counted_and_named() -> None:
    """The F chord lays finger 1 over six strings: one full barre."""
    made = fret(passage("F2+C3+F3+A3+C4+F4/1"), GUITAR, HAND)
    assert hand_figures(made).barres >= 1
    kinds = [note.placement.barre for note in made.passage.notes if note.placement and note.placement.finger == 1]
    assert kinds == ["full"] * 3


_NOTE = r"the [A-G][♯♭]?\d (?:(?:before|after) it|of bar \d, beat \S+)"
_CONCRETE = re.compile(
    rf"[1-4] on [①-⑥]: [1-4] would (?:shift \d+ mm(?: instead of \d+)?(?: for {_NOTE})?"
    rf"|(?:make [1-4] )?come from fret \d+ on [①-⑥](?: for {_NOTE})?|reach \d+ mm from [1-4]"
    rf"|stand \d frets? off its place|put [0-4] on {_NOTE}|move {_NOTE} to [①-⑥]"
    r"|do as well|be the rarer finger there in print)"
)


def test_differences_are_words() -> None:
    """Two fingerings are compared by position, shifts, open strings and reach."""
    low = hand_figures(fret(passage("F4:1.1.1/4 E4:1.0.0/4 G4:1.3.3/2"), GUITAR, HAND))
    high = hand_figures(fret(passage("F4:2.6.2/4 E4:2.5.1/4 G4:2.8.4/2"), GUITAR, HAND))
    words = differences(low, high)
    assert words.startswith("lies mostly in position V instead of I")
    assert "takes no open strings" in words
    assert "takes more open strings" in differences(high, low)
    assert not re.search(r"\d", words)
    assert differences(low, low) == "takes other fingers in the same positions"


@pytest.mark.parametrize(("number", "text"), [(1, "I"), (4, "IV"), (5, "V"), (9, "IX"), (12, "XII"), (19, "XIX")])
def test_positions_are_printed_as_roman_numerals(number: int, text: str) -> None:
    """Position numerals as they are printed (common practice)."""
    assert numeral(number) == text


def test_the_survey_sets_fingerings_side_by_side_with_reasons() -> None:
    """The best comes first, others cost more and say how they differ; each reason names finger, string and rival."""
    line = "C3/8 D3/8 E3/8 F3/8 G3/8 A3/8 B3/8 C4/8 | D4/8 E4/8 F4/8 G4/8 A4/8 B4/8 C5/4"
    made = survey(passage(line), GUITAR, HAND, tempo=Fraction(60))
    assert [f.name for f in made.fingerings] == ["best", "second best", "third best"]
    assert made.fingerings[0].dearer == 0
    assert all(f.dearer >= 0 and f.words for f in made.fingerings[1:])
    best = {note.id: note.placement for note in made.fingerings[0].variation.passage.notes}
    for reason in made.reasons:
        place = best[reason.note]
        assert place is not None
        assert (place.finger, place.string) == (reason.finger, reason.string)
        assert reason.instead != reason.finger
        assert reason.dearer >= 0
        assert reason.words.startswith(f"{reason.finger} on {'⓪①②③④⑤⑥'[reason.string]}: {reason.instead} would ")


def test_every_reason_is_one_of_the_hand() -> None:
    """Each reason names mm, a fret, a reach, a place, another note or says that the fingers are as good."""
    line = "F4/8 E4/8 A4/8 E4/8 G#4/8 E4/8 F4/8 E4/8 | C4/8 B3/8 E4/8 B3/8 G4/8 C4/8 A3/8 F4/8"
    for piece in (passage(line), passage(line, "A2/1 | F3/1")):
        found = survey(piece, GUITAR, HAND).reasons
        assert len(found) > 8
        for reason in found:
            assert _CONCRETE.fullmatch(reason.words), reason.words


def test_fingers_of_the_source_have_reasons_too() -> None:
    """Each finger that the source gives says so, and what the hand would do on the same string, left to itself."""
    found = survey(passage("F4:1.1.1/8 E4/8 G4:1.3.4/8 E4/8 F4:1.1.2/8 E4/8 A4/8 E4/8"), GUITAR, HAND).reasons
    given = {reason.note: reason for reason in found if "given by the source" in reason.words}
    assert [reason.finger for reason in given.values()] == [1, 4, 2]
    assert all(reason.instead != reason.finger for reason in given.values())
    assert len(found) == len({reason.note for reason in found}) == 4


def test_weights_refuse_a_term_they_do_not_know() -> None:
    """A misspelt term of the data file is an error, not silence."""
    with pytest.raises(ValueError, match="unknown cost terms"):
        weights_from({"terms": {"shfit": 1.0}, "time": {"freedom": 0.4, "settle": 1.0}})
