"""The feature files that music21 carries for its own tests, held against what music21 makes of them.

Sources, both in music21 (PyPI): music21.musicxml.testPrimitive, and the folder lilypondTestSuite, the public test suite
of MusicXML features published with LilyPond. A file of rests alone is refused; of all others each note must sound
where and as long as music21 says, and be tied on where it says so, but for the cases named below.
"""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import pytest

from engrave.model import ReadError
from engrave.reading import read
from tests.reading.reference import lowered, ours, parsed, theirs

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
    first = next(part for part in parsed(_FILES[name].strip(), format="musicxml") if part.recurse().notes)
    heard = theirs(first.getElementsByClass("Measure"))
    if any(_NAMELESS in notice.text for notice in passage.notices):
        heard = lowered(heard)
    assert (ours(passage) == heard) == (name not in _OTHERWISE)


def test_there_are_files_to_hold_against() -> None:
    """The module still carries its files."""
    assert len(_FILES) >= 50


_SUITE = sorted((Path(_PRIMITIVE.__file__).parent / "lilypondTestSuite").glob("*.[xm]*l"))
_NO_PITCH = {
    "02a", "02b", "02c", "41b", "41f", "41g", "41h", "45a", "45c", "45d", "45e", "45f", "46a", "51b", "51c", "51d",
    "52a",
}  # fmt: skip
_QUARTER_TONES = {"01d", "01f"}
_DIFFERENT = {
    "03ab": "longer than a breve: ours is tied together from breves, which sound as long",
    "21f": "a direction between the notes of a chord: one chord for us, as the suite means it; three notes for music21",
    "22b": "notes under slashes that the source hides: we leave them out with a notice, music21 plays them",
    "33i": "ties that never end: ours end with their value, with a notice; music21 keeps the sign",
}
"""files of the suite on which the two readings differ, and why ours is as it is"""


@pytest.mark.parametrize("path", _SUITE, ids=lambda path: path.stem)
def test_a_file_of_the_public_suite_sounds_as_music21_reads_it(path: Path) -> None:
    """Notes, onsets, lengths and ties of the part we read; what no fret plays, or has no pitch, gets one line."""
    kind = path.name.partition("-")[0]
    if kind in _NO_PITCH | _QUARTER_TONES:
        with pytest.raises(ReadError) as caught:
            read(path.read_bytes(), path.name)
        said = "which no fret plays" if kind in _QUARTER_TONES else "there is no note with a pitch in the score"
        assert said in str(caught.value)
        return
    passage = read(path.read_bytes(), path.name)
    lower = any("an octave lower than written" in notice.text for notice in passage.notices)
    parts = [theirs(part.getElementsByClass("Measure"), ties=True) for part in parsed(str(path), storePickle=False)]
    heard = list(map(lowered, parts)) if lower else parts
    assert (ours(passage, ties=True) in heard) == (kind not in _DIFFERENT)
