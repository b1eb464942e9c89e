"""The plucking hand: cycles, chords, voices, slurred and tied notes."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from importlib.util import find_spec
from itertools import pairwise, permutations
from math import lcm
from pathlib import Path

import pytest

from engrave.axes import find, vary
from engrave.axes.pluck import PLUCK
from engrave.axes.plucking import crossings
from engrave.model import PLUCKING, Declined, PlanError, Study, Variation, with_notes
from tests.axes.lines import TREBLES, line, pluck, refusal, say

CHANGES = [
    ("E4/4 F4/4 G4/4 E4/4", "i-m", "i m i m"),
    ("E4/4 F4/4 G4/4 E4/4", "m-i", "m i m i"),
    ("E4/4 F4/4 G4/4 E4/4", "a-m-i", "a m i a"),
    ("E4/4 F4/4 G4/4 E4/4", "p-i-m-i", "p i m i"),
    ("E4/4 F4/4 G4/4 E4/4", "p-c", "p c p c"),
    ("E4/4 r/4 G4/4 E4/4", "i-m", "i m i"),
    ("E4/4 F4~/4 F4/4 E4/4", "i-m", "i m - i"),
    ("E4/4 C3+E4/4 G4/4 E4/4", "i-m", "i p+m i m"),
    ("E4/4 C3+G3+C4/4 G4/4 E4/4", "i-m", "i p+i+m i m"),
    ("<F4/8 E4/4 F4/4 G4/4 E4/4", "i-m", "i m i m i"),
]


@pytest.mark.parametrize(("music", "setting", "letters"), CHANGES)
def test_a_cycle_gives_the_next_finger_to_the_next_plucked_note(music: str, setting: str, letters: str) -> None:
    """Rests and tied notes take none; in chords the top note has the turn and p the bass."""
    assert pluck(line(music), setting) == letters


def test_the_cycle_runs_on_the_upper_voice_over_the_thumb() -> None:
    """A lower voice is played by p, together with the upper one or alone."""
    two = line("E4/4 F4/4 G4/4 r/4", "C3/2 A2/4 C3/4")
    assert pluck(two, "i-m") == "i p m i p p"


@pytest.mark.parametrize(
    ("voices", "setting", "reason"),
    [
        (("E4/4 F4/4 G4/4 E4/4", "C3/2 C3/2"), "p-i", "it is for lines, and the passage has none"),
        (("C3+G3+C4+E4/2 C3+G3+C4+E4/2",), "a-m", "it is for lines or melodies over a bass, and the passage has none"),
        (("C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8",), "p-i-m-a", "it is for lines, and the passage has none"),
        (("E4/4 F4/4 G4/4 E4/4",), "order p-i-m-a", "it is for broken chords, and the passage has none"),
    ],
)
def test_a_setting_declines_what_it_is_not_for(voices: tuple[str, ...], setting: str, reason: str) -> None:
    """Over a bass the thumb is not free; chords are plucked as they lie; broken chords keep a finger on each string."""
    assert refusal(line(*voices), pluck=setting) == reason


def test_a_study_of_less_than_a_fifth_of_the_notes_is_declined() -> None:
    """Four notes of line after twenty-four of broken chords are not worth a page."""
    chords = " | ".join(["C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8"] * 3)
    assert refusal(line(f"{chords} | E4/4 F4/4 G4/4 F4/4"), pluck="a-m") == (
        "it is for lines or melodies over a bass, and less than a fifth of the passage's notes lie in any"
    )


def test_a_slurred_note_takes_no_stroke_and_no_turn() -> None:
    """The finger whose turn it was plays the next plucked note."""
    music = line("F4/4 E4/4 F4/4 E4/4")
    first, second, *_ = music.passage.notes
    slurred = replace(music, passage=with_notes(music.passage, {second.id: replace(second, slurred_from=first.id)}))
    assert pluck(slurred, "i-m") == "i - m i"


def test_there_are_ten_pairs_and_twenty_with_the_starting_finger() -> None:
    """Combinatorics: two of five is ten, ordered twenty."""
    pairs = [s.name for s in PLUCK.settings if re.fullmatch("[pimac]-[pimac]", s.name)]
    assert sorted(pairs) == sorted(f"{a}-{b}" for a, b in permutations(PLUCKING, 2))
    assert len({frozenset(p.split("-")) for p in pairs}) == 10


def accented(made: Variation) -> list[str]:
    """The fingers that take the accents, in order."""
    events = [event for event in made.passage.events if "accent" in event.marks]
    return [note.stroke.finger for event in events for note in event.notes if note.stroke]


@pytest.mark.parametrize("group", [2, 3, 4])
@pytest.mark.parametrize("cycle", ["i-m", "a-m-i", "p-a-m-i", "p-i-m-a-c"])
def test_a_cycle_over_groups_comes_round_after_the_least_common_multiple(cycle: str, group: int) -> None:
    """A cycle of n fingers and an accent on every g-th note meet again after lcm(n, g) notes."""
    bars = " | ".join(["E4/8 F4/8 E4/8 G4/8 E4/8 F4/8 E4/8 G4/8"] * 4)
    made = vary(line(bars), Study(pluck=cycle, accent=f"every {group}"))
    assert isinstance(made, Variation)
    fingers = cycle.split("-")
    round_ = lcm(len(fingers), group) // group
    order = accented(made)
    assert order[:round_] == [fingers[n * group % len(fingers)] for n in range(round_)]
    assert order[round_:] == order[:-round_]
    assert all(order[n:] != order[:-n] for n in range(1, round_))


def test_a_m_i_on_a_line_that_alternates_with_an_open_string_accents_all_three_fingers_in_six_notes() -> None:
    """Common practice: the accent on each fretted note visits a, i, m and comes round after six notes."""
    bars = " | ".join(["F4/8 E4/8 G4/8 E4/8 F4/8 E4/8 G4/8 E4/8"] * 3)
    made = vary(line(bars), Study(pluck="a-m-i", accent="fretted notes"))
    assert isinstance(made, Variation)
    assert accented(made) == ["a", "i", "m"] * 4


def test_over_fours_the_cycle_of_three_comes_round_after_twelve_notes() -> None:
    """Semiquavers, four a beat, against a m i: the finger on the beat is another for three beats."""
    made = vary(line(" ".join(["E4/16 F4/16 E4/16 G4/16"] * 4)), Study(pluck="a-m-i"))
    assert isinstance(made, Variation)
    assert [note.stroke.finger for note in made.passage.notes if note.stroke][::4] == ["a", "m", "i", "a"]


@pytest.mark.parametrize(
    ("row", "natural", "awkward", "repeats"),
    [
        ([("i", 2), ("m", 1)], 1, 0, 0),
        ([("m", 2), ("i", 1)], 0, 1, 0),
        ([("m", 1), ("i", 2)], 1, 0, 0),
        ([("i", 1), ("m", 2)], 0, 1, 0),
        ([("i", 1), ("m", 1)], 0, 0, 0),
        ([("i", 1), ("i", 2)], 0, 0, 1),
        ([("p", 4), ("c", 1), ("a", 2)], 2, 0, 0),
    ],
)
def test_crossings_are_natural_when_rank_rises_towards_the_treble(
    row: list[tuple[str, int]], natural: int, awkward: int, repeats: int
) -> None:
    """Rank p0 i1 m2 a3 c4; the opposite is the awkward crossing (common practice)."""
    found = crossings(row)
    assert (found.natural, found.awkward, found.repeats) == (natural, awkward, repeats)


def test_strict_alternation_leaves_only_the_start_to_choose() -> None:
    """The other start of a pair turns every awkward crossing into a natural one."""
    there, back = (vary(line(TREBLES), Study(pluck=p)) for p in ("i-m", "m-i"))
    assert isinstance(there, Variation)
    assert isinstance(back, Variation)
    assert (there.figures.awkward, there.figures.natural) == (back.figures.natural, back.figures.awkward)
    assert there.figures.awkward < back.figures.awkward


@pytest.mark.parametrize(
    ("setting", "letters"),
    [
        ("p-i-m", "p i m i m p i m p p i m p"),
        ("p-m-i-m", "p m i m p m i m p p m i m"),
    ],
)
def test_the_thumb_never_lies_above_a_finger(setting: str, letters: str) -> None:
    """Where it would at a change of string, it plays twice running or leaves out its turn; a notice counts these."""
    music = line("E2/8 F2/8 G2/8 A2/8 B2/8 C3/8 D3/8 E3/8 | D3/8 C3/8 B2/8 A2/8 G2/4 r/4")
    made = vary(music, Study(pluck=setting))
    assert say(made) == letters
    assert isinstance(made, Variation)
    assert any("does not lie above a finger" in str(n) for n in made.notices)


def test_a_thumb_that_would_often_lie_above_a_finger_is_refused() -> None:
    """Where the turn would give way too often, thumb and finger in turn are no study."""
    assert (
        refusal(line("E4/4 C4/4 E4/4 F4/4"), pluck="p-a")
        == "at too many changes of string the thumb would lie above a finger"
    )


def test_a_thumb_in_turn_hardly_ever_plays_twice_running() -> None:
    """On no more than one note in ten, and never three times; else thumb and fingers in turn are no study."""
    down = line("E2/8 F2/8 G2/8 A2/8 B2/8 C3/8 D3/8 E3/8 | D3/8 C3/8 B2/8 A2/8 G2/4 r/4")
    assert isinstance(vary(down, Study(pluck="p-i")), Declined), "p p on two notes of thirteen"
    for music in (down, line("E4/8 F4/8 G4/8 A4/8 G4/8 F4/8 E4/8 D4/8 | C4/8 B3/8 A3/8 G3/8 F3/8 E3/8 D3/8 C3/8")):
        for cycle in ("p-i", "i-p", "p-m", "p-a", "p-i-m", "p-m-i", "p-i-m-a", "p-a-m-i", "p-m-i-m"):
            made = vary(music, Study(pluck=cycle))
            if isinstance(made, Variation):
                letters = say(made).split()
                twice = sum(one == other == "p" for one, other in pairwise(letters))
                assert twice <= len(letters) / 10, (cycle, letters)
                assert "p p p" not in " ".join(letters), (cycle, letters)


def test_letters_of_the_source_are_law_and_the_rest_follows() -> None:
    """As given keeps given letters where they stand."""
    music = line("E4/4 F4/4 G4/4 E4/4")
    notes = list(music.passage.notes)
    given = replace(notes[1], given=replace(notes[1].given, pluck="a"))
    marked = replace(music, passage=with_notes(music.passage, {given.id: given}))
    assert pluck(marked, "as given") == "i a i m"


@pytest.mark.parametrize(
    ("music", "letters"),
    [
        ("E4/4 F4/4 G4/4 E4/4", "i m i m"),
        ("C3/4 G3/4 B3/4 E4/4", "p i m a"),
        ("E2/4 B2/4 E3/4 G3/4", "p i m a"),
        ("C3+E4/2 C3+G3+C4+E4/2", "p+i p+i+m+a"),
        ("E2+B2+E3+G3+B3+E4/1", "p+p+p+i+m+a"),
    ],
)
def test_a_line_without_letters_gets_sensible_ones(music: str, letters: str) -> None:
    """No finger twice running, p on the basses, fingers spread over broken chords."""
    assert pluck(line(music), "best") == letters


def test_an_unknown_pattern_names_the_nearest_and_the_grammar() -> None:
    """A misspelt cycle is answered with what is known."""
    with pytest.raises(PlanError) as caught:
        find("pluck", "a-m-j")
    assert str(caught.value) == (
        f"pluck setting 'a-m-j' is not known (did you mean 'a-m-i' or 'a-m' or 'p-a-m-i'?; patterns: {PLUCK.grammar})"
    )


def test_the_letters_of_other_editions_name_the_little_finger() -> None:
    """Letters that SMuFL has glyphs for (fingeringCLower and its kin), and ch in words, stand for the finger c."""
    spec = find_spec("smufolib")
    assert spec is not None
    assert spec.origin is not None
    smufl = json.loads((Path(spec.origin).parent / "metadata/glyphnames.json").read_text(encoding="utf-8"))
    known = {name[9].lower() for name in smufl if re.fullmatch(r"fingering[A-Z]Lower", name)}
    assert known == {*"pimatceoqsx"}
    # t is another letter for the thumb; ch, for chico, is common practice and no glyph of SMuFL
    for letter in (*sorted(known - set("pimat")), "ch"):
        assert find("pluck", f"i-{letter}").name == "i-c"


def test_nothing_to_pluck_is_declined() -> None:
    """A line of rests takes no cycle."""
    made = vary(line("r/1"), Study(pluck="i-m"))
    assert made == Declined(axis="pluck", setting="i-m", reason="no note of a line is plucked: nothing to alternate on")


def test_a_chord_over_a_bass_is_for_both_fingers_of_a_pair() -> None:
    """Two notes over the thumb are plucked by the pair that is studied, whichever has its turn."""
    chords = "C3:5.3.3+C4:2.1.1+E4/4 C3:5.3.3+C4:2.1.1+E4/4"
    music = line(f"E4/4 F4/4 E4/4 F4/4 | E4/4 F4/4 {chords}")
    assert pluck(music, "i-a") == "i a i a i a p+i+a p+i+a"
    assert pluck(music, "m-a") == "m a m a m a p+m+a p+m+a"


def test_where_chords_take_every_other_turn_there_is_no_alternation() -> None:
    """Where more than a quarter of the notes top chords that are plucked as the hand lies, a pair is declined."""
    chords = "C3:5.3.3+C4:2.1.1+E4/4 C3:5.3.3+C4:2.1.1+E4/4"
    made = vary(line(f"E4/4 F4/4 {chords}"), Study(pluck="i-a"))
    assert isinstance(made, Declined)
    assert "2 of 4 notes" in made.reason


def test_printed_letters_go_on_over_the_holes_that_slurs_make() -> None:
    """Where a study slurs lettered notes, the pair that is printed alternates over what is still plucked."""
    music = line("E4/4 F4/4 E4/4 G4/4 | E4/4 D4:2.3.4/4 E4/4 F4/4")
    letters = {n.id: n.given for n in music.passage.notes}
    named = {
        n.id: replace(n, given=replace(letters[n.id], pluck="im"[k % 2])) for k, n in enumerate(music.passage.notes)
    }
    printed = replace(music, passage=with_notes(music.passage, named))
    assert say(vary(printed, Study())) == "i m i m i m i m"
    assert say(vary(printed, Study(slurs="hammer-ons"))) == "i - m - i m i -"
