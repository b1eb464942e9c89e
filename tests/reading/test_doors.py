"""Which reader a file goes to, and what is said of files that are no passage."""

from __future__ import annotations

import pytest

from engrave.model import ReadError
from engrave.reading import read
from engrave.reading.doors import decoded
from engrave.reading.kinds import WAY_OUT
from tests.reading.xml import attributes, bar, container, note, notes, packed, pitch, score, shown

_SCORE = score(notes("E4/1"))
_TAB = "tuning: EADGBE\n\ne|--0--1--|\nB|--------|\nG|--------|\nD|--------|\nA|--------|\nE|--------|\n"
_NAMED = ", as its name says: it is damaged, or another kind (fetch or save it again; export the score as MusicXML)"
_LILYPOND = (
    ", which is a program, not a score (export the score as MusicXML or MIDI: LilyPond's \\midi block writes one)"
)
_KERN = " (notes are read from **kern only)"
_PROSE = f": no tablature, no ABC tune ({WAY_OUT})"
_TUNE = " (write X:1 first and K: last before the notes)"
_OWN = ", not a score (open it in the program it came from and export it as MusicXML)"
_SOUND = ", not a score (give the score, as MusicXML; MIDI is read, too)"
_PRINTED = ", not a score (give the score it was printed from, as MusicXML)"
_OFFICE = ", not a score (save a tablature as plain text (.txt), a score as MusicXML)"
_ABC = "X:1\nT:Walk\nM:4/4\nL:1/4\nK:C\nE F G2|\n"


def refused(data: bytes, name: str = "x.xml", **asked: str) -> str:
    """What is said of a file that cannot be read."""
    with pytest.raises(ReadError) as caught:
        read(data, name, **asked)  # type: ignore[arg-type]
    return str(caught.value)


@pytest.mark.parametrize("name", ["x.musicxml", "x.xml", "x.mxl", "x.txt", "x.abc", "-", "x"])
def test_musicxml_is_known_by_its_content(name: str) -> None:
    """Whatever a file is called, what begins like XML is XML."""
    assert shown(read(_SCORE, name)) == "E4/1"
    assert shown(read(b"\xef\xbb\xbf\n " + _SCORE.partition(b"?>")[2], name)) == "E4/1"


@pytest.mark.parametrize("name", ["x.mxl", "x.musicxml", "-"])
def test_compressed_musicxml_is_known_by_its_content(name: str) -> None:
    """A zip is unpacked whatever its name says."""
    data = packed({"META-INF/container.xml": container("s/score.xml"), "s/score.xml": _SCORE})
    assert shown(read(data, name)) == "E4/1"


@pytest.mark.parametrize("name", ["x.abc", "x.txt", "-"])
def test_abc_is_known_by_its_fields_or_its_name(name: str) -> None:
    """A text with X: and K: is a tune."""
    assert read(_ABC.encode(), name).title == "Walk"


@pytest.mark.parametrize("name", ["x.tab", "x.txt", "-", "notes"])
def test_any_other_text_is_a_tablature(name: str) -> None:
    """Text that is neither XML nor ABC goes to the tablature reader."""
    assert [note.pitch.midi for note in read(_TAB.encode(), name).notes] == [64, 65]


def test_bars_and_voices_of_texts_are_cut_as_those_of_scores() -> None:
    """The same words choose from every kind of file."""
    tune = "X:1\nM:4/4\nL:1/4\nK:C\nE4|F4|G4|\n"
    assert shown(read(tune.encode(), "x.abc", bars="2-3")).count("|") == 1
    assert "bar '7' is not in the piece" in refused(tune.encode(), "x.abc", bars="7")
    assert "voice '3' has no notes here (voices with notes here: 1)" in refused(tune.encode(), "x.abc", voice="3")
    said = "x.abc: part 'Oboe' is not in the file, which has only one (leave --part out)"
    assert refused(tune.encode(), "x.abc", part="Oboe") == said


@pytest.mark.parametrize(
    ("data", "name", "said"),
    [
        (b"", "x.xml", "x.xml: the file is empty (check that it was saved)"),
        (b" \n\t ", "x.tab", "x.tab: the file is empty (check that it was saved)"),
        (b"hello", "x.xml", f"x.xml: the file is not XML{_NAMED}"),
        (b"hello", "x.mxl", f"x.mxl: the file is not a zip{_NAMED}"),
        (b"hello", "x.mid", f"x.mid: the file is not MIDI{_NAMED}"),
        (b"MThd\0\0\0\6\0\0\0\1\0\x60", "x.xml", "x.xml: the MIDI file is damaged or cut off (save or fetch it again)"),
        (b"\\version \"2.24\"\n{ c'4 }", "x.txt", f"x.txt: this is LilyPond input{_LILYPOND}"),
        (b"{ c'4 d' }", "x.ly", f"x.ly: this is LilyPond input{_LILYPOND}"),
        (b"**text\nla\n*-\n", "x.krn", f"x.krn: there is no spine of **kern in the Humdrum file{_KERN}"),
        (b"Dear pupil,\nplay slowly - very slowly.\n", "x.txt", f"x.txt: this is text without music in it{_PROSE}"),
        (b"study,day\n", "x.csv",
         "x.csv: this is a table, not a passage (name the passage first, and a practice log with --log)"),
        (b"K:C\nCDEF|\n", "-", f"-: this looks like an ABC tune without its number or its key{_TUNE}"),
        (b"\x18FICHIER GUITAR PRO v5", "x.gp5", f"x.gp5: this is a notation program's own file{_OWN}"),
        (b"what is this", "x.sib", f"x.sib: this is a notation program's own file{_OWN}"),
        (b"RIFF\0\0\0\0WAVE", "x.wav", f"x.wav: this is a recording{_SOUND}"),
        (packed({"[Content_Types].xml": b"<x/>"}), "x.docx", f"x.docx: this is an office document{_OFFICE}"),
        (packed({"score.mscx": b"<x/>"}), "x.mscz", f"x.mscz: this is a notation program's own file{_OWN}"),
        (b"%PDF-1.7", "x.pdf", "x.pdf: this is a PDF, not a score (give the score it was printed from, as MusicXML)"),
        (b"\x89PNG\r\n", "x.png", f"x.png: this is a picture{_PRINTED}"),
        (b"\x1f\x8b\x08", "x.gz", "x.gz: this is a gzip file, not a score (unpack it first)"),
        (b"E\0A\0D\0", "x.tab", f"x.tab: this is no kind of music we know: neither a score nor text ({WAY_OUT})"),
        (
            b"<html><body/></html>",
            "x.xml",
            "x.xml: the XML is not a MusicXML score: its first element is <html> (export the score as MusicXML)",
        ),
        (b"<opus/>", "x.xml", "x.xml: this is a list of scores (opus), not a score (open one of them)"),
        (b"<score-partwise/>", "x.xml", "x.xml: there is no part in the score"),
        (
            b"<score-partwise>\n<part-list>",
            "x.xml",
            "x.xml, line 2: the XML is cut off (the file is not complete; save or fetch it again)",
        ),
        (
            b"<score-partwise>\n</part>",
            "x.xml",
            "x.xml, line 2: the XML is broken: mismatched tag (save it again from the program it came from)",
        ),
        (
            b'<?xml version="1.0" encoding="klingon"?><score-partwise/>',
            "x.xml",
            "x.xml, line 1: the encoding the file names is not known (save it as UTF-8)",
        ),
        (score(notes("r/1")), "x.xml", "x.xml: there is no note with a pitch in the score"),
        (score(notes("r/1")).replace(b"<measure", b"<bar").replace(b"</measure", b"</bar"), "x.xml",
         "x.xml: there is no note with a pitch in the score"),
    ],
)  # fmt: skip
def test_what_is_no_score_is_told_in_one_line(data: bytes, name: str, said: str) -> None:
    """Place, fact and hint, and nothing of the parser's own words."""
    assert refused(data, name) == said


def test_a_cut_off_score_names_the_line_it_ends_on() -> None:
    """The example cut in its middle."""
    data = score(notes("E4/1"), notes("F4/1")).replace(b"<note>", b"\n<note>")
    said = "x.xml, line 3: the XML is cut off (the file is not complete; save or fetch it again)"
    assert refused(data[: data.rindex(b"<duration>")]) == said


def test_bars_of_rests_make_no_passage() -> None:
    """The line names the bars and the parts with notes."""
    data = score(notes("E4/1"), notes("r/1"))
    assert refused(data, bars="2") == "x.xml: there is no note in bars 2 of part 'Guitar' (parts with notes: 1 Guitar)"


@pytest.mark.parametrize(
    ("inside", "said"),
    [
        (
            notes("E4/2") + notes("E4/2").replace("<octave>4", "<octave>11"),
            "x.xml, bar 1, beat 3: the pitch E11 is outside what MIDI counts (0 to 127) (check its <octave>)",
        ),
        (
            notes("E4/2").replace("<step>E", "<step>H"),
            "x.xml, bar 1, beat 1: a pitch of 'H 4' is not a step A to G with an octave (save the score again)",
        ),
        (
            notes("F#4/2").replace("<alter>1", "<alter>0.5"),
            "x.xml, bar 1, beat 1: F4 is altered by 0.5 semitones, which no fret plays (write whole semitones)",
        ),
        (
            notes("F#4/2").replace("<alter>1", "<alter>4"),
            "x.xml, bar 1, beat 1: F4 is altered by 4 semitones, the limit is 3 (check its <alter>)",
        ),
        (
            notes("E4/2").replace("<duration>48", "<duration>-48"),
            "x.xml, bar 1, beat 1: a note has a duration of '-48', not a number from 0 up (save the score again)",
        ),
        (
            f"<note>{pitch('E4')}</note>",
            "x.xml, bar 1, beat 1: a note has neither a duration nor a type (save the score again)",
        ),
        (
            "<backup><duration>x</duration></backup>" + notes("E4/1"),
            "x.xml, bar 1, beat 1: <backup> has a duration of 'x', not a number from 0 up (save the score again)",
        ),
        (
            note("E4/8", tuplet=(3, 2)).replace("<actual-notes>3", "<actual-notes>0"),
            "x.xml, bar 1, beat 1: a tuplet of 0:2 is outside 1 to 64 (write the tuplet anew)",
        ),
        (
            notes("E4/1") + "<attributes><divisions>0</divisions></attributes>",
            "x.xml, bar 1, beat 5: divisions '0' is not a number from 1 to 1,000,000 (save the score again)",
        ),
        (
            "<attributes><time><beats>4</beats><beat-type>3</beat-type></time></attributes>" + notes("E4/1"),
            "x.xml, bar 1, beat 1: a metre of '4/3' cannot be printed"
            " (write upper figures 1 to 64 over 1 2 4 8 16 32 or 64)",
        ),
        (
            "<attributes><transpose><chromatic>1e9</chromatic></transpose></attributes>" + notes("E4/1"),
            "x.xml, bar 1, beat 1: a transposition is not a whole number of semitones and octaves (save it again)",
        ),
    ],
)
def test_a_number_no_score_can_mean_is_told_in_place(inside: str, said: str) -> None:
    """Bar and beat, the value and the limit."""
    assert refused(score(inside)) == said


def test_every_fault_of_a_file_is_told_at_once() -> None:
    """Three bars with a fault each make three lines."""
    wrong = notes("E4/1").replace("<octave>4", "<octave>x")
    said = refused(score(wrong, wrong, notes("E4/1"), wrong)).splitlines()
    assert [line.partition(":")[0] for line in said] == [f"x.xml, bar {n}, beat 1" for n in (1, 2, 4)]


def test_a_length_no_value_can_write_is_taken_to_the_nearest() -> None:
    """Durations without a type, as recordings leave them: 2966/768 of a quarter, a 32nd, and a flick of 1/768."""
    lengths = (("2966", ""), ("96", "<type>32nd</type>"), ("1", ""))
    inside = "".join(f"<note>{pitch('E4')}<duration>{d}</duration>{t}</note>" for d, t in lengths)
    passage = read(score(inside, first=attributes(divisions="768")), "x.xml")
    assert shown(passage) == "E4~/2. ~E4~/8. ~E4/32 E4/32"
    assert [str(notice) for notice in passage.notices] == [
        "lengths that no value can write are taken to the nearest 64th (bar 1)",
        "left out: notes too short to write (bar 1)",
    ]


def test_a_part_without_bars_is_told() -> None:
    """An empty part that is asked for."""
    data = score(notes("E4/1"), listed='<score-part id="P2"><part-name>Empty</part-name></score-part>',
                 others='<part id="P2"/>')  # fmt: skip
    assert refused(data, part="Empty") == "x.xml: part 'Empty' has no bars"


def test_texts_are_decoded_as_mails_write_them() -> None:
    """UTF-8 with or without its mark, UTF-16 with its mark, else Windows-1252."""
    assert decoded("Niña".encode(), "x") == "Niña"
    assert decoded("Niña".encode("utf-8-sig"), "x") == "Niña"
    assert decoded("Niña".encode("utf-16"), "x") == "Niña"
    assert decoded("Niña".encode("cp1252"), "x") == "Niña"


def test_a_score_of_bars_before_parts_must_hold_parts() -> None:
    """An empty timewise score has no part."""
    assert refused(b"<score-timewise><measure/></score-timewise>") == "x.xml: there is no part in the score"


def test_a_bar_without_a_number_is_counted_on() -> None:
    """Bars the file does not number get the next number."""
    data = score(bar(notes("C4/1"), "7"), bar(notes("D4/1"), ""))
    assert [b.label for b in read(data, "x.xml").bars] == ["7", "8"]
