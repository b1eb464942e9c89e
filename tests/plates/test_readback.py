"""What is printed is what was meant, read from the ink alone."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.model import Passage, Variation
from engrave.plates import draw
from tests.build import passage
from tests.plates.hands import line_of
from tests.plates.readback import read_back
from tests.plates.textures import TEXTURES, repeated


def struck_again(music: Passage) -> set[str]:
    """Notes alone that follow their like within a beat, with nothing struck between: their digits stand already."""
    found: set[str] = set()
    onsets = sorted({event.onset for event in music.events if event.notes})
    rows = [[(e, n) for e in music.events for n in e.notes if e.onset == onset] for onset in onsets]
    for before, here in pairwise(rows):
        if len(before) == len(here) == 1 and not before[0][0].grace and not here[0][0].grace:
            (one, a), (other, b) = before[0], here[0]
            beats = [(e.onset - music.bars[e.bar].onset) // music.bars[e.bar].metre.beat for e in (one, other)]
            lie = [(n.placement.string, n.placement.fret, n.placement.finger) for n in (a, b) if n.placement]
            if lie[0] == lie[-1] and one.bar == other.bar and beats[0] == beats[1]:
                found.add(b.id)
    return found


def held_against(line: Variation, *, width: float = 180, tab: bool = False) -> None:
    """Every note of the line is printed with its own pitch, bar, digit, letter and fret."""
    said = read_back(draw(line, width=width, tab=tab))
    notes = list(line.passage.notes)
    again = struck_again(line.passage)
    assert list(said) == list(dict.fromkeys(said))
    assert set(said) == {note.id for note in notes}
    for event in line.passage.events:
        for note in event.notes:
            printed = said[note.id]
            assert printed.pitch == note.pitch, note.id
            assert printed.bar == event.bar, note.id
            assert note.placement is not None
            told = "" if note.tied_back or note.id in again else str(note.placement.finger)
            assert printed.digit == told, note.id
            assert printed.letter == (note.stroke.finger if note.stroke else ""), note.id
            if printed.string:
                assert printed.string == str(note.placement.string)
            if tab and not note.tied_back:
                assert (printed.tab, printed.line) == (str(note.placement.fret), note.placement.string), note.id


@pytest.mark.parametrize("music", TEXTURES.values(), ids=TEXTURES)
@pytest.mark.parametrize("tab", [False, True], ids=["staff", "tablature"])
def test_every_texture_prints_what_was_meant(music: Passage, tab: bool) -> None:
    """Pitch, bar, digit, letter and fret of each note can be read back from the marks of each texture."""
    held_against(line_of(music), tab=tab)


def test_repeats_and_endings_change_no_note() -> None:
    """Repeat signs and endings leave pitches and bars as they are."""
    held_against(line_of(repeated(TEXTURES["Two voices"])))


STEPS = st.sampled_from(["C", "C#", "Db", "D", "D#", "Eb", "E", "F", "F#", "Gb", "G", "G#", "Ab", "A", "A#", "Bb", "B"])
PITCHES = st.builds(lambda step, octave: f"{step}{octave}", STEPS, st.sampled_from([3, 4]))


@settings(max_examples=12, deadline=None)
@given(
    bars=st.lists(st.lists(PITCHES, min_size=8, max_size=8), min_size=1, max_size=5),
    fifths=st.integers(min_value=-7, max_value=7),
    width=st.sampled_from([90.0, 180.0]),
)
def test_any_line_prints_its_pitches(bars: list[list[str]], fifths: int, width: float) -> None:
    """Signs, key and staff places give the sounding pitch of every note, in any key and with any line breaks."""
    text = " | ".join(" ".join(f"{pitch}/8" for pitch in bar) for bar in bars)
    held_against(line_of(passage(text, fifths=fifths)), width=width)


def test_ties_carry_their_sign_over_bar_and_line() -> None:
    """A note tied over a bar line, and over the end of a line, needs no new sign; the next one struck does."""
    text = "F#4/2 F#4~/2 | F#4/2 F4/2 | G#4/1~ | G#4/2 G#4/2".replace("G#4/1~", "G#4~/1")
    line = line_of(passage(text))
    for width in (60.0, 90.0, 180.0):
        held_against(line, width=width)
