"""What happens to each one-feature file of features.py, and that it could not have been otherwise."""

from __future__ import annotations

import pytest

from engrave.reading import read
from tests.reading.features import FEATURES
from tests.reading.xml import facts, shown

EXPECTED: dict[str, tuple[str, ...]] = {
    "a natural scale": ("C4/4 D4/4 E4/4 F4/4",),
    "sharps, flats and double signs": ("F#4/4 Bb3/4 F##4/4 Bbb3/4",),
    "a sign without alter": (
        "F#4/2 G4/2",
        "a sign that the source does not count into its pitch is taken at its word (bar 1)",
    ),
    "a guitar on a plain clef": (
        "E3/2 E4/2",
        "read an octave lower than written, as guitar music on a plain treble clef sounds",
    ),
    "a guitar on a plain clef at sounding pitch": (
        "E2/2 E4/2",
        "read at its written pitch: an octave lower it would lead below the lowest string",
    ),
    "a violin on a plain clef": (
        "E4/2 E5/2",
        "read as written; guitar music on a plain treble clef would sound an octave lower: --octave -1",
    ),
    "plucking letters without a name": (
        "E3p/2 E4/2",
        "read an octave lower than written, as guitar music on a plain treble clef sounds",
    ),
    "open-string digits without a name": (
        "E4:..0/2 C4/2",
        "read an octave lower than written, as guitar music on a plain treble clef sounds",
    ),
    "transposed by an octave": ("E3/2 E4/2",),
    "a clarinet in B flat": ("Bb4/2 E5/2", "a transposing part: read as it sounds, 2 semitones lower than written"),
    "a transposition that changes": (
        "Bb4/1 | Eb4/1",
        "bar 1: key -2",
        "bar 2: key -3",
        "a part that changes its transposition: read as it sounds",
    ),
    "octave lines": ("E5/2 E4/2", "octave lines are not printed; the notes stand at their true pitch (2 times, bar 1)"),
    "a bass clef": ("E2/2 B2/2", "written on a bass clef; printed on the guitar's treble clef"),
    "values and dots": ("E4/2. E4/8. E4/16 | E4/4.. E4/16 E4/2",),
    "three dots": ("E4/2... F4/16",),
    "a breve": ("E4/0", "bar 1: 8/4"),
    "durations without types": ("E4~/2 ~E4/8 F4/4.",),
    "types without durations": ("E4/2 E4/2",),
    "divisions that change": ("E4/2 F4/2",),
    "fractions of a division": ("E4/8 E4/8 E4/8 E4/8 E4/8 E4/8 E4/8 E4/8",),
    "a triplet": ("E4/8(1:3:2) F4/8(1:3:2) G4/8(1:3:2) A4/2.",),
    "triplets without brackets": ("E4/8(1:3:2) E4/8(1:3:2) E4/8(1:3:2) E4/8(2:3:2) E4/8(2:3:2) E4/8(2:3:2) A4/2",),
    "a triplet rounded by its divisions": ("E4/8(1:3:2) E4/8(1:3:2) E4/8(1:3:2) A4/2.",),
    "a quintuplet": ("E4/16(1:5:4) E4/16(1:5:4) E4/16(1:5:4) E4/16(1:5:4) E4/16(1:5:4) A4/2.",),
    "a sextuplet": ("E4/16(1:6:4) E4/16(1:6:4) E4/16(1:6:4) E4/16(1:6:4) E4/16(1:6:4) E4/16(1:6:4) A4/2.",),
    "a triplet in a triplet": (
        "E4/8(1:3:2) F4/16(1:3:2)(2:3:2) G4/16(1:3:2)(2:3:2) A4/16(1:3:2)(2:3:2) B4/8(1:3:2) A4/2.",
    ),
    "rests": ("r/4 E4/4 r/8 E4/8 r/4",),
    "a rest for the whole bar": ("r/bar | E4/2.", "bar 1: 3/4"),
    "a whole rest in three-four": ("r/bar | E4/2.", "bar 1: 3/4"),
    "a hidden rest": ("E4/2 s/2",),
    "a bar without notes": ("r/bar | E4/1",),
    "two voices": ("E4/2 F4/2; E2/1",),
    "two voices without numbers": ("E4/1; E2/1", "notes that overlap in voice 1 are parted into two voices (bar 1)"),
    "a second voice that comes in late": ("E4/1; s/2 E2/2",),
    "a second voice that stops early": (
        "E4/1; E2/4 s/2.",
        "a voice stops before its bar ends; filled up with a rest that is not printed (bar 1)",
    ),
    "a voice in one bar only": ("E4/1 | F4/1; F2/2 A2/2",),
    "a chord": ("E2+B3+G4/2 A2+E4/2",),
    "a chord from the top down": ("E2+B3+G4/1",),
    "a tie": ("E4~/2 ~E4/2",),
    "a tie that is only drawn": ("E4~/2 ~E4/2",),
    "ties of one head of a chord": ("E4~+G4/2 ~E4+A4/2",),
    "a let-ring tie": ("E4/2 F4/2", "left out: let-ring ties (bar 1)"),
    "a tie that leads nowhere": ("E4/2 F4/2", "a note is tied to what does not follow; it ends with its value (bar 1)"),
    "a grace note": ("</F4/8 E4/1",),
    "two graces and a chord": ("<F4/16 <G4+B4/16 E4/1",),
    "a grace behind the last note": ("E4/1 <F4/16",),
    "a pickup": ("E4/4 | F4/1 | G4/2.", "bar 0: 1 quarters, from 3", "bar 2: 3 quarters"),
    "a pickup that is counted": ("E4/4 | F4/1", "bar 1: 1 quarters, from 3"),
    "an incomplete last bar": ("E4/1 | F4/2.", "bar 2: 3 quarters"),
    "a bar cut by a repeat": (
        "E4/1 | F4/2. | G4/4 | A4/1",
        "bar 2: 3 quarters, :| 2",
        "bar 3: 1 quarters, from 3",
        "repeats are kept as printed, not played out",
    ),
    "a bar in two halves": ("E4/1 | E4/2 | F4/2 | G4/1", "bar 2: 2 quarters", "bar X1: 2 quarters, from 2"),
    "a bar too short": (
        "E4/1 | F4/2. | G4/1 | E4/1",
        "bar 2: 3 quarters",
        "too little in a bar: 3 quarters where 4/4 has 4; read as it stands (bar 2)",
    ),
    "a bar too long": (
        "E4/1 | F4/1 G4/4 | E4/1",
        "bar 2: 5 quarters",
        "too much in a bar: 5 quarters where 4/4 has 4; read as it stands (bar 2)",
    ),
    "a change of metre": ("E4/1 | F4/2.", "bar 2: 6/8"),
    "an added metre": ("E4/4. F4/4", "bar 1: 3+2/8"),
    "two metres added": ("E4/4. F4/4", "bar 1: 3+2/8"),
    "common time": ("E4/1", "bar 1: 4/4common"),
    "cut time": ("E4/1", "bar 1: 2/2cut"),
    "no metre": (
        "E4/4 F4/4 G4/4 | E4/2.",
        "bar 1: 3/4",
        "the source gives no metre; 3/4 is taken from the length of the bars (2 times, bars 1-2)",
    ),
    "senza misura": (
        "E4/4 F4/4 G4/4 A4/4 B4/4",
        "bar 1: 5/4",
        "the source gives no metre; 5/4 is taken from the length of the bars (bar 1)",
    ),
    "a metre inside a bar": (
        "E4/2 F4/2 | G4/2",
        "bar 2: 2/4",
        "a metre that changes inside a bar is printed from the next bar on (bar 1)",
    ),
    "a change of key": ("E4/1 | F#4/1", "bar 2: key 3 minor"),
    "a key of single signs": ("E4/1", "a key signature that is not a plain one is printed as no signs (bar 1)"),
    "repeats and endings": (
        "E4/1 | F4/1 | G4/1",
        "bar 1: |:",
        "bar 2: :| 2, ending 1",
        "bar 3: ending 2",
        "repeats are kept as printed, not played out",
    ),
    "bar lines": (
        "E4/1 | E4/1 | E4/1 | E4/1 | E4/1",
        "bar 1: double",
        "bar 2: dashed",
        "bar 3: dotted",
        "bar 4: invisible",
        "bar 5: final",
    ),
    "segno and coda": (
        "E4/1 | F4/1",
        "left out: jumps (segno, coda); the bars are printed in order (2 times, bars 1-2)",
    ),
    "numbers that are not numbers": ("E4/1 | F4/1 | G4/1",),
    "fretting digits": ("E4:..0/4 F4:..1/4 G4:..3/2",),
    "digits of a chord on its first head": ("E3:..2+B3:..0+G4:..3/1",),
    "a change of finger": ("G4:..3/1", "left out: the second digit on a note (a change of finger) (bar 1)"),
    "an alternative fingering": ("G4:..3/1", "left out: alternative fingerings (bar 1)"),
    "a fingering that is none": ("G4/1", "left out: a fingering that is not a digit 0 to 4: 'T' (bar 1)"),
    "plucking letters": ("E4p/4 E4i/4 E4m/4 E4c/4",),
    "letters in place of digits": ("E4a/2 F4/2",),
    "letters as lyrics": (
        "E4p/4 E4i/4 E4m/4 E4a/4",
        "letters typed as lyrics are read as plucking letters (4 times, bar 1)",
    ),
    "letters as words": (
        "E4i/4 E4m/4 E4a/4 E4m/4",
        "letters typed as words are read as plucking letters (4 times, bar 1)",
    ),
    "strings and frets": ("E4:2.5./2 E4:1.0./2",),
    "a circled string as words": ("E4:2../1",),
    "an open string": ("E4:..0/1",),
    "a crossed head": ("D3x:4../2 G4/2", "cross heads without a string are printed as ordinary heads (bar 1)"),
    "a diamond head": ("G4/1", "heads of another shape are printed as ordinary heads (bar 1)"),
    "a slur": ("E4/4 F4/4 G4/2", "slur n1-n3"),
    "a hammer-on": ("E4/4 G4/4 A4/2", "hammer-on n1-n2"),
    "a pull-off": ("E4/4 G4/4 A4/2", "pull-off n1-n2"),
    "a pull-off under a slur": ("G4/4 E4/4 A4/2", "pull-off n1-n2"),
    "a slide": ("E4/4 G4/4 A4/2", "slide n1-n2"),
    "a glissando": ("E4/4 G4/4 A4/2", "slide n1-n2"),
    "a slur with one end": ("E4/2 F4/2", "left out: slurs of which only one end is there (bar 1)"),
    "marks": ("E4/4!accent E4/4!staccato!tenuto E4/4!marcato!fermata E4/4!staccato!tenuto",),
    "a rolled chord": ("E3+B3+G4/1!arpeggio",),
    "a fermata on a rest": ("E4/2 r/2!fermata",),
    "stroke words": ("E4/2 E4/2", "stroke 'rest' at 0", "stroke 'free' at 2"),
    "stroke of one note": ("E4rest/1",),
    "barres": (
        "E4/4 F4/4 G4/4 A4/4",
        "barre 'C5' at 0, fret 5",
        "barre '½ CVII' at 1, fret 7",
        "barre 'BIII 4/6' at 2, fret 3",
        "barre 'cejilla II' at 3, fret 2",
    ),
    "chord names as words": ("E4/2 F4/2", "words 'C7' at 0", "words 'Am' at 2"),
    "a barre with a line": ("E4/2 F4/2", "barre 'CV' at 0 to 2, fret 5"),
    "positions": (
        "E4/4 F4/4 G4/4 A4/4",
        "position 'V' at 0, fret 5",
        "position 'pos. VII' at 1, fret 7",
        "position 'IX Lage' at 2, fret 9",
        "position '5th position' at 3, fret 5",
    ),
    "other words": ("E4/1", "words 'dolce' at 0"),
    "a metronome mark": ("E4/1", "tempo '♩. = 60' at 0", "tempo 90"),
    "a sounding tempo": ("E4/1", "tempo 'Andante' at 0", "tempo 72"),
    "a tuning": ("D2/1", "tuning E4 B3 G3 D3 A2 D2"),
    "a lute tuning": ("F#3:3.0./1", "tuning E4 B3 F♯3 D3 A2 D2"),
    "a capo, sounding": ("G4:1.0./1", "capo 3"),
    "a capo, as fingered": ("E4/1", "the capo at fret 3 is left out: the notes are read as fingered from it"),
    "a tablature staff beside": ("E4:2.5./4 F4:1.1./4 G4:2.8./2",),
    "a tablature staff an octave off": ("E4:2.5./4 F4:1.1./4 G4:2.8./2",),
    "a tablature staff alone": (
        "E4:2.5./2 F4:1.1./2",
        "read an octave lower than written, as its strings and frets say",
    ),
    "a tablature part beside": ("E4:2.5./4 F4:1.1./4 G4:2.8./2", "part 'Guitar'"),
    "a tablature part that is other music": ("E4/4 F4/4 G4/2", "part 'Guitar'", "part read: Guitar; left out: Bass"),
    "two plain staves": ("E4/1", "part 'Piano/1'", "staff read: Piano/1; left out: Piano/2"),
    "lyrics": ("E4/1", "left out: lyrics (bar 1)"),
    "dynamics and hairpins": ("E4/2 F4/2", "left out: dynamics (bar 1)", "left out: hairpins (bar 1)"),
    "a repeated bar": ("E4/1 | r/bar", "left out: signs that stand for a repeated bar or beat (bar 2)"),
    "chord symbols": ("E4/1", "left out: chord symbols (bar 1)"),
    "pedal and rehearsal marks": ("E4/1", "left out: pedal marks (bar 1)", "left out: rehearsal marks (bar 1)"),
    "ornaments": ("E4/2 F4/2", "left out: trills (bar 1)", "left out: tremolo strokes (bar 1)"),
    "a harmonic": ("E4/1", "left out: harmonics (the note is printed as an ordinary one) (bar 1)"),
    "a cue note": ("E4/2 s/2", "left out: cue notes (bar 1)"),
    "a hidden note": ("E4/2 s/2", "left out: notes the source hides (bar 1)"),
    "percussion among the notes": ("E4/2 s/2", "left out: percussion notes without a pitch (bar 1)"),
    "titles": ("E4/1", "title 'Suite: Prelude'", "composer 'A. Nother'", "rights 'None reserved'"),
    "a title on the page": ("E4/1", "title 'Walk'"),
    "an arranger": ("E4/1", "composer 'arr. B. Other'"),
    "bars before parts": ("E4/1 | F4/1",),
    "UTF-16": ("E4/1",),
    "Latin-1": ("E4/1", "title 'Niña'"),
    "a name space": ("E4/1",),
    "a clef in the middle": ("E4/1 | F4/1",),
}


@pytest.mark.parametrize("name", FEATURES)
def test_a_feature_is_read_as_the_standard_says(name: str) -> None:
    """Each file becomes the music, the marks and the notices that MusicXML 4.0 and common practice ask for."""
    passage = read(FEATURES[name], "feature.xml")
    assert (shown(passage), *facts(passage)) == EXPECTED[name]


def test_every_feature_is_asserted() -> None:
    """There are at least sixty files, and none without an expectation."""
    assert list(FEATURES) == list(EXPECTED)
    assert len(FEATURES) >= 60
