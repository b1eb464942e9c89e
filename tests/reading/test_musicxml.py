"""Choosing part, staff, voice and bars of a MusicXML file, and the file's own words for them."""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pytest

from engrave.model import Passage, Pitch, ReadError
from engrave.reading import read
from tests.reading.features import FEATURES, words
from tests.reading.xml import CLEF_G, attributes, bar, facts, note, notes, pitch, score, shown, technical

_EXAMPLES = Path(__file__).parents[2] / "examples"
_BACK = "<backup><duration>96</duration></backup>"
_DUO = score(
    notes("E4/1"),
    notes("F4/1"),
    name="Flute",
    first=attributes(clef=CLEF_G),
    listed='<score-part id="P2"><part-name>Guitar</part-name><part-abbreviation>Gtr.</part-abbreviation></score-part>'
    '<score-part id="P3"><part-name>Bell</part-name></score-part>',
    others='<part id="P2">'
    + bar(attributes() + notes("G3/1"))
    + bar(notes("A3/1"), "2")
    + '</part><part id="P3">'
    + bar(attributes() + notes("r/1"))
    + bar(notes("r/1"), "2")
    + "</part>",
)
_VOICES = score(notes("E4/1") + _BACK + notes("E2/1", voice="2") + _BACK + notes("B3/1", voice="3"))
_LONG = score(
    bar(notes("E4/4"), "0", ' implicit="yes"'),
    *(bar(notes(f"{step}4/1"), str(number)) for number, step in enumerate("CDEFGABC", start=1)),
)

_OTHER = "read as written; guitar music on a plain treble clef would sound an octave lower: --octave -1"


def refused(data: bytes, name: str = "x.xml", *, part: str = "", voice: str = "", bars: str = "") -> str:
    """What is said of a file that cannot be read."""
    with pytest.raises(ReadError) as caught:
        read(data, name, part=part, voice=voice, bars=bars)
    return str(caught.value)


def example(name: str) -> Passage:
    """A passage of examples/."""
    return read((_EXAMPLES / name).read_bytes(), name)


def test_the_single_line_of_the_examples_is_read_whole() -> None:
    """Pickup, digits, strings, letters, pull-offs, barre and position words all arrive."""
    passage = example("harbour-steps.musicxml")
    assert shown(passage).split(" | ")[:2] == [
        "E3:4.2.2p/8 G#3:3.1.1i/8",
        "A3:..2m/8 C4:..1i/8 E4:..0m/8 C4:..1i/8 B3:..0m/8 A3:..2i/8",
    ]
    assert shown(passage).split(" | ")[5].startswith("D4:3.7.3/8!accent F4:2.6.2/8 A4:1.5.1/8")
    assert facts(passage) == [
        "bar 0: 3/4, key 0 minor, 1 quarters, from 2",
        "bar 8: final",
        "pull-off n21-n22",
        "pull-off n23-n24",
        "pull-off n37-n38",
        "tempo 'Andante ♩ = 80' at 0",
        "position 'V' at 13, fret 5",
        "barre '½CV' at 16, fret 5",
        "position 'I' at 19, fret 1",
        "tempo 80",
        "title 'Harbour Steps'",
        "composer 'Passage studies'",
    ]


def test_the_two_voices_of_the_examples_are_read_whole() -> None:
    """Two voices, triplets, a chord with a fermata, nothing left out."""
    passage = example("two-lanterns.musicxml")
    assert shown(passage).split(" | ")[0] == "D4:..3/4 G4:..4/4 F#4:..2/8 E4:..0/8 D4:..4/4; G2:..2p/2 D3:..0p/2"
    assert shown(passage).split(" | ")[6].startswith("A3:..2/8(1:3:2) C4:..1/8(1:3:2) E4:..0/8(1:3:2) D4:..4/8(2:3:2)")
    assert shown(passage).split(" | ")[7] == "G3:..0+B3:..0+G4:..4/2!fermata r/2; G2:..3/2 r/2"
    assert facts(passage) == [
        "bar 1: key 1 major",
        "bar 8: final",
        "slur n9-n10",
        "tempo 'Slowly ♩ = 66' at 0",
        "tempo 66",
        "title 'Two Lanterns'",
        "composer 'Passage studies'",
    ]


@pytest.mark.parametrize("asked", ["P2", "guitar", "GTR.", "2", " Guitar "])
def test_a_part_is_known_by_id_name_abbreviation_and_number(asked: str) -> None:
    """Each of its names finds the part; what is passed over is told."""
    passage = read(_DUO, "duo.xml", part=asked)
    assert (shown(passage), passage.part) == ("G3/1 | A3/1", "Guitar")
    assert facts(passage)[-1] == "part read: Guitar; left out: Flute"


def test_with_no_part_asked_the_guitar_comes_first() -> None:
    """A guitarist who opens a duo means the guitar."""
    assert read(_DUO, "duo.xml") == read(_DUO, "duo.xml", part="Guitar")
    assert shown(read(_DUO, "duo.xml", part="1")) == "E4/1 | F4/1"


def test_an_unknown_part_is_told_with_those_there_are() -> None:
    """One line names the part and the parts of the score."""
    said = "duo.xml: part 'Oboe' is not in the score (parts: 1 Flute; 2 Guitar; 3 Bell)"
    assert refused(_DUO, "duo.xml", part="Oboe") == said


def test_a_part_without_notes_is_told_with_those_that_have_some() -> None:
    """A part of rests makes no passage."""
    said = "duo.xml: there is no note in part 'Bell' (parts with notes: 1 Flute; 2 Guitar)"
    assert refused(_DUO, "duo.xml", part="Bell") == said


def test_a_staff_is_chosen_behind_a_stroke() -> None:
    """NAME/2 takes the second staff of a part."""
    passage = read(FEATURES["two plain staves"], "x.xml", part="Piano/2")
    assert (shown(passage), passage.part) == ("E3/1", "Piano/2")
    said = "x.xml: staff 3 has no notes here (staves with notes here: 1, 2)"
    assert refused(FEATURES["two plain staves"], part="Piano/3") == said


def test_a_part_whose_name_has_a_stroke_is_found() -> None:
    """A name such as Guitar/2 is a name before it is a staff."""
    assert shown(read(score(notes("E4/1"), name="Guitar/2"), "x.xml", part="guitar/2")) == "E4/1"


@pytest.mark.parametrize(
    ("asked", "music"),
    [("", "E4/1; E2/1; B3/1"), ("2", "E2/1"), ("3", "B3/1"), ("3, 1", "E4/1; B3/1")],
)
def test_voices_are_chosen_by_the_numbers_of_the_file(asked: str, music: str) -> None:
    """Chosen voices are numbered anew from the top."""
    passage = read(_VOICES, "x.xml", voice=asked)
    assert shown(passage) == music
    assert passage.voices == tuple(range(1, music.count(";") + 2))


def test_what_voices_are_left_out_is_told() -> None:
    """A notice names them."""
    assert facts(read(_VOICES, "x.xml", voice="2")) == ["left out: voice 1, 3"]


def test_unknown_voices_are_all_told() -> None:
    """One line for each."""
    assert refused(_VOICES, voice="4,2,x").splitlines() == [
        "x.xml: voice '4' has no notes here (voices with notes here: 1, 2, 3)",
        "x.xml: voice 'x' has no notes here (voices with notes here: 1, 2, 3)",
    ]


@pytest.mark.parametrize(
    ("asked", "music"),
    [
        ("5-8", "G4/1 | A4/1 | B4/1 | C4/1"),
        ("5", "G4/1"),
        ("0", "E4/4"),
        ("0-1", "E4/4 | C4/1"),
        (" 2 – 3 ", "D4/1 | E4/1"),
        ("002-3", "D4/1 | E4/1"),
    ],
)
def test_bars_are_chosen_by_their_printed_numbers(asked: str, music: str) -> None:
    """The pickup is 0; a single number is one bar; a dash may be long."""
    passage = read(_LONG, "x.xml", bars=asked)
    assert shown(passage) == music
    assert passage.bars[0].onset == 0
    assert passage.cut == asked.replace(" ", "").replace("–", "-").removeprefix("00")


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("9-12", "bar '9' is not in the piece{there}\nx.xml: bar '12' is not in the piece{there}"),
        ("5-3", "bars 5-3 end before they begin (write 3-5)"),
        ("1-2-3", "bars '1-2-3' are not a range (write bars as 5-8, or 5 for one bar; the piece has bars 0 to 8)"),
        ("-", "bars '-' are not a range (write bars as 5-8, or 5 for one bar; the piece has bars 0 to 8)"),
        ("5000000000", "bar '5000000000' is not in the piece{there}"),
    ],
)
def test_bars_that_are_not_there_are_told(asked: str, said: str) -> None:
    """The line names the bar asked for and the bars there are."""
    there = " (the piece has bars 0 to 8)"
    assert refused(_LONG, bars=asked) == "x.xml: " + said.replace("{there}", there)


def test_bars_with_odd_labels_are_chosen_by_them() -> None:
    """Labels such as X1 and 12a are names like any other."""
    data = score(
        bar(notes("C4/1"), "12"), bar(notes("D4/1"), "12a"), bar(notes("E4/1"), "X1"), bar(notes("F4/1"), "13")
    )
    assert shown(read(data, "x.xml", bars="12a-x1")) == "D4/1 | E4/1"


def test_a_number_printed_twice_means_its_first_place() -> None:
    """In a file of two movements 1-2 is of the first."""
    data = score(*(bar(notes(f"{step}4/1"), number) for step, number in zip("CDEF", "1212", strict=True)))
    assert shown(read(data, "x.xml", bars="1-2")) == "C4/1 | D4/1"


def test_a_cut_takes_along_what_is_in_force() -> None:
    """Metre, key, divisions, clef, tempo and stroke kind set before the cut hold in it."""
    data = score(
        words("Allegro", '<sound tempo="120"/>') + words("apoyando") + notes("E4/2."),
        notes("F4/2."),
        first=attributes(metre="3/4", fifths=2, clef=CLEF_G),
        name="Violin",
    )
    passage = read(data, "x.xml", bars="2")
    assert shown(passage) == "F4/2."
    assert facts(passage) == ["bar 2: 3/4, key 2", "stroke 'rest' at 0", "tempo 120", _OTHER]


def test_a_cut_mends_ties_slurs_and_repeats_that_lead_out_of_it() -> None:
    """A note tied into the cut is struck; half a repeat is no repeat."""
    data = score(
        '<barline location="left"><repeat direction="forward"/></barline>' + note("E4/1", '<tied type="start"/>'),
        note("E4/1", '<tied type="stop"/><slur type="start"/>')
        + '<barline location="right"><repeat direction="backward"/></barline>',
        note("G4/1", '<slur type="stop"/>'),
    )
    passage = read(data, "x.xml", bars="2")
    assert shown(passage) == "E4/1"
    assert facts(passage) == [
        "a note is tied to what is not before it; it is struck here (bar 2)",
        "left out: repeats and endings of which the cut holds only a piece: bar 2",
        "left out: slurs of which only one end is there (bar 2)",
    ]
    assert facts(read(data, "x.xml"))[-1] == "repeats are kept as printed, not played out"


def test_a_repeat_inside_the_cut_is_kept() -> None:
    """A whole repeat with both endings survives; what led to it does not matter."""
    data = FEATURES["repeats and endings"]
    assert facts(read(data, "x.xml", bars="1-3")) == facts(read(data, "x.xml"))
    assert facts(read(data, "x.xml", bars="3")) == [
        "left out: repeats and endings of which the cut holds only a piece: bar 3"
    ]


def test_a_long_score_asks_for_bars() -> None:
    """A piece without a choice of bars is not an hour of work but one line of advice."""
    data = score(*[notes("E4/1")] * 2000)
    said = "x.xml: 2,000 bars, the limit for one passage is 400 "
    said += "(choose some of bars 1 to 2000, e.g. --bars 1-16; ENGRAVE_LIMITS=bars=2000 allows more)"
    assert refused(data) == said
    assert shown(read(data, "x.xml", bars="1999-2000")) == "E4/1 | E4/1"


def test_strings_and_frets_decide_the_octave() -> None:
    """Written E5 on the open first string is E4, whatever the part is called."""
    data = score(
        note("E5/1", technical("<string>1</string><fret>0</fret>")), first=attributes(clef=CLEF_G), name="Solo"
    )
    passage = read(data, "x.xml")
    assert next(passage.notes).pitch == Pitch.parse("E4")
    assert facts(passage) == ["read an octave lower than written, as its strings and frets say"]


def test_strings_and_frets_hold_a_guitar_at_its_written_pitch() -> None:
    """A guitar part at sounding pitch on a plain clef stays where its frets are."""
    data = score(note("E4/1", technical("<string>1</string><fret>0</fret>")), first=attributes(clef=CLEF_G))
    assert facts(read(data, "x.xml")) == ["read at its written pitch, as its strings and frets say"]


def test_a_part_an_octave_too_low_is_put_right_by_its_strings() -> None:
    """An octave clef and a transposition together are one octave too many."""
    moved = "<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>"
    data = score(note("E4/1", technical("<string>1</string><fret>0</fret>")), first=attributes(more=moved))
    passage = read(data, "x.xml")
    assert next(passage.notes).pitch == Pitch.parse("E4")
    assert facts(passage) == ["read an octave higher than written, as its strings and frets say"]


def test_a_compound_metre_counts_its_beats() -> None:
    """The beat of a place in six-eight is a dotted quarter."""
    passage = read(score(notes("E4/4. F4/4."), first=attributes(metre="6/8")), "x.xml")
    assert [passage.place(event).beat for event in passage.events] == [1, Fraction(2)]


def test_three_voices_of_triplets_and_rounded_backups_stay_exact() -> None:
    """Divisions that cannot hold a septuplet move no voice."""
    septuplet = "".join(note("E4/8", tuplet=(7, 4), divisions=100) for _ in range(7)).replace(
        "<duration>28<", "<duration>29<"
    )
    data = score(
        septuplet
        + note("A4/2", divisions=100)
        + "<backup><duration>400</duration></backup>"
        + note("C3/2", voice="2", divisions=100)
        + note("D3/2", voice="2", divisions=100),
        first=attributes(divisions="100"),
    )
    passage = read(data, "x.xml")
    assert passage.bars[0].length == 4
    assert [e.onset for e in passage.events if e.voice == 2] == [0, 2]
    assert [e.duration for e in passage.events if e.voice == 1] == [Fraction(2, 7)] * 7 + [2]


def test_nothing_slow_is_imported_before_a_file_is_read() -> None:
    """Importing the room does not import the parser."""
    code = "import sys, engrave.reading; print('music21' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"


def test_pitches_spell_their_sounding_key() -> None:
    """A part in A sounds a minor third lower, letter by letter."""
    moved = "<transpose><diatonic>-2</diatonic><chromatic>-3</chromatic></transpose>"
    inside = "".join(f"<note>{pitch(p)}<duration>48</duration><type>half</type></note>" for p in ("E5", "G#5"))
    data = score(inside, first=attributes(fifths=4, clef=CLEF_G, more=moved), name="Clarinet in A")
    passage = read(data, "x.xml")
    assert [str(n.pitch) for n in passage.notes] == ["C♯5", "E♯5"]
    assert passage.bars[0].key.fifths == 7


def test_one_voice_takes_only_its_own_from_a_tablature_and_from_letters() -> None:
    """What belongs to a voice left out goes nowhere, and is not complained of."""
    tab = notes("E4/1", staff="2", voice="5") + _BACK
    upper = note("E4/1", staff="1", voice="1")
    lower = note("E2/1", staff="1", voice="2")
    frets = note("E2/1", technical("<string>6</string><fret>0</fret>"), staff="2", voice="6")
    first = FEATURES["a tablature staff beside"].decode().partition("<attributes>")[2].partition("</attributes>")[0]
    data = score(
        words("i") + words("p") + upper + _BACK + lower + _BACK + tab + frets, first=f"<attributes>{first}</attributes>"
    )
    assert shown(read(data, "x.xml", voice="1")) == "E4i/1"
    assert shown(read(data, "x.xml", voice="2")) == "E2:6.0.p/1"
    assert facts(read(data, "x.xml", voice="2")) == [
        "left out: voice 1",
        "letters typed as words are read as plucking letters (bar 1)",
    ]
