"""The feature files that music21 carries for its own tests, held against what music21 makes of them.

Source: music21.musicxml.testPrimitive (PyPI), which holds part of the public test suite of MusicXML features. A file of
rests alone is refused; of all others each note must sound where and as long as music21 says, but for the cases named
below.
"""

from __future__ import annotations

import importlib
import warnings
from collections import Counter
from fractions import Fraction
from typing import Any

import pytest

from engrave.model import ReadError
from engrave.reading import read

_PRIMITIVE: Any = importlib.import_module("music21.musicxml.testPrimitive")
_FILES: dict[str, str] = {
    name: text for name, text in vars(_PRIMITIVE).items() if isinstance(text, str) and "<score-partwise" in text
}
_RESTS = {
    "restsDurations02a", "barlines46a", "simpleRepeat45a", "repeatMultipleTimes45c", "systemLayoutTwoPart",
    "repeatExpressionsA", "repeatExpressionsB", "textBoxes01", "multiDigitEnding",
}  # fmt: skip
"""files without a single pitch"""
_OTHERWISE = {
    "notations32a": "the part is named Guitar, on a plain treble clef: read an octave lower",
    "rhythmDurations03a": "a value longer than a breve is tied together from breves",
}
"""files on which the two readings differ, and why"""
_NAMELESS = "if it is meant as written"
"""told of a part that names no instrument, on a plain treble clef: ours is an octave lower, as guitar music sounds"""


def _theirs(text: str) -> Counter[tuple[int, Fraction, Fraction, int]]:
    parsed: Any = importlib.import_module("music21.converter")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        score = parsed.parse(text.strip(), format="musicxml", forceSource=True)
        score.toSoundingPitch(inPlace=True)
    found: Counter[tuple[int, Fraction, Fraction, int]] = Counter()
    first = next(part for part in score.parts if part.recurse().notes)
    for index, measure in enumerate(first.getElementsByClass("Measure")):
        for element in measure.recurse().notes:
            if element.duration.isGrace or "Harmony" in element.classes:
                continue
            onset = Fraction(element.getOffsetInHierarchy(measure)).limit_denominator(5040)
            length = Fraction(element.duration.quarterLength).limit_denominator(5040)
            for pitch in element.pitches:
                found[index, onset, length, pitch.midi] += 1
    return found


@pytest.mark.parametrize("name", sorted(_FILES))
def test_a_feature_file_of_music21_sounds_as_music21_reads_it(name: str) -> None:
    """Notes, onsets, lengths; a file without a pitch gets one line."""
    data = _FILES[name].encode()
    if name in _RESTS:
        with pytest.raises(ReadError) as caught:
            read(data, "feature.xml")
        assert str(caught.value) == "feature.xml: there is no note with a pitch in the score"
        return
    passage = read(data, "feature.xml")
    ours = Counter(
        (event.bar, event.onset - passage.bars[event.bar].onset, event.duration, note.pitch.midi)
        for event in passage.events
        if not event.grace
        for note in event.notes
    )
    theirs = _theirs(_FILES[name])
    if any(_NAMELESS in notice.text for notice in passage.notices):
        theirs = Counter({(bar, at, length, midi - 12): n for (bar, at, length, midi), n in theirs.items()})
    if name in _OTHERWISE:
        assert ours != theirs
    else:
        assert ours == theirs


def test_there_are_files_to_hold_against() -> None:
    """The module still carries its files."""
    assert len(_FILES) >= 50
