"""ABC tunes: held against the ABC 2.1 standard, the parser's own reader, and melodies everybody knows."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.model import Event, Key, Passage, ReadError
from engrave.reading.abc import fields
from engrave.reading.abc.reader import read_abc

HEAD = "X:1\nM:4/4\nL:1/8\nK:C clef=treble-8\n"
LOWER = "read an octave lower than written, as guitar music on a plain treble clef sounds"


def read(text: str) -> Passage:
    """A passage from a tune."""
    return read_abc(text, "t.abc")


def tune(music: str) -> Passage:
    """A passage from music in C, 4/4, in eighths, on an octave clef."""
    return read(HEAD + music)


def said(event: Event) -> str:
    """One event: pitches, value, tuplet and marks."""
    heads = "+".join(
        ("_" if note.tied_back else "") + str(note.pitch) + ("~" if note.tied_on else "") for note in event.notes
    )
    kind = "g" if event.grace else f"{event.value.kind}{'.' * event.value.dots}"
    rest = "R" if event.bar_rest else "s" if event.space else "r"
    return (
        (heads or rest) + "/" + kind + "".join(f"({t.actual}:{t.normal}" for t in event.tuplets) + "".join(event.marks)
    )


def music(passage: Passage, voice: int = 1) -> str:
    """The events of a voice, bars parted by |."""
    bars = [
        " ".join(said(e) for e in passage.events if e.bar == i and e.voice == voice) for i in range(len(passage.bars))
    ]
    return " | ".join(bars)


def faults(text: str) -> list[str]:
    """The lines of a refusal."""
    with pytest.raises(ReadError) as caught:
        read(text)
    return str(caught.value).splitlines()


def notices(passage: Passage) -> list[str]:
    """What the passage says about itself."""
    return [str(notice) for notice in passage.notices]


# the music, section by section of the standard (abcnotation.com/wiki/abc:standard:v2.1)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("C,, C, C c c' c8|", "C1/8 C2/8 C3/8 C4/8 C5/8 C4/1"),  # 4.1, an octave lower on this clef
        ("^C _D =E ^^F __G C4|", "C♯3/8 D♭3/8 E3/8 F♯♯3/8 G♭♭3/8 C♯3/2"),  # 4.2 and 11.3
        ("A A2 A3 A/2 A/ A// z|", "A3/8 A3/4 A3/4. A3/16 A3/16 A3/32 r/8"),  # 4.3
        ("A>B A<B A>>B z2|", "A3/8. B3/16 A3/16 B3/8. A3/8.. B3/32 r/4"),  # 4.4
        ("A2 z2 x4|Z|", "A3/4 r/4 s/2 | R/1"),  # 4.5
        ("A4-A4|A8-|A8|", "A3~/2 _A3/2 | A3~/1 | _A3/1"),  # 4.11
        ("[CEG]4 [C2E2]2|", "C3+E3+G3/2 C3+E3/2"),  # 4.17
        ("[C-E]4 [CE]4|", "C3~+E3/2 _C3+E3/2"),  # 4.17
        ("{c}A4 {/de}B4|", "C4/g A3/2 D4/g E4/g B3/2"),  # 4.12
        ("(3ABc (3ABc A4|", "A3/8(3:2 B3/8(3:2 C4/8(3:2 A3/8(3:2 B3/8(3:2 C4/8(3:2 A3/2"),  # 4.13
        ("(3:2:2A2B z6|", "A3/4(3:2 B3/8(3:2 r/2."),  # 4.13
        ("(5:4ABcde A4|", "A3/8(5:4 B3/8(5:4 C4/8(5:4 D4/8(5:4 E4/8(5:4 A3/2"),  # 4.13
        ("!accent!A2 !fermata!B2 .c2 !tenuto!d2|", "A3/4accent B3/4fermata C4/4staccato D4/4tenuto"),  # 4.14
        ("LA2 HB2 !>!c2 d2|", "A3/4accent B3/4fermata C4/4accent D4/4"),  # 4.14, 4.16
        ("+C4E4+ A4|", "C3+E3/2 A3/2"),  # chords as ABC 1.6 wrote them
    ],
)
def test_music_is_read_as_the_standard_says(text: str, expected: str) -> None:
    """Pitches, lengths, rests, ties, chords, graces, tuplets and marks of section 4."""
    assert music(tune(text)) == expected


@pytest.mark.parametrize(
    ("ways", "length"),
    [
        # 4.4: "a3b cd3 a2b2c2d2" in sixteenths, the same in eighths, and the same with > and <
        (("L:1/16\nK:C\na3b cd3 a2b2c2d2|", "L:1/8\nK:C\na3/2b/2 c/2d3/2 abcd|", "L:1/8\nK:C\na>b c<d abcd|"), 4),
        # 4.13: a tuplet's second and third figure are as stated where they are left out
        (("L:1/8\nK:C\n(3:2:3abc a6|", "L:1/8\nK:C\n(3::abc a6|", "L:1/8\nK:C\n(3abc a6|"), 4),
        # 4.17: "[C2E2G2]3 has the same meaning as [CEG]6"
        (("L:1/8\nK:C\n[C2E2G2]3 z2|", "L:1/8\nK:C\n[CEG]6 z2|"), 4),
    ],
)
def test_the_standards_own_examples_mean_the_same(ways: tuple[str, ...], length: int) -> None:
    """What ABC 2.1 gives as two ways of writing one thing is read alike (examples from memory)."""
    read_alike = {music(read(f"X:1\nM:4/4\n{text}")) for text in ways}
    assert len(read_alike) == 1
    assert read(f"X:1\nM:4/4\n{ways[0]}").bars[0].length == length


def test_a_sample_tune_of_the_standard_is_read_whole() -> None:
    """The Dusty Miller, of the standard's sample tunes (section 13; from memory): 12 full bars in three strains."""
    tune_of_the_standard = (
        "X:1\nT:Dusty Miller, The\nT:Binny's Jig\nC:Trad.\nR:DH\nM:3/4\nK:G\n"
        "B>cd BAG|FA Ac BA|B>cd BAG|DG GB AG:|\nBdd gfg|aA Ac BA|Bdd gfa|gG GB AG:|\n"
        "BG G/2G/2G BG|FA Ac BA|BG G/2G/2G BG|DG GB AG:|\n"
    )
    found = read(tune_of_the_standard)
    assert (found.title.split(";")[0], found.bars[0].key.fifths) == ("Dusty Miller, The", 1)
    assert len(found.bars) == 12
    assert all(bar.length == 3 for bar in found.bars)
    assert sum(bar.repeat_end > 0 for bar in found.bars) == 3
    assert music(found).split(" | ")[0] == "B3/8. C4/16 D4/8 B3/8 A3/8 G3/8"


@pytest.mark.parametrize(
    ("setting", "expected"),
    [
        ("", "F♯3 F♯4 F♯3 | F3"),
        ("%%propagate-accidentals octave\n", "F♯3 F4 F♯3 | F3"),
        ("%%propagate-accidentals not\n", "F♯3 F4 F3 | F3"),
        ("I:propagate-accidentals pitch\n", "F♯3 F♯4 F♯3 | F3"),
    ],
)
def test_accidentals_hold_for_the_bar(setting: str, expected: str) -> None:
    """Section 11.3: an accidental holds in all octaves until the bar line, unless a directive says otherwise."""
    passage = read(f"X:1\n{setting}M:3/4\nL:1/4\nK:C clef=treble-8\n^F f F|F3|")
    bars = [" ".join(str(n.pitch) for e in passage.events if e.bar == i for n in e.notes) for i in (0, 1)]
    assert " | ".join(bars) == expected


def test_a_tie_carries_its_accidental_over_the_bar_line() -> None:
    """A note tied over the bar line keeps its accidental."""
    assert music(tune("^F8-|F4F4|")) == "F♯3~/1 | _F♯3/2 F3/2"


@pytest.mark.parametrize(
    ("text", "fifths", "mode"),
    [
        ("C", 0, "major"),
        ("Am", 0, "minor"),
        ("F#m", 3, "minor"),
        ("Bb", -2, "major"),
        ("D dorian", 0, ""),
        ("Ddor", 0, ""),
        ("G Mixolydian", 0, ""),
        ("E phr", 0, ""),
        ("F lydian", 0, ""),
        ("B Locrian", 0, ""),
        ("A minor", 0, "minor"),
        ("Amin", 0, "minor"),
        ("C Ionian", 0, "major"),
        ("Hp", 2, ""),
        ("HP", 0, ""),
        ("none", 0, ""),
        ("D clef=treble-8", 2, "major"),
        ("G treble", 1, "major"),
        ("D exp ^f ^c", 2, "major"),
    ],
)
def test_keys(text: str, fifths: int, mode: str) -> None:
    """Section 3.1.14: all seven signatures of seven modes' worth of C, the pipes', and signs written out."""
    found = fields.signature(text)
    assert (found.key, found.exact) == (Key(fifths=fifths, mode=mode), True)


def test_a_key_of_its_own_signs_sounds_right() -> None:
    """K:D Phrygian with a raised third, as in section 3.1.14: no signature fits, so the notes carry the signs."""
    passage = read("X:1\nL:1/4\nM:4/4\nK:D exp _b _e ^f clef=treble-8\ndefb|")
    assert music(passage) == "D4/4 E♭4/4 F♯4/4 B♭4/4"
    assert "left out: the signs of a key of its own, which stand before their notes instead" in notices(passage)


@pytest.mark.parametrize(
    ("metre", "unit", "expected"),
    [("2/4", "", "16"), ("3/4", "", "8"), ("6/8", "", "8"), ("C", "", "8"), ("C|", "", "8"), ("4/4", "L:1/4\n", "4")],
)
def test_the_unit_length(metre: str, unit: str, expected: str) -> None:
    """Section 3.1.7: without L: a sixteenth in metres below 3/4, else an eighth."""
    passage = read(f"X:1\nM:{metre}\n{unit}K:C clef=treble-8\nc z7|")
    assert str(passage.events[0].value.kind) == expected


@pytest.mark.parametrize(
    ("text", "quarters"),
    [
        ("1/4=120", 120),
        ("3/8=50", 75),
        ("120", 60),
        ('"Allegro" 1/4=96', 96),
        ("1/4 3/8 1/4 3/8=40", 200),
        ('"Slow"', None),
    ],
)
def test_tempo(text: str, quarters: int | None) -> None:
    """Section 3.1.8; the number alone is the outdated form that counts unit lengths (here eighths)."""
    assert read(f"X:1\nM:4/4\nL:1/8\nQ:{text}\nK:C\nc8|").tempo == quarters


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("|:c8|d8:|", [(True, 0, "", "single"), (False, 2, "", "single")]),
        ("|:c8::d8:|", [(True, 2, "", "single"), (True, 2, "", "single")]),
        ("c8|1 d8:|2 e8|]", [(False, 0, "", "single"), (False, 2, "1", "single"), (False, 0, "2", "final")]),
        (
            "c8|[1 d8:|[2 e8|f8|]",
            [(False, 0, "", "single"), (False, 2, "1", "single"), (False, 0, "2", "single"), (False, 0, "2", "final")],
        ),
        ("c8|[1,3 d8:|[2 e8||", [(False, 0, "", "single"), (False, 2, "1,3", "single"), (False, 0, "2", "double")]),
        ("c8||d8[|]", [(False, 0, "", "double"), (False, 0, "", "invisible")]),
        ("c8||\n:d8:|", [(False, 0, "", "double"), (True, 2, "", "single")]),
    ],
)
def test_bar_lines(text: str, expected: list[tuple[bool, int, str, str]]) -> None:
    """Sections 4.8 to 4.10: bar lines, repeats and endings are kept."""
    passage = tune(text)
    assert [(b.repeat_start, b.repeat_end, b.ending, b.barline) for b in passage.bars] == expected


def test_fretting_digits_reach_their_heads() -> None:
    """!0! to !4! and !open! are fretting digits; in a chord each head takes its own; !5! is no fretting finger."""
    passage = tune("!0!E!1!F!open!B!4!G [!1!C!3!E]2 !2!!1![GB]2|!5!C8|")
    digits = [note.given.finger for note in passage.notes]
    assert digits == [0, 1, 0, 4, 1, 3, 2, 1, None]
    assert "left out: !5!" in notices(passage)


def test_slurs_and_what_is_left_out() -> None:
    """Slurs are kept; words, chord symbols, ornaments and other fields are counted in notices."""
    passage = tune('(ABc)d "Am"e"^slow"f !trill!g ~a|\nw: la la la la\ns: * *\nP:A\nA8|')
    order = {note.id: number for number, note in enumerate(passage.notes)}
    assert [(order[s.start], order[s.stop], s.kind) for s in passage.slurs] == [(0, 2, "slur")]
    assert notices(passage) == [
        "left out: chord symbols",
        "left out: words above the staff",
        "left out: !trill!",
        "left out: !roll!",
        "left out: words",
        "left out: lines of symbols (s:)",
        "left out: part names",
    ]


def test_fields_change_inside_the_tune() -> None:
    """Section 3.2: K:, M: and L: on a line of their own or in brackets change what follows."""
    passage = tune("F8|[M:3/4][K:D]F6|\nL:1/4\nM:2/4\nF2|")
    assert music(passage) == "F3/1 | F♯3/2. | F♯3/2"
    assert [str(bar.metre) for bar in passage.bars] == ["4/4", "3/4", "2/4"]
    assert [bar.key.fifths for bar in passage.bars] == [0, 2, 2]


def test_voices_and_overlays() -> None:
    """Section 7: voices stand over each other by bars, and & lays one voice over another."""
    passage = read("X:1\nM:2/4\nL:1/4\nK:C clef=treble-8\nV:1\ncd|e2|\nV:2\nC2|C2 & G,2|\n")
    assert music(passage, 1) == "C4/4 D4/4 | E4/2"
    assert music(passage, 2) == "C3/2 | C3/2"
    assert music(passage, 3) == " | G2/2"


def test_a_voice_may_begin_after_an_unnamed_one() -> None:
    """What stands before the first V: is a voice of its own."""
    passage = read("X:1\nM:2/4\nL:1/4\nK:C clef=treble-8\ncd|\nV:2\nC2|\n")
    assert passage.voices == (1, 2)


def test_a_pickup_starts_late() -> None:
    """A short first bar is bar 0 at the end of its metre."""
    bars = tune("c2|d8|").bars
    assert [(bar.label, bar.length, bar.offset) for bar in bars] == [
        ("0", Fraction(1), Fraction(3)),
        ("1", Fraction(4), Fraction(0)),
    ]


@pytest.mark.parametrize(
    ("field", "low", "sounds", "said"),
    [
        ("K:C", "D,", "D3", "at its written pitch: an octave lower it would lead below the lowest string"),
        ("K:C", "E,", "E2", LOWER),
        ("K:C clef=treble-8", "E", "E3", ""),
        ("K:C clef=bass", "E,", "E3", ""),
        ("K:C octave=-1", "E", "E3", ""),
        ("K:C transpose=-12", "E", "E3", ""),
        ("K:C transpose=-2", "E", "E3", LOWER),
    ],
)
def test_the_octave(field: str, low: str, sounds: str, said: str) -> None:
    """ABC's C is middle C; a plain treble clef is read as guitarists do, unless that leads below the sixth string."""
    passage = read(f"X:1\nM:2/4\nL:1/4\n{field}\n{low} g|")
    text = " ".join(notices(passage))
    assert str(next(passage.notes).pitch) == sounds
    assert said in text if said else not passage.notices
    assert ("transposition by -2 semitones" in text) == ("transpose=-2" in field)


def test_the_first_of_several_tunes() -> None:
    """A file of several tunes gives the first, and says so; a file header holds for it."""
    passage = read(
        "M:3/4\nC:Nobody\n\nX:1\nT:One\nT:Also\nL:1/4\nK:C clef=treble-8\nccc|\n\nfree text\n\nX:2\nT:Two\nK:C\nddd|"
    )
    assert (passage.title, passage.composer, str(passage.bars[0].metre)) == ("One", "Nobody", "3/4")
    assert notices(passage) == ["the first of 2 tunes is read; the others are left out"]


# melodies in the public domain, their pitches as names beside them

JOY = "X:1\nT:Theme of the Ninth\nC:Ludwig van Beethoven\nM:4/4\nL:1/4\nK:D\nFFGA|AGFE|DDEF|F3/2E/E2|"
"""the theme of the finale of Beethoven's Symphony no. 9 (1824), public domain"""
SLEEVES = "X:1\nT:Greensleeves\nC:trad.\nM:6/8\nL:1/8\nK:Am\nA|c2d e>fe|d2B G>AB|c2A A>^GA|B2^G E2|"
"""Greensleeves, English, 16th century, public domain"""


@pytest.mark.parametrize(
    ("text", "names", "lengths"),
    [
        (JOY, "F♯ F♯ G A A G F♯ E D D E F♯ F♯ E E", "1 1 1 1 1 1 1 1 1 1 1 1 3/2 1/2 2"),
        (
            SLEEVES,
            "A C D E F E D B G A B C A A G♯ A B G♯ E",
            "1/2 1 1/2 3/4 1/4 1/2 1 1/2 3/4 1/4 1/2 1 1/2 3/4 1/4 1/2 1 1/2 1",
        ),
    ],
)
def test_melodies_everybody_knows(text: str, names: str, lengths: str) -> None:
    """Melodies typed by ear give the notes that everybody knows, an octave lower than written."""
    passage = read(text)
    assert " ".join(note.pitch.name for note in passage.notes) == names
    assert [event.duration for event in passage.events] == [Fraction(x) for x in lengths.split()]
    assert notices(passage) == [LOWER]
    assert max(note.pitch.midi for note in passage.notes) < 66


# another reader


def corpus() -> list[Path]:
    """Every 90th fiddle tune of the parser's corpus (Ryan's Mammoth Collection, 1883, public domain)."""
    import music21  # noqa: PLC0415 - the reference

    folder = Path(music21.__file__).parent / "corpus" / "ryansMammoth"
    return sorted(folder.glob("*.abc"))[7::90]


def reference(text: str) -> Iterator[tuple[tuple[int, ...], Fraction]]:
    """(MIDI numbers, quarters) of each note as the parser's own ABC reader has them, graces left out."""
    from music21 import abcFormat  # noqa: PLC0415 - the reference

    handler: Any = abcFormat.ABCHandler(abcVersion=(2, 1, 0))
    handler.process(text)
    translate: Any = abcFormat.translate.abcToStreamScore
    for note in translate(handler).recurse().notes:
        if not note.duration.isGrace and "ChordSymbol" not in type(note).__name__:
            length = Fraction(note.duration.quarterLength).limit_denominator(1000)
            yield tuple(sorted(pitch.midi for pitch in note.pitches)), length


@pytest.mark.parametrize("path", corpus(), ids=lambda path: path.stem)
def test_another_reader_hears_the_same(path: Path) -> None:
    """Pitches and their times agree with the parser's own ABC reader, which cuts overfull bars where we do not."""
    text = path.read_text(encoding="utf-8")
    passage = read(text)
    shift = 12 if LOWER in notices(passage) else 0
    ours = [
        (tuple(note.pitch.midi + shift for note in event.notes), event.duration)
        for event in passage.events
        if event.notes and not event.grace
    ]
    theirs = list(reference(text))
    assert [pitches for pitches, _ in ours] == [pitches for pitches, _ in theirs]
    assert sum(length for _, length in ours) == sum(length for _, length in theirs)


# refusals


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "X:1\nT:no key\n",
            ["t.abc, line 1: no key (K:) is given, so the tune does not begin (add a line such as K:C)"],
        ),
        (
            "X:1\nK:C\n",
            ["t.abc, line 1: the tune has no notes (notes are letters A to G and a to g below the K: line)"],
        ),
        (
            "X:1\nK:C\nz4|Z|",
            ["t.abc, line 1: the tune has no notes (notes are letters A to G and a to g below the K: line)"],
        ),
        ("X:1\nM:7\nK:C\nc|", ["t.abc, line 2: M:7 is not a metre such as 3/4, 6/8 or C"]),
        ("X:1\nM:3/5\nK:C\nc|", ["t.abc, line 2: M:3/5 is not a metre with 1 2 4 8 16 32 below"]),
        ("X:1\nL:1/7\nK:C\nc|", ["t.abc, line 2: L:1/7 is not a unit length such as 1/8"]),
        ("X:1\nK:Q\nc|", ["t.abc, line 2: K:Q is not a key such as D, F#m or E dorian"]),
        ("X:1\nQ:fast\nK:C\nc|", ["t.abc, line 2: Q:fast is not a tempo such as 1/4=96"]),
        ("X:1\nK:C\nc #d|", ["t.abc, line 3: column 3: '#' is not a sign of ABC music (see ABC 2.1, section 4)"]),
        ("X:1\nK:C\nc [ce|", ["t.abc, line 3: column 3: a chord that does not end (close it with ])"]),
        ("X:1\nK:C\nc {de|", ["t.abc, line 3: column 3: grace notes that do not end (close them with })"]),
        ("X:1\nK:C\nc/0|", ["t.abc, line 3: column 2: the length /0 cannot be written (1/512 to 999 is the range)"]),
        (
            "X:1\nK:C\nc99999|",
            ["t.abc, line 3: column 2: the length 99999 cannot be written (1/512 to 999 is the range)"],
        ),
        ("X:1\nK:C\n>c|", ["t.abc, line 3: column 1: '>' stands between no two notes (write it as in a>b)"]),
        ("X:1\nK:C\n(0abc|", ["t.abc, line 3: (0 is not a tuplet (such as (3abc, or (5:4:5abcde)"]),
        (
            "X:1\nK:C\nZ999|c|",
            [
                "t.abc, line 3: column 1: 999 bars of rest, the limit is 400 (ENGRAVE_LIMITS=bars=999 allows more)",
            ],
        ),
        (
            "X:1\nK:C\nc Z|",
            ["t.abc, line 3: a rest of whole bars (Z) with notes in its bar (put a bar line beside it)"],
        ),
        (
            "X:1\nK:C octave=9\nc|",
            ["t.abc, bar 1: the pitch C14 is outside what MIDI counts (0 to 127)"],
        ),
        ("X:1\nK:C\n" + "c8" * 40, ["t.abc, line 3: a bar lasts 160 quarters, the limit is 128 (add bar lines)"]),
        (
            "X:1\nK:C\n#\nc ?? ^\n",
            [
                "t.abc, line 3: column 1: '#' is not a sign of ABC music (see ABC 2.1, section 4)",
                "t.abc, line 4: column 6: an accidental or [ without a note (write ^c, _B or [ceg])",
            ],
        ),
        (
            "X:1\nK:C\n" + "c|" * 401,
            [
                "t.abc, line 1: 401 bars, the limit is 400 (give the bars to practise in a file of their own; "
                "ENGRAVE_LIMITS=bars=401 allows more)"
            ],
        ),
        (
            "X:1\nK:C\n" + "".join(f"V:{n}\nc|\n" for n in range(9)),
            ["t.abc, line 19: V:8 is not read: 8 voices are the limit"],
        ),
    ],
)
def test_faults_are_told_in_place(text: str, said: list[str]) -> None:
    """Each fault is one line: file, line, column, value, limit, hint; and all faults come at once."""
    assert faults(text) == said


_WORDS = [
    "X:1\n",
    "K:C\n",
    "M:3/4\n",
    "L:1/8\n",
    "V:2\n",
    "c",
    "^F",
    "[ce]",
    "2",
    "/",
    "|",
    "||",
    ":|",
    "|1",
    "[2",
    "(3",
    "(",
    ")",
    "-",
    ">",
    "<",
    "{g}",
    "{",
    "}",
    "[K:D]",
    "z",
    "Z",
    "x",
    "&",
    "!1!",
    "!",
    '"Am"',
    '"',
    "+",
    "%",
    "\n",
    "\n\n",
    " ",
    "w: a\n",
    "9999",
    "é",
]


@given(
    st.one_of(st.text(max_size=120), st.lists(st.sampled_from(_WORDS), max_size=60).map("".join)).map(
        lambda t: "X:1\nK:C\n" + t
    )
)
@settings(max_examples=150, deadline=None)
def test_any_text_is_a_passage_or_a_line(text: str) -> None:
    """Law: whatever the text, there is a passage or a ReadError with one line a fault, and nothing else."""
    try:
        read(text)
    except ReadError as error:
        told = str(error).splitlines()
    else:
        told = []
    assert all(line.startswith("t.abc") for line in told)


@pytest.mark.parametrize("word", ["octave=99999999", "clef=treble-99", "transpose=1000", "octave=x"])
def test_what_a_voice_says_in_no_known_way_is_told(word: str) -> None:
    """An octave, a clef or a transposition that cannot be read is left out, and said."""
    passage = read_abc(f"X:1\nM:4/4\nL:1/4\nK:C {word}\nEFGA|\n", "x.abc")
    assert f"left out, as it cannot be read: {word}" in [notice.text for notice in passage.notices]
