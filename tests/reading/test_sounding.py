"""Transposition held against music21's intervals."""

from __future__ import annotations

import importlib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engrave.model import Pitch
from engrave.reading.musicxml.transposition import Transposition, spelled

_m21: Any = importlib.import_module("music21")
_MOVES = {
    "P1": (0, 0), "M-2": (-1, -2), "m-3": (-2, -3), "M-6": (-5, -9), "P-5": (-4, -7), "m3": (2, 3), "M2": (1, 2),
    "P-8": (-7, -12), "M-9": (-8, -14), "P-4": (-3, -5), "P8": (7, 12),
}  # fmt: skip


@pytest.mark.parametrize("name", _MOVES)
def test_pitches_and_keys_move_as_music21_moves_them(name: str) -> None:
    """Every step with no, one or two signs, and every key, by the intervals transposing instruments use."""
    move = Transposition(diatonic=_MOVES[name][0], chromatic=_MOVES[name][1])
    interval = _m21.interval.Interval(name)
    for step in "CDEFGAB":
        for alter, sign in ((-1, "-"), (0, ""), (1, "#")):
            theirs = _m21.pitch.Pitch(f"{step}{sign}4").transpose(interval)
            ours = move.pitch(step, alter, 4)
            assert ours.midi == theirs.midi
            if abs(theirs.alter) <= 2:
                assert (ours.step, ours.alter, ours.octave) == (theirs.step, theirs.alter, theirs.octave)
    for fifths in range(-3, 4):
        theirs = _m21.key.KeySignature(fifths).transpose(interval)
        if abs(theirs.sharps) <= 7:
            assert move.key(fifths) == (theirs.sharps, 0)


def test_a_key_beyond_seven_signs_is_respelled_with_its_notes() -> None:
    """Written in E for an instrument a semitone up: F with one flat, not E sharp with eleven sharps."""
    move = Transposition(diatonic=0, chromatic=1)
    assert move.key(4) == (-1, 1)
    assert str(move.pitch("E", 0, 4, respell=1)) == "F4"


@given(st.integers(0, 127))
def test_a_number_is_spelled_as_a_pitch_that_sounds_it(midi: int) -> None:
    """Naturals and sharps only."""
    pitch = spelled(midi)
    assert isinstance(pitch, Pitch)
    assert pitch.midi == midi
    assert pitch.alter in (0, 1)


@given(st.sampled_from("CDEFGAB"), st.integers(-3, 3), st.integers(0, 8), st.integers(-15, 15), st.integers(-26, 26))
def test_any_transposition_sounds_what_it_says(
    step: str, alter: int, octave: int, diatonic: int, chromatic: int
) -> None:
    """However oddly steps and semitones go together, the semitones are kept."""
    natural = Pitch(step=step, octave=octave).midi
    moved = Transposition(diatonic=diatonic, chromatic=chromatic).pitch(step, alter, octave)
    assert moved.midi == natural + alter + chromatic
