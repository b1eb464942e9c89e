"""A music21 score without anything known beside it, as an ABC reader hands it over; and cuts of finished passages."""

from __future__ import annotations

import importlib
from fractions import Fraction
from typing import Any

import pytest

from engrave.model import ReadError, Slur
from engrave.reading.cut import cut, mended
from engrave.reading.from_music21 import passage_from_score
from tests.build import passage
from tests.reading.xml import facts, shown

m21: Any = importlib.import_module("music21")


def _part(*bars: str, first: tuple[Any, ...] = ()) -> Any:
    """A part from bars in music21's own tiny notation."""
    part = m21.stream.Part()
    for number, text in enumerate(bars, start=1):
        measure = m21.stream.Measure(number=number)
        for element in first if number == 1 else ():
            measure.append(element)
        for element in m21.converter.parse(f"tinynotation: {text}", makeNotation=False).flatten().notesAndRests:
            measure.append(element)
        part.append(measure)
    return part


def test_a_plain_score_becomes_a_passage() -> None:
    """Metre, key, values and triplets come from the score; bars are numbered as it numbers them."""
    part = _part("e4 f#8 g8", "trip{a8 b8 c'8} d'4", first=(m21.meter.TimeSignature("2/4"), m21.key.Key("e")))
    made = passage_from_score(m21.stream.Score([part]), "x.abc")
    assert shown(made) == "E4/4 F#4/8 G4/8 | A4/8(1:3:2) B4/8(1:3:2) C5/8(1:3:2) D5/4"
    assert facts(made) == ["bar 1: 2/4, key 1 minor"]
    assert made.source == "x.abc"


def test_the_parts_of_a_score_become_voices() -> None:
    """The first part is the upper voice."""
    score = m21.stream.Score([_part("e2 f2"), _part("C1")])
    assert shown(passage_from_score(score, "x")) == "E4/2 F4/2; C3/1"


def test_marks_ties_and_slurs_come_from_the_score() -> None:
    """A digit, an accent, a staccato, a fermata, a tie and a slur."""
    part = _part("e4 f4 g4~ g4")
    notes = list(part.recurse().notes)
    notes[0].articulations = [m21.articulations.Fingering(2), m21.articulations.Accent()]
    notes[1].articulations = [m21.articulations.Staccato()]
    notes[3].expressions = [m21.expressions.Fermata()]
    part.insert(0, m21.spanner.Slur(notes[0], notes[1]))
    made = passage_from_score(part, "x")
    assert shown(made) == "E4:..2/4!accent F4/4!staccato G4~/4 ~G4/4!fermata"
    heads = [note.id for note in made.notes]
    assert made.slurs == (Slur(start=heads[0], stop=heads[1]),)


def test_repeats_endings_and_bar_lines_come_from_the_score() -> None:
    """As music21 keeps them."""
    part = _part("e1", "f1", "g1")
    bars = list(part.getElementsByClass("Measure"))
    bars[0].leftBarline = m21.bar.Repeat(direction="start")
    bars[1].rightBarline = m21.bar.Repeat(direction="end")
    part.insert(0, m21.spanner.RepeatBracket(bars[1], number=1))
    part.insert(0, m21.spanner.RepeatBracket(bars[2], number=2))
    bars[2].rightBarline = m21.bar.Barline("final")
    made = passage_from_score(part, "x")
    said = [(b.repeat_start, b.repeat_end, b.ending, b.barline) for b in made.bars]
    assert said == [(True, 0, "", "single"), (False, 2, "1", "single"), (False, 0, "2", "final")]


def test_a_length_of_two_values_is_tied_together() -> None:
    """Five eighths are a half and an eighth; only the first piece carries the marks."""
    part = m21.stream.Part(
        [m21.stream.Measure([m21.note.Note("E4", quarterLength=2.5), m21.note.Rest(quarterLength=1.5)])]
    )
    part.recurse().notes[0].articulations = [m21.articulations.Accent()]
    assert shown(passage_from_score(part, "x")) == "E4~/2!accent ~E4/8 r/4."


def test_a_quarter_tone_is_told_with_its_bar() -> None:
    """No fret plays it."""
    part = m21.stream.Part([m21.stream.Measure([m21.note.Note("E~4", quarterLength=4)], number=3)])
    with pytest.raises(ReadError) as caught:
        passage_from_score(part, "x")
    assert str(caught.value) == "x, bar 3: E~4 is a quarter tone, which no fret plays"


def test_a_score_without_bars_is_told() -> None:
    """There is nothing to print."""
    with pytest.raises(ReadError, match="x: there is no bar with notes in it"):
        passage_from_score(m21.stream.Score(), "x")


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
    assert mended(whole, whole_start=True) == whole


def test_lengths_of_a_passage_are_exact() -> None:
    """Thirds and fifths of music21 come back as fractions."""
    measure = m21.stream.Measure(number=1)
    for _ in range(3):
        measure.append(m21.note.Note("E4", quarterLength=Fraction(1, 3)))
    for _ in range(5):
        measure.append(m21.note.Note("F4", quarterLength=Fraction(3, 5)))
    made = passage_from_score(m21.stream.Part([measure]), "x")
    assert made.bars[0].length == 4
    assert {event.duration for event in made.events} == {Fraction(1, 3), Fraction(3, 5)}
