"""The music in words, and which marks are printed."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from engrave.axes import vary
from engrave.model import Marks, Placement, Plate, Study, Variation, with_notes
from engrave.model.outlines import bounds
from engrave.plates import draw
from tests.axes.passages import own
from tests.build import passage
from tests.plates.hands import line_of


def roles(plate: Plate) -> Counter[str]:
    """How many marks of each role a plate has."""
    return Counter(mark.role for system in plate.systems for mark in system.marks)


def test_a_line_is_told_note_by_note() -> None:
    """Pitch, string, fret, finger and stroke of each note are said, a length where it changes."""
    plate = draw(line_of(passage("E4/8 F4/8 r/4 F#4/2>", fifths=0)), width=170)
    assert plate.systems[0].words == (
        "Bar 1, 4/4 time: beat 1 eighth E 4 string 1 open i, F 4 string 1 fret 1 finger 1 m, beat 2 quarter rest, "
        "beat 3 half F sharp 4 string 1 fret 2 finger 2 i accented."
    )


def test_beats_strokes_and_tuplets_are_told_in_words() -> None:
    """Beats where they begin, one stroke throughout once, tuplets by name, a ring finger that is no article."""
    line = line_of(passage("C4/8 | 3(E4/8 F4/8 G4/8) C4/4. E4~/8 E4/8 F4/8", metre="4/4", pickup=True))
    rest = vary(line, Study(pluck="m-a", stroke="rest"))
    assert isinstance(rest, Variation)
    assert draw(rest, width=170).systems[0].words == (
        "Rest stroke throughout. Bar 0, 4/4 time: beat 4½ eighth C 4 string 2 fret 1 finger 1 m. "
        "Bar 1: beat 1 eighth triplet E 4 string 1 open ring finger a, F 4 string 1 fret 1 finger 1 m, "
        "G 4 string 1 fret 3 finger 3 ring finger a, beat 2 dotted quarter C 4 string 2 fret 1 finger 1 m, "
        "beat 3½ eighth E 4 string 1 open ring finger a, beat 4 E 4 held, F 4 string 1 fret 1 finger 1 m."
    )
    assert "stroke" not in draw(line, width=170).systems[0].words


def test_voices_chords_ties_and_slurs_are_told() -> None:
    """Voices are told one after the other; a chord is joined by "with"; held and slurred notes say so."""
    line = line_of(passage("E4/4 F4/4 G4~/4 G4/4", "C3+G3/2 E3/2"))
    upper = [n for e in line.passage.events if e.voice == 1 for n in e.notes]
    changed = {upper[1].id: replace(upper[1], slurred_from=upper[0].id, stroke=None)}
    words = draw(replace(line, passage=with_notes(line.passage, changed)), width=170).systems[0].words
    assert words == (
        "Bar 1, 4/4 time: voice 1: beat 1 quarter E 4 string 1 open i, beat 2 F 4 string 1 fret 1 finger 1 slurred, "
        "beat 3 G 4 string 1 fret 3 finger 3 m, beat 4 G 4 held; "
        "voice 2: beat 1 half C 3 string 5 fret 3 finger 3 p with G 3 string 3 open i, "
        "beat 3 E 3 string 4 fret 2 finger 2 p."
    )


@pytest.mark.parametrize(
    ("marks", "digits", "circles", "letters"),
    [
        (Marks(), 6, 1, 8),
        (Marks(digits="none"), 0, 1, 8),
        (Marks(strings="never"), 6, 0, 8),
        (Marks(strings="always"), 6, 8, 8),
        (Marks(letters="none"), 6, 1, 0),
        (Marks(letters="first"), 6, 1, 2),
    ],
)
def test_settings_choose_the_marks(marks: Marks, digits: int, circles: int, letters: int) -> None:
    """Each setting of the marks prints as many digits, circles and letters as it says; a repeated note has no digit."""
    line = replace(line_of(passage("E4/8 F4/8 G4/8 E4/8 C5/8 C5/8 C5/8 C5/8")), cycle=("i", "m"))
    found = roles(draw(line, width=170, marks=marks))
    assert (found["digit"], found["circle"], found["letter"]) == (digits, circles, letters)


def test_digits_where_the_hand_moves() -> None:
    """With digits only where the hand moves, a digit stands where the position changes and nowhere else."""
    line = line_of(passage("F4/4 G4/4 C5/4 F4/4"))
    plate = draw(line, width=170, marks=Marks(digits="moves"))
    owners = [m.owner for m in plate.systems[0].marks if m.role == "digit"]
    notes = list(line.passage.notes)
    assert owners == [notes[0].id, notes[2].id, notes[3].id]


def test_strings_are_told_in_the_first_position_only_where_they_are_the_study() -> None:
    """In the first position digit and pitch tell the string; a study of strings prints it all the same."""
    line = line_of(passage("F4/4 D4/4 A3/4 F3/4"))
    assert roles(draw(line, width=170))["circle"] == 0
    assert roles(draw(replace(line, study=Study(strings="low")), width=170))["circle"] == 4


def test_a_string_that_holds_over_the_line_is_said_again() -> None:
    """The circle of a run that goes on over two lines stands at its first note on each, with a line to its last."""
    bar = "C5/8 B4/8 C5/8 B4/8 C5/8 B4/8 C5/8 B4/8"
    plate = draw(line_of(passage(f"{bar} | {bar} | {bar}")), width=70)
    assert len(plate.systems) == 3
    for system in plate.systems:
        found = Counter(mark.role for mark in system.marks)
        assert (found["circle"], found["string line"]) == (1, 1)


@pytest.mark.parametrize("name", ["built in", "alternating", "scale", "high", "graces", "chords", "two voices"])
@pytest.mark.parametrize("width", [70, 170])
@pytest.mark.parametrize("strings", ["as written", "up 5", "shape on 2"])
def test_no_string_line_stands_over_a_note_of_another_string(name: str, width: int, strings: str) -> None:
    """Under a broken line lie notes of the circle before it alone, among those of the voice the circle stands in."""
    made = vary(own()[name], Study(strings=strings))
    if not isinstance(made, Variation):
        return
    plate = draw(made, width=width)
    voice = {note.id: event.voice for event in made.passage.events for note in event.notes}
    place = {note.id: note.placement for note in made.passage.notes if note.placement}
    together = {n.id: {m.id for m in event.notes} for event in made.passage.events for n in event.notes}
    for system in plate.systems:
        heads = {m.owner: bounds(plate.outlines[m.outline]) for m in system.marks if m.role == "head"}
        middle = {
            m.owner: m.x + m.scale * (heads[m.owner][0] + heads[m.owner][2]) / 2
            for m in system.marks
            if m.role == "head"
        }
        circles = [m for m in system.marks if m.role == "circle"]
        for mark in system.marks:
            if mark.role != "string line":
                continue
            x0, _, x1, _ = bounds(mark.path)
            y = mark.path[0][1][1]
            circle = max((c for c in circles if c.x < x0 and abs(c.y - y) < 0.01), key=lambda c: c.x)
            under = [n for n, x in middle.items() if x0 < x < x1 and voice[n] == voice[circle.owner]]
            assert under
            for under_it in under:
                # of a chord the highest stopped note has the circle
                assert str(circle.text) in {str(place[other].string) for other in together[under_it]}


def test_the_little_finger_prints_as_the_letter_chosen() -> None:
    """Whatever letter stands for the little finger, it is printed and told."""
    line = line_of(passage("E4/2 F4/2"))
    changed = {n.id: replace(n, stroke=replace(n.stroke, finger="c")) for n in line.passage.notes if n.stroke}
    plate = draw(replace(line, passage=with_notes(line.passage, changed)), width=170, marks=Marks(little="x"))
    assert {m.text for m in plate.systems[0].marks if m.role == "letter"} == {"x"}
    assert "string 1 open little finger x" in plate.systems[0].words


def test_rest_strokes_are_named_where_they_start_and_end() -> None:
    """The kind of stroke is printed once where it starts and once where it changes, and not where it is always free."""
    line = line_of(passage("E4/4 F4/4 G4/4 E4/4"))
    assert roles(draw(line, width=170))["words"] == 0
    notes = list(line.passage.notes)
    changed = {n.id: replace(n, stroke=replace(n.stroke, kind="rest")) for n in notes[1:3] if n.stroke}
    plate = draw(replace(line, passage=with_notes(line.passage, changed)), width=170)
    told = [m.text for m in sorted(plate.systems[0].marks, key=lambda m: m.x) if m.role == "words"]
    assert told == ["free stroke", "rest stroke", "free stroke"]


def test_one_head_for_two_voices_has_one_digit() -> None:
    """Two voices on one head under one finger get one digit; under two fingers, two."""
    line = line_of(passage("F4/2 r/2", "F4/2 r/2"))
    assert roles(draw(line, width=170))["digit"] == 1
    lower = next(n for e in line.passage.events if e.voice == 2 for n in e.notes)
    other = replace(lower, placement=Placement(string=2, fret=6, finger=4, position=3))
    assert roles(draw(replace(line, passage=with_notes(line.passage, {lower.id: other})), width=170))["digit"] == 2


def test_same_line_same_plate() -> None:
    """Drawing a line twice gives the same plate to the last digit."""
    line = line_of(passage("E4/8 F4/8 G4/4 C3+E3+G3/2", fifths=-2))
    assert draw(line, width=170) == draw(line, width=170)


def test_an_open_string_between_lifts_the_finger_that_would_guide() -> None:
    """A guide stays on its string: where the string sounds open in between, the finger had to leave it."""
    kept = line_of(passage("F4:1.1.1/2 A4:1.5.1/2"))
    lifted = line_of(passage("F4:1.1.1/4 E4:1.0.0/4 A4:1.5.1/2"))
    elsewhere = line_of(passage("F4:1.1.1/4 B3:2.0.0/4 A4:1.5.1/2"))
    assert [roles(draw(line, width=170))["guide"] for line in (kept, lifted, elsewhere)] == [1, 0, 1]
