"""Lines moved over the neck: places, pitches and spelling, and what falls off it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21 import interval, pitch

from engrave.axes import vary
from engrave.axes.basses import WOUND, WOUND_OPEN
from engrave.axes.strings import STRINGS
from engrave.axes.transposing import moved_key, moved_pitch
from engrave.instruments import find_hand, find_instrument
from engrave.model import Declined, Key, Pitch, Study, Variation, with_notes
from tests.axes.laws import check
from tests.axes.lines import line, place, refusal, say
from tests.axes.passages import own, under
from tests.build import passage

TOP = "E4:1.0.0/8 F4:1.1.1/8 E4:1.0.0/8 G4:1.3.4/8 F4:1.1.1/4 E4:1.0.0/4"
PAIR = "E4:1.0.0/4 G4:1.3.4/4 B3:2.0.0/4 C4:2.1.1/4"
CHANGES = [
    ("shape on 2", TOP, "B3 C4 B3 D4 C4 B3", "2.0 2.1 2.0 2.3 2.1 2.0"),
    ("shape on 3", TOP, "G3 A♭3 G3 B♭3 A♭3 G3", "3.0 3.1 3.0 3.3 3.1 3.0"),
    ("shape on 6", TOP, "E2 F2 E2 G2 F2 E2", "6.0 6.1 6.0 6.3 6.1 6.0"),
    ("shape on 2", PAIR, "B3 D4 G3 G♯3", "2.0 2.3 3.0 3.1"),
    ("intervals on 2", PAIR, "C4 E♭4 G3 A♭3", "2.1 2.4 3.0 3.1"),
    ("up 2", TOP, "E4 G4 E4 A4 G4 E4", "1.0 1.3 1.0 1.5 1.3 1.0"),
    ("down 1", "G4:1.3.1/4 A4:1.5.3/4 G4:1.3.1/2", "F♯4 G♯4 F♯4", "1.2 1.4 1.2"),
    ("open 3", TOP, "G3 G3 G3 G3 G3 G3", "3.0 3.0 3.0 3.0 3.0 3.0"),
    ("open 6", PAIR, "E2 E2 E2 E2", "6.0 6.0 6.0 6.0"),
    ("highest", TOP, "E4 A5 E4 B5 A5 E4", "1.0 1.17 1.0 1.19 1.17 1.0"),
]
SCALE = (
    "E2:6.0.0/16 F2:6.1.1/16 G2:6.3.3/16 A2:5.0.0/16 B2:5.2.2/16 C3:5.3.3/16 D3:4.0.0/16 E3:4.2.2/16 "
    "F3:4.3.3/16 G3:3.0.0/16 A3:3.2.2/16 B3:2.0.0/16 C4:2.1.1/16 D4:2.3.3/16 E4:1.0.0/16 F4:1.1.1/16"
)
"""a bar on all six strings"""
FALLS_OFF = [
    ("shape on 1", TOP, "the line lies there already: its highest string is ①", ""),
    ("shape on 6", PAIR, "B3 on ② would need a string 7, the instrument has 6", "bar 1, beat 3"),
    ("intervals on 3", PAIR, "no fret changes: it is “same frets from ③”", ""),
    ("intervals on 6", PAIR, "B3 on ② would need a string 7, the instrument has 6", "bar 1, beat 3"),
    ("down 1", TOP, "F4 would need fret 0, the neck has 1 to 19", "bar 1, beat 1½"),
    ("up 18", TOP, "G4 would need fret 21, the neck has 1 to 19", "bar 1, beat 2½"),
    ("up 2", "E4:1.0.0/1", "every note is an open string: there is nothing to move along the neck", ""),
    (
        "up 2",
        "E4:1.0.0+C4:2.1.1/1",
        "at C4 stopped notes sound together with an open string, which does not move: they would clash",
        "bar 1, beat 1",
    ),
    (
        "up 2",
        "C3:5.3.3/4 G3/4 C4:2.1.1/4 E4/4",
        "at C3 stopped notes sound together with an open string, which does not move: they would clash",
        "bar 1, beat 1",
    ),
    (
        "up 2",
        "F4:1.1.1/4 B3/4 A3:3.2.2/4 E4/4",
        "open strings, which do not move: 2 of 4 notes; with so many another tune comes out",
        "",
    ),
    ("octave down", "E2/2 F2/2", "E2 would lie below the instrument", "bar 1, beat 1"),
    ("octave up", "B5:1.19.4/1", "B5 would lie above the instrument", "bar 1, beat 1"),
    ("climb", TOP, "the line has 1 bar: it would not leave its first string", ""),
    ("open 7", TOP, "there is no string 7, the instrument has 6", ""),
    (
        "open 2",
        "E4:1.0.0/2 G4:1.3.4+C4:2.1.1/2",
        "at C4 several strings sound: one open string is for a line of single notes",
        "bar 1, beat 3",
    ),
    (
        "climb",
        f"{SCALE} | {SCALE}",
        "every bar needs all 6 strings: there is nowhere to climb",
        "",
    ),
    (
        "climb",
        "E2:6.0.0/2 E4:1.0.0/2 | E2:6.0.0/2 E4:1.0.0/2",
        "it is for lines, and the passage has none",
        "",
    ),
    ("shape on 2", "r/1", "the line has no notes to move", ""),
]


def told(variation: Variation) -> tuple[str, str]:
    """Pitches and places in playing order."""
    notes = list(variation.passage.notes)
    places = [n.placement for n in notes if n.placement]
    return " ".join(str(n.pitch) for n in notes), " ".join(f"{p.string}.{p.fret}" for p in places)


@pytest.mark.parametrize(("setting", "music", "pitches", "places"), CHANGES)
def test_what_each_setting_does(setting: str, music: str, pitches: str, places: str) -> None:
    """Pitches follow the tuning, or frets give way to keep the intervals."""
    made = vary(line(music), Study(strings=setting))
    assert isinstance(made, Variation), made
    assert told(made) == (pitches, places)
    assert check(made) == ()


@pytest.mark.parametrize(("setting", "music", "reason", "where"), FALLS_OFF)
def test_what_falls_off_the_neck_declines_and_names_the_note(setting: str, music: str, reason: str, where: str) -> None:
    """The reason has the note, the fact and the limit; the place stands beside it."""
    made = vary(line(music), Study(strings=setting))
    assert isinstance(made, Declined)
    assert (made.reason, made.place) == (reason, where)


def test_fingers_stay_when_the_shape_does() -> None:
    """The same frets on other strings are the same fingers, and up the neck too."""
    before = line(TOP)
    for setting in ("shape on 4", "up 3"):
        made = vary(before, Study(strings=setting))
        assert isinstance(made, Variation)
        fingers = [[n.placement.finger for n in v.passage.notes if n.placement] for v in (before, made)]
        assert fingers[0] == fingers[1]


def test_a_climb_goes_from_the_lowest_strings_to_the_highest_and_back() -> None:
    """A line on one string climbs ⑥ to ① and turns."""
    bars = " | ".join(["E4:1.0.0/4 F4:1.1.1/4 G4:1.3.4/4 F4:1.1.1/4"] * 12)
    made = vary(line(bars), Study(strings="climb"))
    assert isinstance(made, Variation)
    strings = [e.notes[0].placement.string for e in made.passage.events if e.notes[0].placement]
    assert strings[::4] == [6, 5, 4, 3, 2, 1, 2, 3, 4, 5, 6, 5]
    assert check(made) == ()


def test_each_bar_of_a_climb_has_a_string_of_its_own() -> None:
    """Bars on one string lie on ⑥ to ① and back, whichever they lay on; one on two strings lies as near as it can."""
    one, two = "E4:1.0.0/2 F4:1.1.1/2", "B3:2.0.0/2 C4:2.1.1/2"
    made = vary(line(" | ".join([one, two, two, one, two, one, two, one])), Study(strings="climb"))
    assert isinstance(made, Variation)
    strings = [n.placement.string for n in made.passage.notes if n.placement]
    assert strings[::2] == strings[1::2] == [6, 5, 4, 3, 2, 1, 2, 3]

    mixed = vary(line(" | ".join(["E4:1.0.0/2 B3:2.0.0/2", one, two, one])), Study(strings="climb"))
    assert isinstance(mixed, Variation)
    assert [n.placement.string for n in mixed.passage.notes if n.placement] == [5, 6, 4, 4, 3, 3, 1, 1]
    assert [str(n) for n in mixed.notices] == ["notes on more than one string, moved together: bar 1"]
    crossing = vary(line(" | ".join(["E4:1.0.0/2 B3:2.0.0/2", one, two])), Study(strings="climb"))
    assert isinstance(crossing, Declined)
    assert crossing.reason == "stretches that cross strings: 1 of 3; with the same frets another tune comes out"


@pytest.mark.parametrize(
    ("bars", "strings"), [(2, [6, 1]), (3, [6, 4, 1]), (4, [6, 4, 3, 1]), (5, [6, 5, 4, 2, 1]), (6, [6, 5, 4, 3, 2, 1])]
)
def test_a_climb_of_few_bars_reaches_the_highest_string(bars: int, strings: list[int]) -> None:
    """With fewer bars than strings some strings are left out, never ⑥ or ①, and none comes twice."""
    made = vary(line(" | ".join(["E4:1.0.0/2 F4:1.1.1/2"] * bars)), Study(strings="climb"))
    assert isinstance(made, Variation)
    assert [n.placement.string for n in made.passage.notes if n.placement][::2] == strings


def test_the_built_in_line_climbs_over_all_six_strings() -> None:
    """Bar by bar from ⑥ to ①; fingers and frets as they were."""
    before = own()["built in"]
    made = vary(before, Study(strings="climb"))
    assert isinstance(made, Variation)
    lies = [{n.placement.string for e in made.passage.events if e.bar == bar for n in e.notes if n.placement}
            for bar in range(6)]  # fmt: skip
    assert lies == [{6}, {5}, {4}, {3}, {2}, {1}]
    held = [[(n.placement.fret, n.placement.finger) for n in v.passage.notes if n.placement] for v in (before, made)]
    assert held[0] == held[1]


@pytest.mark.parametrize("setting", ["shape on 4", "shape on 5", "octave down", "open 5"])
def test_a_line_on_the_basses_asks_for_nails_and_quiet(setting: str) -> None:
    """Whatever else the page is for, the cue says it once; on the trebles nothing says it."""
    before = own()["built in"]
    for pluck in ("as given", "m-a", "a-m-i"):
        made = vary(before, Study(strings=setting, pluck=pluck))
        assert isinstance(made, Variation)
        assert made.cue.count(WOUND) + made.cue.count(WOUND_OPEN) == 1, made.cue
    plain = vary(before, Study(pluck="m-a"))
    assert isinstance(plain, Variation)
    assert "ound string" not in plain.cue


@pytest.mark.parametrize("setting", ["shape on 4", "shape on 5", "open 5"])
def test_a_line_on_the_basses_keeps_its_letters(setting: str) -> None:
    """Basses are for fingers too: i m stay i m."""
    before = own()["built in"]
    assert say(vary(before, Study(strings=setting))) == say(vary(before, Study()))


def test_a_climb_does_not_cut_a_tie() -> None:
    """A note held over the bar line keeps its string, so the climb declines there."""
    assert (
        refusal(line("E4:1.0.0/2 F4~:1.1.1/2 | F4:1.1.1/2 E4:1.0.0/2"), strings="climb")
        == "F4 is tied over the bar line where the string changes"
    )


def test_a_stretch_that_fits_high_up_is_refused_where_frets_are_wider() -> None:
    """Fingers 1 and 4 over five frets: held at fret 9, too far apart at fret 1 for a small hand."""
    high = replace(line("C#5:1.9.1/4 F#5:1.14.4/4 C#5:1.9.1/2"), hand=find_hand("small"))
    notes = list(high.passage.notes)
    same = {n.id: replace(n, placement=replace(n.placement, position=9)) for n in notes if n.placement}

    assert (
        refusal(replace(high, passage=with_notes(high.passage, same)), strings="down 8")
        == "B♭4 cannot be reached there: fingers 1 and 4 154 mm apart, the hand reaches 120"
    )


@pytest.mark.parametrize("tuning", ["standard", "drop-d", "lute", "dadgbd", "seven"])
def test_pitches_follow_any_tuning(tuning: str) -> None:
    """On every instrument a moved line sounds what its strings sound at its frets."""
    guitar = find_instrument(tuning)
    open_, stopped = (guitar.midi(1, fret) for fret in (0, 2))
    names = {64: "E4", 62: "D4", 66: "F#4"}
    music = place(passage(f"{names[open_]}:1.0.0/2 {names[stopped]}:1.2.2/2"), tuning)
    for string in range(2, len(guitar.strings) + 1):
        made = vary(music, Study(strings=f"shape on {string}"))
        assert isinstance(made, Variation)
        assert [n.pitch.midi for n in made.passage.notes] == [guitar.midi(string, 0), guitar.midi(string, 2)]
        assert check(made) == ()


def test_the_third_between_the_third_and_second_string_moves_a_fret() -> None:
    """All neighbours are a fourth apart but ③ and ②, a major third: frets there differ by one (arithmetic)."""
    made = vary(line("G4:1.3.1/4 D4:2.3.1/4 G4:1.3.1/2"), Study(strings="intervals on 2"))
    assert isinstance(made, Variation)
    assert told(made)[1] == "2.3 3.2 2.3"


@given(
    fifths=st.integers(-6, 6),
    semitones=st.integers(-24, 24),
    step=st.sampled_from("CDEFGAB"),
    alter=st.integers(-1, 1),
    octave=st.integers(2, 5),
)
@settings(max_examples=150, deadline=None)
def test_a_line_moved_whole_is_spelled_as_music21_transposes_it(
    fifths: int, semitones: int, step: str, alter: int, octave: int
) -> None:
    """The interval between the tonics, applied by music21 to the note, gives the same pitch in the same spelling."""
    old = Key(fifths=fifths)
    new = moved_key(old, semitones)
    signs = {-1: "-", 0: "", 1: "#"}
    tonic = (
        pitch.Pitch("C4").transpose(interval.Interval("P5" if fifths >= 0 else "P-5")) if fifths else pitch.Pitch("C4")
    )
    for _ in range(abs(fifths) - 1):
        tonic = tonic.transpose(interval.Interval("P5" if fifths > 0 else "P-5"))
    target = pitch.Pitch("C4")
    for _ in range(abs(new.fifths)):
        target = target.transpose(interval.Interval("P5" if new.fifths > 0 else "P-5"))
    while target.ps - tonic.ps > semitones:
        target.octave = target.implicitOctave - 1
    while target.ps - tonic.ps < semitones:
        target.octave = target.implicitOctave + 1
    assert target.ps - tonic.ps == semitones
    theirs = pitch.Pitch(f"{step}{signs[alter]}{octave}").transpose(interval.Interval(tonic, target))
    ours = moved_pitch(Pitch(step=step, alter=alter, octave=octave), semitones, old, new)
    assert ours.midi == theirs.midi
    if theirs.alter in (-2, -1, 0, 1, 2):
        assert (ours.step, ours.alter) == (theirs.step, int(theirs.alter))


def names_in(variation: Variation, bar: int) -> dict[int, set[str]]:
    """Pitch class → the names it has in a bar."""
    found: dict[int, set[str]] = {}
    for event in variation.passage.events:
        for note in event.notes if event.bar == bar else ():
            found.setdefault(note.pitch.midi % 12, set()).add(note.pitch.name)
    return found


@pytest.mark.parametrize("setting", [s.name for s in STRINGS.settings])
def test_a_moved_line_has_one_name_for_a_pitch_in_a_bar(setting: str) -> None:
    """No bar shows one fret under two names, unless the source does."""
    for name, before in own().items():
        bars = range(len(before.passage.bars))
        if any(len(names) > 1 for bar in bars for names in names_in(before, bar).values()):
            continue
        made = under(name, "strings", setting)
        if isinstance(made, Declined):
            continue
        for bar in bars:
            assert all(len(names) == 1 for names in names_in(made, bar).values()), (name, bar + 1)


def test_no_barre_is_moved_above_the_body() -> None:
    """Up to fret 12 a barre moves along the neck; above it the move is declined with the fret."""
    plain = line("F2:6.1.1+C4:2.1.1+F4:1.1.1/1")
    barred = {
        n.id: replace(n, placement=replace(n.placement, barre="full")) for n in plain.passage.notes if n.placement
    }
    music = replace(plain, passage=with_notes(plain.passage, barred))
    assert isinstance(vary(music, Study(strings="up 11")), Variation)
    for setting in ("up 12", "highest"):
        made = vary(music, Study(strings=setting))
        assert isinstance(made, Declined)
        assert "where the body begins" in made.reason


def test_thirds_do_not_move_where_they_would_be_other_chords() -> None:
    """Thirds over the third and second string are fourths on others (common practice): told, and no page is made."""
    thirds = "G3:3.0.0+B3:2.0.0/4 A3:3.2.3+C4:2.1.1/4 B3:3.4.4+D4:2.3.2/4 C4:2.1.1+E4:1.0.0/4"
    made = vary(line(thirds), Study(strings="shape on 2"))
    assert isinstance(made, Declined)
    assert "chords that sound otherwise on other strings: 4 of 4" in made.reason
    low = "E2:6.0.0+B2:5.2.2/4 F2:6.1.1+C3:5.3.3/4 G2:6.3.1+D3:5.5.3/4 F2:6.1.1+C3:5.3.3/4"
    assert isinstance(vary(line(low), Study(strings="shape on 4")), Variation)
