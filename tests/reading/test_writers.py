"""Files written by libraries that nobody here wrote.

Sources: music21's own exporter; the MusicXML writer `musicxml` (PyPI, 1.6.3), its classes made from the W3C schema.
"""

from __future__ import annotations

import importlib
from fractions import Fraction
from typing import Any

from engrave.reading import read
from tests.reading.xml import facts, shown

m21: Any = importlib.import_module("music21")


def _exported(score: Any) -> bytes:
    exporter: Any = importlib.import_module("music21.musicxml.m21ToXml").GeneralObjectExporter
    return bytes(exporter(score).parse())


def _guitar(*measures: Any) -> Any:
    part = m21.stream.Part([m21.instrument.Guitar()])
    for measure in measures:
        part.append(measure)
    score = m21.stream.Score([part])
    score.metadata = m21.metadata.Metadata(title="Steps", composer="Nobody")
    return score


def _measure(number: int, *elements: Any) -> Any:
    measure = m21.stream.Measure(number=number)
    for element in elements:
        measure.append(element)
    return measure


def test_what_music21_writes_is_read_with_its_marks() -> None:
    """Octave clef, digits, a string, a chord, a tie, a triplet, a slur and an accent."""
    clef, metre, key = m21.clef.Treble8vbClef(), m21.meter.TimeSignature("3/4"), m21.key.Key("G")
    first = m21.note.Note("E4", quarterLength=1)
    first.articulations = [m21.articulations.Fingering(4), m21.articulations.StringIndication(2)]
    second = m21.note.Note("F#4", quarterLength=1)
    second.articulations = [m21.articulations.Accent()]
    tied = m21.note.Note("G4", quarterLength=1)
    tied.tie = m21.tie.Tie("start")
    rest_of_it = m21.note.Note("G4", quarterLength=1)
    rest_of_it.tie = m21.tie.Tie("stop")
    thirds = [m21.note.Note(name, quarterLength=Fraction(1, 3)) for name in ("A4", "B4", "C5")]
    chord = m21.chord.Chord(["G3", "B3", "D4"], quarterLength=1)
    score = _guitar(_measure(1, clef, key, metre, first, second, tied), _measure(2, rest_of_it, *thirds, chord))
    score.parts[0].insert(0, m21.spanner.Slur(thirds[0], thirds[2]))
    passage = read(_exported(score), "steps.musicxml")
    assert shown(passage) == ("E4:2..4/4 F#4/4!accent G4~/4 | ~G4/4 A4/8(1:3:2) B4/8(1:3:2) C5/8(1:3:2) G3+B3+D4/4")
    assert facts(passage) == [
        "bar 1: 3/4, key 1 major",
        "slur n5-n7",
        "title 'Steps'",
        "composer 'Nobody'",
    ]


def test_two_voices_and_a_pickup_of_music21_are_read() -> None:
    """A measure of two Voice streams behind a pickup of one quarter."""
    metre = m21.meter.TimeSignature("2/4")
    upper, lower = m21.stream.Voice(), m21.stream.Voice()
    upper.append([m21.note.Note("E4", quarterLength=1), m21.note.Note("F4", quarterLength=1)])
    lower.append([m21.note.Note("C3", quarterLength=2)])
    both = m21.stream.Measure([upper, lower], number=1)
    pickup = _measure(0, m21.clef.Treble8vbClef(), metre, m21.note.Note("D4", quarterLength=1))
    pickup.padAsAnacrusis()
    score = _guitar(pickup, both)
    passage = read(_exported(score), "steps.musicxml")
    assert shown(passage) == "D4/4 | E4/4 F4/4; C3/2"
    assert (passage.bars[0].label, passage.bars[0].offset) == ("0", Fraction(1))


def test_what_a_schema_made_writer_writes_is_read_with_its_marks() -> None:
    """Fingering, string, fret, the plucking letter, a pull-off and the tuning, from the `musicxml` package."""
    made: Any = importlib.import_module("musicxml.xmlelement.xmlelement")
    score = made.XMLScorePartwise(version="4.0")
    listed = score.add_child(made.XMLPartList()).add_child(made.XMLScorePart(id="P1"))
    listed.add_child(made.XMLPartName("Guitare"))
    measure = score.add_child(made.XMLPart(id="P1")).add_child(made.XMLMeasure(number="1"))
    signs = measure.add_child(made.XMLAttributes())
    signs.add_child(made.XMLDivisions(2))
    time = signs.add_child(made.XMLTime())
    time.add_child(made.XMLBeats("2"))
    time.add_child(made.XMLBeatType("4"))
    clef = signs.add_child(made.XMLClef())
    clef.add_child(made.XMLSign("G"))
    clef.add_child(made.XMLLine(2))
    details = signs.add_child(made.XMLStaffDetails())
    for line, (step, octave) in enumerate((("D", 2), ("A", 2), ("D", 3), ("G", 3), ("B", 3), ("E", 4)), start=1):
        string = details.add_child(made.XMLStaffTuning(line=line))
        string.add_child(made.XMLTuningStep(step))
        string.add_child(made.XMLTuningOctave(octave))
    for step, octave, fret, finger, letter, end in (("G", 5, 3, "4", "i", "start"), ("E", 5, 0, "0", "", "stop")):
        note = measure.add_child(made.XMLNote())
        pitch = note.add_child(made.XMLPitch())
        pitch.add_child(made.XMLStep(step))
        pitch.add_child(made.XMLOctave(octave))
        note.add_child(made.XMLDuration(2))
        note.add_child(made.XMLVoice("1"))
        note.add_child(made.XMLType("quarter"))
        hands = note.add_child(made.XMLNotations()).add_child(made.XMLTechnical())
        hands.add_child(made.XMLFingering(finger))
        hands.add_child(made.XMLString(1))
        hands.add_child(made.XMLFret(fret))
        hands.add_child(made.XMLPullOff("P", type=end))
        if letter:
            hands.add_child(made.XMLPluck(letter))
    passage = read(score.to_string().encode(), "steps.musicxml")
    assert shown(passage) == "G4:1.3.4i/4 E4:1.0.0/4"
    assert facts(passage) == [
        "bar 1: 2/4",
        "pull-off n1-n2",
        "tuning E4 B3 G3 D3 A2 D2",
        "read an octave lower than written, as its strings and frets say",
    ]
