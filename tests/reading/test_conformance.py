"""The feature files that music21 carries for its own tests, held against what music21 makes of them.

Sources, both in music21 (PyPI): music21.musicxml.testPrimitive, and the folder lilypondTestSuite, the public test suite
of MusicXML features published with LilyPond. A file of rests alone is refused; of all others each note must sound
where and as long as music21 says, and be tied on where it says so, but for the cases named below.
"""

from __future__ import annotations

import importlib
import warnings
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
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
    ours = Counter(
        (event.bar, event.onset - passage.bars[event.bar].onset, event.duration, note.pitch.midi, note.tied_on)
        for event in passage.events
        if not event.grace
        for note in event.notes
    )
    lower = any("an octave lower than written" in notice.text for notice in passage.notices)
    theirs = [
        Counter({(bar, at, length, midi - 12 * lower, tied): n for (bar, at, length, midi, tied), n in part.items()})
        for part in _parts_of(path)
    ]
    assert (ours in theirs) == (kind not in _DIFFERENT)


def _parts_of(path: Path) -> list[Counter[tuple[int, Fraction, Fraction, int, bool]]]:
    """Every note of each part as music21 reads it."""
    converter: Any = importlib.import_module("music21.converter")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        score = converter.parse(str(path), forceSource=True, storePickle=False)
        score.toSoundingPitch(inPlace=True)
    return [Counter(_struck(part)) for part in score.parts]


def _struck(part: Any) -> Iterator[tuple[int, Fraction, Fraction, int, bool]]:
    for index, measure in enumerate(part.getElementsByClass("Measure")):
        for element in measure.recurse().notes:
            if element.duration.isGrace or {"Harmony", "Unpitched", "PercussionChord"} & set(element.classes):
                continue
            at = Fraction(element.getOffsetInHierarchy(measure)).limit_denominator(5040)
            length = Fraction(element.duration.quarterLength).limit_denominator(5040)
            for note in element.notes if element.isChord else [element]:
                tied = note.tie is not None and note.tie.type in ("start", "continue")
                yield index, at, length, note.pitch.midi, tied
