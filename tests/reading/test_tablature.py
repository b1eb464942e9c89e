"""Text tablature: what guitarists type, read with strings, frets and a rhythm; and what is refused."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave import resources
from engrave.model import Key, Passage, Pitch, ReadError
from engrave.reading.tablature.reader import read_tablature

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.tab"))


NOTHING = "t.tab: no tablature is found (a system has one line of dashes and fret numbers for each string)"


def system(*bars: tuple[str, ...], labels: str = "eBGDAE", above: str = "", below: tuple[str, ...] = ()) -> str:
    """A system from bars, each the music of the first strings; the other strings are dashes."""
    lines = [above] if above else []
    for number, label in enumerate(labels):
        texts = [bar[number] if number < len(bar) else "-" * len(bar[0]) for bar in bars]
        lines.append(f"{label}|" + "|".join(texts) + "|")
    return "\n".join([*lines, *below]) + "\n"


def read(text: str) -> Passage:
    """A passage from a text."""
    return read_tablature(text, "t.tab")


def rhythm(passage: Passage) -> str:
    """Values bar by bar, rests as r, tied-back notes with _, tuplets with their figure."""
    bars: list[list[str]] = [[] for _ in passage.bars]
    for event in passage.events:
        word = "" if event.notes else "R" if event.bar_rest else "r"
        word += "_" if any(note.tied_back for note in event.notes) else ""
        word += "g" if event.grace else f"{event.value.kind}{'.' * event.value.dots}"
        word += "".join(f"({t.actual}" for t in event.tuplets)
        bars[event.bar].append(word)
    return " | ".join(" ".join(bar) for bar in bars)


def pitches(passage: Passage) -> str:
    """Sounding pitches, chords with +."""
    return " ".join("+".join(str(note.pitch) for note in event.notes) for event in passage.events if event.notes)


def stops(passage: Passage) -> list[tuple[int | None, int | None]]:
    """(string, fret) of each note."""
    return [(note.given.string, note.given.fret) for note in passage.notes]


def faults(text: str) -> list[str]:
    """The lines of a refusal."""
    with pytest.raises(ReadError) as caught:
        read(text)
    return str(caught.value).splitlines()


def notices(text: str) -> list[str]:
    """What the passage says about itself."""
    return [str(notice) for notice in read(text).notices]


# what travels with the project


def test_the_built_in_line_is_what_the_book_needs() -> None:
    """Eight bars in A minor, an even stream in which every stopped note is followed by its open string."""
    passage = read(resources.text("shared/passage.tab"))
    assert (len(passage.bars), passage.bars[0].key, passage.tempo) == (8, Key(fifths=0, mode="minor"), Fraction(80))
    places = stops(passage)
    pairs = list(zip(places[::2], places[1::2], strict=False))
    assert all(low[0] == high[0] and low[1] == 0 and high[1] for high, low in pairs)
    assert {string for string, _ in places} == {1, 2}
    assert max(fret or 0 for _, fret in places) == 5
    assert {event.value.kind for event in passage.events[:-1]} == {8}
    assert not passage.notices


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_examples_read_without_notice(path: Path) -> None:
    """Each tablature among the examples is read whole, and each note sounds what its string and fret say."""
    passage = read_tablature(path.read_text(encoding="utf-8"), path.name)
    assert passage.notices == ()
    assert passage.tuning is not None
    for note in passage.notes:
        assert note.given.string is not None
        assert note.given.fret is not None
        assert note.pitch.midi == passage.tuning[note.given.string - 1].midi + note.given.fret


def test_there_is_an_example() -> None:
    """The folder of examples holds a tablature, so the test above looks at something."""
    assert EXAMPLES


# time


@pytest.mark.parametrize(
    ("bar", "values"),
    [
        ("0-1-3-1-", "4 4 4 4"),
        ("-0-1-3-1", "4 4 4 4"),
        ("-0-1-3-1-", "4 4 4 4"),
        ("--0---1---3---1---", "4 4 4 4"),
        ("--0-1-3-1-0-1-3-1-", "8 8 8 8 8 8 8 8"),
        ("-0---1---3-1-3---", "4 4 8 8 4"),
        ("-0-----1-3-------", "4. 8 2"),
        ("----------------", "R1"),
        ("-5---------------", "1"),
        ("--------5-------", "r2 2"),
        ("----5---3---1---", "r4 4 4 4"),
        ("-0-10-0-12-", "4 4 4 4"),
        ("-0--10-0--12-", "4 4 4 4"),
        ("-0-1-3-1-0-1-3-1-0-1-3-1-", "8(3 8(3 8(3 8(3 8(3 8(3 8(3 8(3 8(3 8(3 8(3 8(3"),
    ],
)
def test_spacing_tells_the_rhythm(bar: str, values: str) -> None:
    """Without a rhythm row the columns of a bar fill the metre."""
    passage = read("metre: 4/4\nkey: C\n" + system((bar,)))
    assert rhythm(passage) == values
    assert not passage.notices


@pytest.mark.parametrize(
    ("metre", "bar", "values"),
    [
        ("3/4", "-0-1-3-", "4 4 4"),
        ("3/4", "-0-1-3-1-0-1-", "8 8 8 8 8 8"),
        ("6/8", "-0-1-3-1-0-1-", "8 8 8 8 8 8"),
        ("6/8", "-0-----1-----", "4. 4."),
        ("2/4", "-0-1-3-1-", "8 8 8 8"),
        ("5/4", "-0-1-3-1-0-", "4 4 4 4 4"),
        ("3+2/8", "-0-1-3-1-0-", "8 8 8 8 8"),
        ("C", "-0-1-", "2 2"),
    ],
)
def test_spacing_follows_the_metre(metre: str, bar: str, values: str) -> None:
    """The same columns mean other values in another metre."""
    assert rhythm(read(f"metre: {metre}\nkey: C\n" + system((bar,)))) == values


def test_uneven_spacing_is_read_freely_and_told() -> None:
    """Columns on no grid of values are read all alike, and the notice names the line."""
    text = "metre: 4/4\nkey: C\n" + system(("-0-1---3-1--",))
    assert rhythm(read(text)) == "4 4 4 4"
    assert notices(text) == [
        "t.tab, line 3: left out or read freely: the rhythm of a bar whose columns are not evenly spaced, "
        "which is guessed"
    ]


@pytest.mark.parametrize("bar", ["0-1-3-1-", "-0-1-3-1-", "-0-1-3-1--"])
def test_a_column_value_is_exact(bar: str) -> None:
    """With the value of a column given, one dash behind and before a bar line is free, and the rest must fit."""
    assert rhythm(read("metre: 4/4\nkey: C\ncolumn: 1/8\n" + system((bar,)))) == "4 4 4 4"


def test_a_column_value_in_triplets() -> None:
    """Twelve columns of 1/12 are four triplets of eighths."""
    passage = read("metre: 4/4\nkey: C\ncolumn: 1/12\n" + system(("0-1--3--1-0-",)))
    assert rhythm(passage) == "4(3 8(3 _4(3 8(3 _4(3 8(3 _8(3 4(3"


@pytest.mark.parametrize(
    ("row", "bar", "values"),
    [
        ("q  q  q  q", "0--1--3--1--", "4 4 4 4"),
        ("q. e  h", "0--1--3--", "4. 8 2"),
        ("e3 e3 e3 h.", "0--1--3--1--", "8(3 8(3 8(3 2."),
        ("q3 e3 h.", "0--1--3--", "4(3 8(3 2."),
        ("s5 s5 s5 s5 s5 h.", "0--1--3--1--0--1--", "16(5 16(5 16(5 16(5 16(5 2."),
        ("q  q  h", "0-----3--", "4 r4 2"),
        ("h+e   q.", "0-----1--", "2 _8 4."),
        ("g  w", "0--1--", "g 1"),
        ("w", "0--", "1"),
        ("s  s  e  e. s  h", "0--1--0--1--0--3--", "16 16 8 8. 16 2"),
    ],
)
def test_a_rhythm_row_is_law(row: str, bar: str, values: str) -> None:
    """Values above the columns say how long each lasts, whatever the spacing."""
    text = "metre: 4/4\nkey: C\n" + system((bar,), above="  " + row)
    assert rhythm(read(text)) == values


def test_a_held_note_goes_over_the_bar_line() -> None:
    """+ before a value ties the notes before on, over the bar line too."""
    passage = read("metre: 2/4\nkey: C\n" + system(("0--3--",), ("------1--",), above="  q  q   +q    q"))
    assert rhythm(passage) == "4 4 | _4 4"
    assert [note.tied_on for note in passage.notes] == [False, True, False, False]


def test_a_short_first_bar_is_a_pickup() -> None:
    """A first bar that a rhythm row leaves short is bar 0 and starts late in the metre."""
    passage = read("metre: 3/4\nkey: C\n" + system(("0-",), ("1--3--0--",), ("1--3--",), above="  q  q  q  q   q  q"))
    assert [(bar.label, bar.length, bar.offset) for bar in passage.bars] == [
        (label, Fraction(length), Fraction(offset)) for label, length, offset in [("0", 1, 2), ("1", 3, 0), ("2", 2, 0)]
    ]


def test_a_pickup_of_the_header_fills_the_first_bar() -> None:
    """The header may say how long the first bar is."""
    passage = read("metre: 3/4\npickup: 1/8\nkey: C\n" + system(("-0-",), ("-1-3-0-",)))
    assert rhythm(passage) == "8 | 4 4 4"
    assert passage.bars[0].offset == Fraction(5, 2)


def test_repeats_and_double_bars_are_kept() -> None:
    """|: and :| are kept as printed, and a notice says so."""
    lines = [f"{s}|:-0-1-:|-3-1-||-0-0-|" if s != "D" else "D|:-----:|-----||-----|" for s in "eBGDAE"]
    passage = read("metre: 2/4\nkey: C\n" + "\n".join(lines))
    assert [(b.repeat_start, b.repeat_end, b.barline) for b in passage.bars] == [
        (True, 2, "single"),
        (False, 0, "double"),
        (False, 0, "final"),
    ]
    assert [str(n) for n in passage.notices] == ["repeats are kept as printed, not played out"]


def test_dots_of_a_repeat_may_stand_on_two_strings_only() -> None:
    """Stars or dots on the middle strings mark a repeat as well."""
    lines = [f"{s}||*-0-1-*||" if s in "GD" else f"{s}||--0-1--||" for s in "eBGDAE"]
    passage = read("metre: 2/4\nkey: C\n" + "\n".join(lines))
    assert [(b.repeat_start, b.repeat_end) for b in passage.bars] == [(True, 2)]


def test_a_system_without_bar_lines_is_cut_by_the_metre() -> None:
    """Without bar lines the narrowest step is an eighth, and a notice says so."""
    text = "metre: 2/4\nkey: C\n" + "\n".join(["e --0-1-3-5---3---"] + [f"{s} " + "-" * 17 for s in "BGDAE"])
    assert rhythm(read(text)) == "8 8 8 8 | _8 4."
    assert "without bar lines" in notices(text)[0]


def test_a_column_value_or_a_row_cuts_a_system_without_bar_lines() -> None:
    """The value of a column or a rhythm row say where bars end."""
    strings = [f"{s} " + "-" * 16 for s in "BGDAE"]
    by_column = "metre: 2/4\nkey: C\ncolumn: 1/16\n" + "\n".join(["e 0-1-3-5-3---1---", *strings])
    by_row = "metre: 2/4\nkey: C\n  e e e e q   q\n" + "\n".join(["e 0-1-3-5-3---1---", *strings])
    assert rhythm(read(by_column)) == rhythm(read(by_row)) == "8 8 8 8 | 4 4"


# notes


def test_every_note_keeps_its_string_and_fret() -> None:
    """String and fret are the source's marks, and pitches sound by them; notes of a chord go from low to high."""
    passage = read("metre: 2/4\nkey: C\n" + system(("-0-3-", "-1---", "-0---", "-2---", "-3-2-")))
    assert pitches(passage) == "C3+E3+G3+C4+E4 B2+G4"
    assert stops(passage) == [(5, 3), (4, 2), (3, 0), (2, 1), (1, 0), (5, 2), (1, 3)]


def test_two_digits_are_one_fret_unless_parted() -> None:
    """12 is the twelfth fret; 1-2 and 1 2 are two notes."""
    assert stops(read("key: C\nmetre: 4/4\n" + system(("-12-1-2-1 2-",))))[:3] == [(1, 12), (1, 1), (1, 2)]


def test_a_one_digit_fret_below_a_two_digit_one_starts_with_it() -> None:
    """Frets that overlap start together, whether the short one stands left or right."""
    passage = read("key: C\nmetre: 2/4\n" + system(("-10-12-", "-8---9-")))
    assert [len(event.notes) for event in passage.events] == [2, 2]


def test_hands_slur_as_written() -> None:
    """h, p, slides and ^ join a note to the one before on its string."""
    passage = read("key: C\nmetre: 4/4\n" + system(("-0h1-3p1-1/3-3^1-",)))
    order = {note.id: n for n, note in enumerate(passage.notes)}
    assert [(slur.kind, order[slur.start], order[slur.stop]) for slur in passage.slurs] == [
        ("hammer-on", 0, 1),
        ("pull-off", 2, 3),
        ("slide", 4, 5),
        ("slur", 6, 7),
    ]


def test_a_slur_may_cross_the_bar_line() -> None:
    """A link before a bar line reaches the first note behind it."""
    passage = read("key: C\nmetre: 2/4\n" + system(("-0-1h",), ("-3-1-",)))
    assert [slur.kind for slur in passage.slurs] == ["hammer-on"]


def test_a_damped_string_is_a_muted_note_of_the_open_string() -> None:
    """A cross has a string and no pitch of its own."""
    notes = list(read("key: C\nmetre: 2/4\n" + system(("-x-0-",))).notes)
    assert [(n.muted, str(n.pitch), n.given.string) for n in notes] == [(True, "E4", 1), (False, "E4", 1)]


def test_brackets_hold_a_note_or_are_told() -> None:
    """(3) after 3 is tied to it; without a note before it is played, and a notice says so."""
    tied = list(read("key: C\nmetre: 2/4\n" + system(("-3-(3)-",))).notes)
    assert [(n.tied_on, n.tied_back) for n in tied] == [(True, False), (False, True)]
    assert notices("key: C\nmetre: 2/4\n" + system(("-1-(3)-",))) == [
        "t.tab, line 3: left out or read freely: a fret in brackets that holds no note before it, played as any other"
    ]


def test_signs_of_other_styles_are_left_out_with_a_notice() -> None:
    """Vibrato, bends and harmonics are not kept, and the notice says where they were first."""
    said = notices("key: C\nmetre: 4/4\n" + system(("-3~-5b7-<7>-0-",)))
    assert said[0] == "t.tab, line 3: left out or read freely: vibrato"
    assert any(text.endswith("bends") for text in said)
    assert any(text.endswith("harmonics, 2 times") for text in said)


def test_fretting_digits_and_plucking_letters_below() -> None:
    """f: and p: below a system give fingers and letters, in a chord from the lowest string up."""
    bar = ("-0----3----", "-1---------", "-----------", "-2---------", "-3---------")
    text = "key: C\nmetre: 2/4\n" + system(bar, labels="eBGDAE", below=("f: 321  4", "p: pima m"))
    notes = list(read(text).notes)
    assert [(n.given.finger, n.given.pluck) for n in notes] == [
        (3, "p"),
        (2, "i"),
        (1, "m"),
        (None, "a"),
        (4, "m"),
    ]


# header


@pytest.mark.parametrize(
    ("line", "lowest"),
    [
        ("tuning: drop-d", "D2"),
        ("tuning: drop d", "D2"),
        ("tuning: D A D G B E", "D2"),
        ("tuning: DADGBE", "D2"),
        ("tuning: D2 A2 D3 G3 B3 E4", "D2"),
        ("tuning: E4 B3 G3 D3 A2 D2", "D2"),
        ("tuning: Eb Ab Db Gb Bb Eb", "E♭2"),
        ("tuning: standard", "E2"),
        ("", "E2"),
    ],
)
def test_tunings(line: str, lowest: str) -> None:
    """A tuning is a name of ours or pitches from low to high, with or without octaves."""
    labels = "      " if "Eb" in line else "eBGDA" + ("D" if lowest == "D2" else "E")
    text = f"{line}\nkey: C\nmetre: 2/4\n" + system(("-0-0-",), labels=labels)
    passage = read(text)
    assert passage.tuning is not None
    assert str(passage.tuning[-1]) == lowest
    assert len(passage.tuning) == 6


def test_labels_alone_tell_the_tuning() -> None:
    """Without a header the labels name the open strings."""
    strings = read("key: C\nmetre: 2/4\n" + "\n".join(f"{s}|-0-0-|" for s in ("d", "B", "F#", "D", "A", "D"))).tuning
    assert strings == tuple(Pitch.parse(name) for name in ("D4", "B3", "F#3", "D3", "A2", "D2"))


def test_seven_strings() -> None:
    """Seven lines are a seven-string guitar with a low B unless a tuning says otherwise."""
    plain = read("key: C\nmetre: 2/4\n" + system(("-0-0-",), labels="       "))
    low_a = read("tuning: seven-a\nkey: C\nmetre: 2/4\n" + system(("-0-0-",), labels="eBGDAEA"))
    assert [str(p.tuning[-1]) for p in (plain, low_a) if p.tuning] == ["B1", "A1"]


def test_a_capo_raises_what_sounds() -> None:
    """Frets count from the capo."""
    passage = read("capo: 2nd fret\nkey: D\nmetre: 2/4\n" + system(("-0-1-",)))
    assert (passage.capo, pitches(passage)) == (2, "F♯4 G4")


@pytest.mark.parametrize(
    ("line", "metre", "quarters"),
    [("96", "4/4", 96), ("48", "6/8", 72), ("1/8 = 120", "3/4", 60), ("1/4. = 40", "6/8", 60), ("72 bpm", "2/2", 144)],
)
def test_tempo_counts_beats_of_the_metre(line: str, metre: str, quarters: int) -> None:
    """A bare number counts the metre's beats; a value before it says which."""
    assert read(f"tempo: {line}\nkey: C\nmetre: {metre}\n" + system(("-0-0-",))).tempo == quarters


def test_words_of_the_header_are_kept() -> None:
    """Title, composer and rights come back as typed, in one line."""
    passage = read("Title: A   title\ncomposer: Someone\nrights: none\nkey: C\nmetre: 2/4\n\n" + system(("-0-0-",)))
    assert (passage.title, passage.composer, passage.rights) == ("A   title", "Someone", "none")


@pytest.mark.parametrize(
    ("key", "expected"),
    [("A minor", (0, "minor")), ("Am", (0, "minor")), ("F# major", (6, "major")), ("Bb", (-2, "major")),
     ("e", (1, "minor")), ("C#m", (4, "minor")), ("none", (0, ""))],
)  # fmt: skip
def test_keys(key: str, expected: tuple[int, str]) -> None:
    """Keys are read in the usual short and long forms."""
    found = read(f"key: {key}\nmetre: 2/4\n" + system(("-0-0-",))).bars[0].key
    assert (found.fifths, found.mode) == expected


def test_metre_and_key_may_change_between_systems() -> None:
    """Metre and key hold from the next system on."""
    text = "metre: 2/4\nkey: C\n" + system(("-0-0-",)) + "\nmetre: 3/4\nkey: G\n" + system(("-0-0-0-",))
    passage = read(text)
    assert [(str(b.metre), b.key.fifths) for b in passage.bars] == [("2/4", 0), ("3/4", 1)]


def test_without_a_key_the_fewest_accidentals_win() -> None:
    """The notes choose a signature, and a notice says so."""
    text = "metre: 4/4\n" + system(("-2-3-5-7-",))
    assert pitches(read(text)) == "F♯4 G4 A4 B4"
    assert notices(text) == ["no key is given; written with 1 sharp, which needs the fewest accidentals"]


# as found in mail


def test_a_mail_with_two_systems_and_comments() -> None:
    """Quote marks, capitals, typographic dashes, comments between, words behind the bar line: as found in mail."""
    text = """
> From: someone@example.org
> Hello - here it is. Note: play it slowly - and well - please
>
> E|–0–1–3–1–|–0–1–3–0–|
> B|---------|---------|
> G|---------|---------|
> D|---------|---------|
> A|---------|---------|
> E|---------|---------| x2

and then

     E|-3-1-0-1-|-0-------||
     B|---------|---------||
     G|---------|---------||
     D|---------|---------||
     A|---------|---------||
     E|---------|---------||
--
signature
"""
    passage = read(text)
    assert rhythm(passage) == "4 4 4 4 | 4 4 4 4 | 4 4 4 4 | 1"
    assert [str(n) for n in passage.notices] == [
        "no metre is given; read in 4/4",
        "t.tab, line 10: left out or read freely: 'x2' behind the last bar line",
    ]


@pytest.mark.parametrize("labels", ["eBGDAE", "EBGDAE", "ebgdae", "123456", "      "])
def test_labels_or_none(labels: str) -> None:
    """Labels may be missing, numbers, small or capital."""
    assert (
        pitches(
            read("key: C\nmetre: 2/4\n" + system(("-0-1-", "-----", "-----", "-----", "-----", "-3---"), labels=labels))
        )
        == "G2+E4 F4"
    )


def test_spaces_and_wide_labels_do_not_shift() -> None:
    """Columns count from behind the label, so F# beside e does no harm, and spaces are time."""
    lines = ["e |-0   1-|", "B |- - - -|", "F#|-------|", "D |-------|", "A |-------|", "E |-------|"]
    assert pitches(read("key: C\nmetre: 2/4\n" + "\n".join(lines))) == "E4 F4"


# refusals


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", [NOTHING]),
        ("just words\n- and more -", [NOTHING]),
        (
            "key: C\nmetre: 2/4\n" + system(("-0-z-",)),
            ["t.tab, line 3: column 6: 'z' is not a fret (a fret is a number from 0 to 19; x is a damped string)"],
        ),
        (
            "key: C\nmetre: 2/4\n" + system(("-0-57-",)),
            ["t.tab, line 3: column 6: fret 57 is beyond the neck, which ends at 19 (leave a dash between two notes)"],
        ),
        (
            "capo: 5\nkey: C\nmetre: 2/4\n" + system(("-0-17-",)),
            ["t.tab, line 4: column 6: fret 17 is beyond the neck, which ends at 14 (leave a dash between two notes)"],
        ),
        (
            "key: C\nmetre: 2/4\n" + system(("-0-1-",)).replace("B|-----|", "B|----|"),
            ["t.tab, line 4: string 2 is 6 columns long, the others 7 (make all lines of a system equally long)"],
        ),
        (
            "key: C\nmetre: 2/4\n" + system(("-0-1-",), labels="eBGDA"),
            ["t.tab, line 3: a system of 5 lines, the tuning has 6 strings (one line for each string, a line of dashes "
             "where it is silent; the header's tuning says how many)"],
        ),
        (
            "key: C\nmeter: 2/4\n" + system(("-0-1-",)),
            ["t.tab, line 2: 'meter' is not a key of the header (did you mean metre? known: title, composer, rights, "
             "source, tuning, capo, metre, key, column, tempo, pickup)"],
        ),
        (
            "key: H major\nmetre: 2/5\ncapo: 30\ntempo: fast\ncolumn: 1/7\npickup: x\ntuning: XYZ\n"
            + system(("-0-1-",)),
            ["t.tab, line 1: key 'H major' is not a key of at most seven signs "
             "(such as A minor, Em, F# minor or Bb major)",
             "t.tab, line 2: metre '2/5' is not a metre (such as 3/4, 6/8 or 3+2/8)",
             "t.tab, line 3: capo '30' is not a fret from 0 to 12 (such as capo: 2)",
             "t.tab, line 4: tempo 'fast' is not a number of beats from 10 to 500 "
             "(such as tempo: 96, or tempo: 1/4 = 96)",
             "t.tab, line 5: column '1/7' is not a part of a whole note (such as 1/16; 1/12 is an eighth of a triplet)",
             "t.tab, line 6: pickup 'x' is not a part of a whole note (such as 1/16; 1/12 is an eighth of a triplet)",
             "t.tab, line 7: tuning 'XYZ' is not a tuning (known: standard, drop-d, drop-d-g, lute, dadgbd, seven, "
             "seven-a; or strings from the lowest to the highest, such as D A D G B E)"],
        ),
        (
            "key: C\nkey: D\nmetre: 2/4\n" + system(("-0-1-",)),
            ["t.tab, line 2: 'key' stands twice, first in line 1 (leave one of them out)"],
        ),
        (
            "capo: -3\nkey: C\nmetre: 2/4\n" + system(("-0-1-",)),
            ["t.tab, line 1: capo '-3' is not a fret from 0 to 12 (such as capo: 2)"],
        ),
        (
            "key: C\nmetre: 2/4\n" + system(("-0-1-",)) + "\ncapo: 3\n",
            ["t.tab, line 10: 'capo' stands below the first system "
             "(move it up; between systems only metre, key, column may change)"],
        ),
        (
            "tuning: drop-d\nkey: C\nmetre: 2/4\n" + system(("-0-1-",)),
            ["t.tab, line 9: string 6 is labelled E, its tuning is D (make label and tuning agree)"],
        ),
        (
            "key: C\nmetre: 2/4\n" + system(("-0-1-",), labels="EADGBe"),
            ["t.tab, line 3: the lowest string is on top (type the highest string (e) on top)"],
        ),
        (
            "key: C\nmetre: 3/4\n" + system(("0--1--",), above="  q  q"),
            ["t.tab, line 4: the values of bar 1 add up to 2 quarters, 3/4 has 3 (check the rhythm row)"],
        ),
        (
            "key: C\nmetre: 2/4\n" + system(("0--1--",), above="  q"),
            ["t.tab, line 4: column 6: no value stands above this note (write one of w h q e s t above each note)"],
        ),
        (
            "key: C\nmetre: 2/4\n" + system(("0--1--",), above="  q  qq"),
            ["t.tab, line 3: column 6: 'qq' is not a value (known: w h q e s t with dots and a tuplet's digit)"],
        ),
        (
            "key: C\nmetre: 2/4\n" + system(("0--1--3--",), above="  e3 e3 q"),
            ["t.tab, line 3: column 9: the tuplet is not complete "
             "(a triplet has three equal parts: e3 e3 e3, or q3 e3)"],
        ),
        (
            "key: C\nmetre: 2/4\ncolumn: 1/8\n" + system(("-0-1-3-",)),
            ["t.tab, line 4: the bar that starts at column 3 has 7 columns, 4 are needed "
             "(a dash after each bar line may be added; two digits of one fret may count as one column)"],
        ),
        (
            "key: C\nmetre: 2/4\n" + system(("0--z--",), ("1--3--",), above="  q  q   q  q."),
            ["t.tab, line 4: column 6: 'z' is not a fret (a fret is a number from 0 to 19; x is a damped string)",
             "t.tab, line 4: the values of bar 2 add up to 2½ quarters, 2/4 has 2 (check the rhythm row)"],
        ),
        (
            "key: C\nmetre: 2/4\n" + system(("-0-1-",), below=("f: 13",)),
            ["t.tab, line 9: column 4: 13 does not fit the 1 notes above it "
             "(one digit for each stopped note, the lowest string first; 0 is an open string)"],
        ),
        (
            "key: C\nmetre: 2/4\n" + system(("-0-1-",), below=("p:  i",)),
            ["t.tab, line 9: column 5: i stands below no note (put it below the note it is for)"],
        ),
        (
            "key: C\nmetre: 2/4\n" + system(("-0-1-",)).replace("G|-----|", "G|--|--|"),
            ["t.tab, line 5: column 5: a bar line on 1 of 6 strings (let bar lines cross all strings)"],
        ),
        (
            "key: C\nmetre: 2/4\n" + system(("-0-1-",), ("-0-1-",)).replace("G|-----|-----|", "G|-----------|"),
            ["t.tab, line 5: column 8: a bar line is missing (let bar lines cross all strings)"],
        ),
    ],
)  # fmt: skip
def test_faults_are_told_in_place(text: str, said: list[str]) -> None:
    """Each fault is one line: file, line, column, value, limit, hint; and all faults come at once."""
    assert faults(text) == said


def test_more_faults_than_anyone_reads_are_cut() -> None:
    """A thousand faults give forty lines."""
    said = faults("metre: 2/4\nkey: C\n" + system(("-z" * 500 + "-",)))
    assert len(said) == 40
    assert "there are more faults from here on" in said[-1]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("metre: 4/4\nkey: C\n" + (system(*[("-0-1-",)] * 50) + "\n") * 9, "more than 400 bars"),
        ("metre: 4/4\nkey: C\ncolumn: 1/64\n" + system(("0" + "-0" * 1100,)), "notes in one bar, the limit is 1000"),
    ],
)
def test_too_much_is_refused(text: str, said: str) -> None:
    """More bars or notes than one passage may hold are refused with advice."""
    assert said in faults(text)[0]


# laws


@given(
    notes=st.lists(st.dictionaries(st.integers(1, 6), st.integers(0, 19), max_size=4), min_size=8, max_size=8),
    width=st.sampled_from([3, 4]),
    pad=st.booleans(),
)
@settings(max_examples=120, deadline=None)
def test_what_is_typed_is_read(notes: list[dict[int, int]], width: int, pad: bool) -> None:
    """Law: a grid of frets written out and read again gives the same strings and frets at the same times."""
    lines = []
    for string in range(1, 7):
        texts = [str(slot[string]) if string in slot else "" for slot in notes]
        lines.append("|" + "-" * pad + "".join(text.ljust(width, "-") for text in texts) + "|")
    passage = read(f"metre: 4/4\nkey: C\ncolumn: 1/{8 * width}\n" + "\n".join(lines))
    heard: dict[Fraction, dict[int | None, int | None]] = {}
    for event in passage.events:
        for note in event.notes:
            if not note.tied_back:
                heard.setdefault(event.onset, {})[note.given.string] = note.given.fret
    assert heard == {Fraction(number, 2): slot for number, slot in enumerate(notes) if slot}


_WORDS = ["e|", "B|", "-", "--", "0", "12", "x", "h", "p", "|", "||", ":|", "|:", "(", ")", "~", "/", "\n", "\n\n", " ",
          "key: ", "metre: ", "3/4", "q", "e3", "r:", "f:",
          "p:", "1", "♯", "\t", "\x00", "\u2028", "capo: ", "999999", "²"]  # fmt: skip


@given(st.one_of(st.text(max_size=200), st.lists(st.sampled_from(_WORDS), max_size=150).map("".join)))
@settings(max_examples=300, deadline=None)
def test_any_text_is_a_passage_or_a_line(text: str) -> None:
    """Law: whatever the text, there is a passage or a ReadError with one line a fault, and nothing else."""
    try:
        read(text)
    except ReadError as error:
        told = str(error).splitlines()
    else:
        told = []
    assert all(line.startswith("t.tab") for line in told)


@given(data=st.data())
@settings(max_examples=60, deadline=None)
def test_a_spoilt_example_is_a_passage_or_a_line(data: st.DataObject) -> None:
    """Law: the same for the built-in line with characters changed, lost or doubled."""
    text = list(resources.text("shared/passage.tab"))
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, len(text) - 1))
        text[at] = data.draw(st.sampled_from([*"-|0123456789hpx~/()\n: ", "", text[at] * 2, "12"]))
    try:
        passage = read("".join(text))
    except ReadError:
        return
    assert passage.tuning is not None
    for note in passage.notes:
        assert note.given.string is not None
        if not note.muted:
            assert note.pitch.midi == passage.tuning[note.given.string - 1].midi + passage.capo + (note.given.fret or 0)


def _wide(top: str) -> str:
    return "".join(f"{name}|{top if name == 'e' else '-' * len(top)}|\n" for name in "eBGDAE")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (_wide("-1-" * 5_000), "5000 notes in one bar"),
        (_wide("-1-" * 20_000), "20000 notes up to here"),
        (_wide("-1-" + "-" * 15_000) + "f: " + "1 " * 7_000, "notes up to here"),
        ("---1---\n" * 20_000 + "|---1--|\n", "a system of 1 lines"),
        ("e|" + "-1|" * 300_000 + "\n", "a system of 1 lines"),
        ("title: x\n" * 20_000, "'title' stands twice"),
    ],
    ids=["a wide bar", "a wider bar", "a long row", "lines without bars", "one long line", "titles"],
)
def test_what_is_too_much_is_refused_before_its_time_is_worked_out(
    text: str, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A text beyond the bounds is refused in a few lines, none of them about the time of its bars."""
    monkeypatch.setattr("engrave.reading.tablature.to_passage.work_out", _not_reached)
    with pytest.raises(ReadError) as caught:
        read_tablature(text, "x.tab")
    assert said in str(caught.value)
    assert len(caught.value.faults) <= 40


def _not_reached(*_: object) -> None:
    raise AssertionError


@pytest.mark.parametrize("value", ["-3", "13", "3-5", "x", "3 4"])
def test_a_capo_is_a_fret_or_refused(value: str) -> None:
    """Only a fret from 0 to 12 is read as one: no figure is picked out of anything else."""
    with pytest.raises(ReadError, match="capo"):
        read_tablature(f"capo: {value}\n{_wide('0-1-3-0-')}", "x.tab")
