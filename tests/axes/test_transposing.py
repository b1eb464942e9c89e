"""How a moved line is spelled: in its moved key, or in a plainer one where that spares signs."""

from __future__ import annotations

import pytest

from engrave.axes.transposing import resound, signs_read
from engrave.model import Passage
from tests.build import passage


def moved(text: str, semitones: int, fifths: int = 0) -> Passage:
    """A line, every note so many semitones higher."""
    piece = passage(text, fifths=fifths)
    return resound(piece, {note.id: note.pitch.midi + semitones for note in piece.notes})


HARMONIC = "A3/8 C4/8 E4/8 A4/8 G#4/8 B4/8 E4/8 F4/8"
SHARP = "E4/8 F#4/8 G#4/8 A4/8 B4/8 C#5/8 D#5/8 E5/8"
CHROMATIC = "C4/8 C#4/8 D4/8 D#4/8 E4/8 F4/8 F#4/8 G4/8"


@pytest.mark.parametrize(
    ("text", "semitones", "fifths", "names"),
    [
        (HARMONIC, 2, 2, "B3 D4 F♯4 B4 A♯4 C♯5 F♯4 G4"),
        (HARMONIC, 6, -6, "E♭4 G♭4 B♭4 E♭5 D5 F5 B♭4 C♭5"),
        (SHARP, 11, -3, "E♭5 F5 G5 A♭5 B♭5 C6 D6 E♭6"),
        (SHARP, 1, -1, "F4 G4 A4 B♭4 C5 D5 E5 F5"),
        (CHROMATIC, 11, 0, "B4 C5 C♯5 D5 D♯5 E5 F5 F♯5"),
    ],
)
def test_a_moved_line_is_spelled_plainly(text: str, semitones: int, fifths: int, names: str) -> None:
    """The names are those of the plain keys (by hand): E major without its signature, up a semitone, reads as F."""
    made = moved(text, semitones)
    assert made.bars[0].key.fifths == fifths
    assert " ".join(str(note.pitch) for note in made.notes) == names


@pytest.mark.parametrize("text", [SHARP, CHROMATIC])
@pytest.mark.parametrize("semitones", range(-11, 12))
def test_a_moved_scale_needs_no_double_sign(text: str, semitones: int) -> None:
    """Scales moved by any interval are read without double signs, and with eight signs at most, one a note."""
    made = moved(text, semitones)
    assert all(abs(note.pitch.alter) < 2 for note in made.notes)
    assert signs_read(made) <= 8


def test_a_line_of_its_key_keeps_its_degrees() -> None:
    """A line that its key fits is moved with it: C major, up a tone, is D major."""
    made = moved("C4/8 D4/8 E4/8 F4/8 G4/8 A4/8 B4/8 C5/8", 2)
    assert made.bars[0].key.fifths == 2
    assert " ".join(str(note.pitch) for note in made.notes) == "D4 E4 F♯4 G4 A4 B4 C♯5 D5"


def test_what_moves_beside_open_strings_is_spelled_by_its_interval() -> None:
    """The raised seventh of A minor stays one a tone higher, A♯ in B minor; open strings keep their name."""
    piece = passage("A4/8 E4/8 G#4/8 E4/8 A4/8 C5/8 G#4/8 A4/8")
    still = {n.id for n in piece.notes if str(n.pitch) == "E4"}
    made = resound(piece, {n.id: n.pitch.midi + 2 * (n.id not in still) for n in piece.notes})
    assert made.bars[0].key.fifths == 2
    assert " ".join(str(note.pitch) for note in made.notes) == "B4 E4 A♯4 E4 B4 D5 A♯4 B4"


@pytest.mark.parametrize("semitones", range(1, 8))
def test_notes_over_open_strings_that_stay_behind_need_no_double_sign(semitones: int) -> None:
    """What sounds then is in no key: the signature is the one under which the fewest signs are read."""
    piece = passage(
        "A4/8 E4/8 F4/8 E4/8 G4/8 E4/8 F4/8 E4/8 | D4/8 B3/8 E4/8 B3/8 D#4/8 B3/8 E4/8 B3/8 | C4/8 G#3/8 A3/2."
    )
    open_ = {"E4", "B3"}
    made = resound(
        piece, {n.id: n.pitch.midi + semitones * (f"{n.pitch.step}{n.pitch.octave}" not in open_) for n in piece.notes}
    )
    assert all(abs(note.pitch.alter) < 2 for note in made.notes)
    assert signs_read(made) <= 20
