"""Names of pitches in their key."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engrave.model import Key, Pitch
from engrave.model.spelling import likely_key, spell


@given(midi=st.integers(0, 127), fifths=st.integers(-7, 7), onward=st.none() | st.integers(0, 127))
def test_a_name_sounds_its_pitch(midi: int, fifths: int, onward: int | None) -> None:
    """Law: whatever the key and the note that follows, the name sounds the pitch."""
    assert spell(midi, Key(fifths=fifths), onward).midi == midi


@given(fifths=st.integers(-7, 7), step=st.sampled_from("CDEFGAB"), octave=st.integers(1, 7))
def test_notes_of_the_key_need_no_accidental(fifths: int, step: str, octave: int) -> None:
    """Law: a pitch of the key is named with the signature's own alteration."""
    key = Key(fifths=fifths)
    pitch = Pitch(step=step, alter=key.alter(step), octave=octave)
    assert spell(pitch.midi, key) == pitch


# Common practice: leading notes are raised steps, notes that sink to the key are lowered ones.
@pytest.mark.parametrize(
    ("midi", "fifths", "mode", "onward", "name"),
    [
        (68, 0, "minor", 69, "G♯4"),
        (68, 0, "minor", 67, "G♯4"),
        (66, 0, "minor", 68, "F♯4"),
        (68, 0, "major", 67, "A♭4"),
        (66, 0, "major", 65, "F♯4"),
        (63, 0, "major", None, "E♭4"),
        (63, 0, "major", 64, "D♯4"),
        (70, 1, "", 71, "A♯4"),
        (61, -1, "minor", 62, "C♯4"),
        (66, 4, "major", 68, "F♯4"),
        (67, 4, "major", 68, "F♯♯4"),
        (65, 4, "major", 64, "F4"),
    ],
)
def test_notes_outside_the_key(midi: int, fifths: int, mode: str, onward: int | None, name: str) -> None:
    """A note outside the key is named by where it goes."""
    assert str(spell(midi, Key(fifths=fifths, mode=mode), onward)) == name


@pytest.mark.parametrize(
    ("midis", "fifths", "mode"),
    [
        ([69, 71, 72, 74, 76, 77, 80, 81], 0, "minor"),
        ([64, 66, 67, 69, 71, 72, 75, 76], 1, "minor"),
        ([62, 64, 66, 67, 69, 71, 73, 74], 2, "major"),
        ([60, 62, 64, 65], 0, ""),
        ([], 0, ""),
    ],
)
def test_likely_key(midis: list[int], fifths: int, mode: str) -> None:
    """Scales are given the signature they are written in, the plainest where several would do."""
    assert likely_key(midis) == Key(fifths=fifths, mode=mode)


@pytest.mark.parametrize("fifths", range(-7, 8))
def test_scales_are_spelled_as_another_library_spells_them(fifths: int) -> None:
    """The major scale and the rising melodic minor scale of each signature have music21's names, step by step."""
    from music21 import key as other  # noqa: PLC0415 - the reference
    from music21 import scale  # noqa: PLC0415 - the reference

    for mode, kind in (("major", scale.MajorScale), ("minor", scale.MelodicMinorScale)):
        tonic = other.KeySignature(fifths).asKey(mode).tonic
        theirs = kind(tonic).getPitches(f"{tonic.name}4", f"{tonic.name}5")
        midis = [found.midi for found in theirs]
        ours = [
            spell(midi, Key(fifths=fifths, mode=mode), onward)
            for midi, onward in zip(midis, [*midis[1:], None], strict=True)
        ]
        assert [(p.step, p.alter) for p in ours] == [(p.step, int(p.alter)) for p in theirs], (fifths, mode)


@pytest.mark.parametrize("number", ["66.6", "102.7", "104.6", "108.6", "110.7"])
def test_chorales_are_spelled_as_they_are_written(number: str) -> None:
    """From numbers and music21's analysis of the key alone, Bach's names and interval names come out, part by part."""
    from music21 import corpus, interval, pitch  # noqa: PLC0415 - the reference

    score = corpus.parse(f"bach/bwv{number}")
    analysed = score.analyze("key")
    key = Key(fifths=analysed.sharps, mode=analysed.mode)
    assert likely_key(p.midi for p in score.pitches).fifths == analysed.sharps
    right = heard = 0
    for part in score.parts:
        written = [note.pitch for note in part.flatten().notes]
        onward = [p.midi for p in written[1:]]
        ours = [spell(p.midi, key, next_) for p, next_ in zip(written, [*onward, None], strict=True)]
        named: list[Any] = [pitch.Pitch(str(p).replace("♯", "#").replace("♭", "-")) for p in ours]
        for one, other in zip(pairwise(named), pairwise(written), strict=True):
            right += interval.Interval(*one).name == interval.Interval(*other).name
            heard += 1
    assert right / heard >= 0.97
