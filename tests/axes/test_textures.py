"""Plucking that changes what is written: repeats, tremolo, broken and block chords, and right-hand formulas."""

from __future__ import annotations

from fractions import Fraction

import pytest

from engrave.axes import find, vary
from engrave.axes.figuration import held_string
from engrave.model import Declined, PlanError, Study, Variation
from engrave.model.wording import bars_text
from tests.axes.laws import check
from tests.axes.lines import line, refusal, say
from tests.axes.passages import own

C_CHORD = "C3:5.3.3+E3:4.2.2+G3:3.0.0+C4:2.1.1+E4:1.0.0"
C4_CHORD = "C3:5.3.3+G3:3.0.0+C4:2.1.1+E4:1.0.0"
G7_CHORD = "B2:5.2.2+G3:3.0.0+D4:2.3.4+F4:1.1.1"
CHANGES = [
    ("2 times i-m", "E4/4 F4/4 G4/2", "E4/8 E4/8 F4/8 F4/8 G4/4 G4/4", "i m i m i m"),
    ("3 times a-m-i", "E4/2 F4/2", "E4/4t E4/4t E4/4t F4/4t F4/4t F4/4t", "a m i a m i"),
    ("2 times i-m", "E4/4 F4~/4 F4/4 G4/4", "E4/8 E4/8 F4/4 F4/4 G4/8 G4/8", "i m i m i m"),
    ("chords 2 times", f"{C4_CHORD}/2 {C4_CHORD}/2", " ".join(["C3+G3+C4+E4/4"] * 4), " ".join(["p+i+m+a"] * 4)),
    ("tremolo p-a-m-i", "G3/4 A3/4 G3/2", "G3/16 E4/16 E4/16 E4/16 A3/16 E4/16 E4/16 E4/16 "
     "G3/16 E4/16 E4/16 E4/16 G3/16 E4/16 E4/16 E4/16", "p a m i p a m i p a m i p a m i"),
    ("arpeggio p-i-m-a", f"{C4_CHORD}/2 {C4_CHORD}/2", "C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8", "p i m a p i m a"),
    ("arpeggio p-i-m-a-m-i", f"{C4_CHORD}/2 {C4_CHORD}/2", " ".join(["C3/8t G3/8t C4/8t E4/8t C4/8t G3/8t"] * 2),
     "p i m a m i p i m a m i"),
    ("arpeggio p+a-i-m-i", f"{C4_CHORD}/1", "C3+E4/4 G3/4 C4/4 G3/4", "p+a i m i"),
    ("block", "C3:5.3.3/4 G3/4 C4:2.1.1/4 E4/4", "C3+G3+C4+E4/1", "p+i+m+a"),
    ("block", "C3:5.3.3/8 G3/8 C4:2.1.1/8 G3/8 E4/8 G3/8 C4:2.1.1/8 G3/8", "C3+G3+C4+E4/1", "p+i+m+a"),
]  # fmt: skip
ONE_STRING = "the line stays on one string: there is no crossing to turn at"
LEFT_ALONE = [
    ("tremolo p-a-m-i", "E4/1", "E4 lies on ①: no string is left above the line to hold the tremolo"),
    ("tremolo p-a-m-i", "C3+E3/1", "it is for lines or tremolo, and the passage has none"),
    ("arpeggio p-i-m-a", "C4+E4/1", "no chord has the 4 notes the formula needs"),
    ("2 times i-m", f"{C4_CHORD}/2 {C4_CHORD}/2", "it is for lines or melodies over a bass, and the passage has none"),
    ("chords 2 times", "E4/4 F4/4 G4/2", "it is for chords, and the passage has none"),
    ("4 times i-m", "E4/32 F4/32 G4/16 E4/8 E4/4 E4/2", "some notes would be shorter than a 64th"),
    ("4 times p-a-m-i", "E4/8 F4/2. G4/8",
     "the lengths of the notes differ too much: some would be struck 6 times as fast as others"),
    ("block", "E4/4 F4/4 G4/4 E4/4",
     "it is for broken chords, and the passage has none"),
    ("i-m", "E4/1", "the line has one plucked note: nothing to alternate on"),
    ("worst i-m", "E4/4 F4/4 G4/4 E4/4", "every start of the cycle gives the same number of awkward crossings"),
    ("a-m-i, turned at crossings", "E4/4 F4/4 G4/4 E4/4", ONE_STRING),
    ("i-m, p on basses", "E4/1", "no note of the line lies on string 4 or lower: nothing for p to take"),
    ("i-m, p on basses", "E2/1", "every note of the line lies on string 4 or lower: p would take them all"),
]  # fmt: skip
FORMULAS = [
    # Right-hand formulas on C and G7 of the kind Giuliani published (Op. 1, Vienna 1812): their letters are from
    # memory, unverified; what is checked is that a formula gives the letters it spells, on the strings they lie on.
    ("p-i-m-a", "p i m a", "5 3 2 1"),
    ("p-a-m-i", "p a m i", "5 1 2 3"),
    ("p-i-m-a-m-i", "p i m a m i", "5 3 2 1 2 3"),
    ("p-a-m-a-i-a", "p a m a i a", "5 1 2 1 3 1"),
    ("p-i-a-i-m-i", "p i a i m i", "5 3 1 3 2 3"),
    ("p-m-i-m-a-m", "p m i m a m", "5 2 3 2 1 2"),
    ("p-i-p-m-p-a", "p i p m p a", "5 3 5 2 5 1"),
    ("p+i-m-a-m", "p+i m a m", "5+3 2 1 2"),
    ("p+a-m-i-m", "p+a m i m", "5+1 2 3 2"),
    ("p-i+m+a", "p i+m+a", "5 3+2+1"),
]


def shown(variation: Variation) -> str:
    """Pitches and values; t for a triplet."""
    events = (e for e in variation.passage.events if e.notes)
    return " ".join("+".join(str(n.pitch) for n in e.notes) + f"/{e.value.kind}{'t' * len(e.tuplets)}" for e in events)


def test_no_repeat_asks_for_more_strokes_than_a_hand_has() -> None:
    """Four strokes a sixteenth at 54 quarters a minute, half of the tempo without a mark in 6/8, are too fast."""
    assert (
        refusal(line("E4/16 F4/16 G4/4 A4/4.", metre="6/8"), pluck="4 times i-m")
        == "it would ask for 14 strokes a second at the lowest tempo"
    )


def test_a_bass_under_a_repeated_melody_is_struck_once() -> None:
    """The melody alone repeats; the thumb, which the bass needs, takes no part in the cycle."""
    before = line("A2+E4/4 F4/4 G4/4 E4/4 | A2+E4/4 F4/4 G4/4 F4/4", metre="4/4")
    made = vary(before, Study(pluck="2 times i-m"))
    assert isinstance(made, Variation)
    sizes = [len(e.notes) for e in made.passage.events]
    assert sizes == [2, *[1] * 7] * 2
    assert isinstance(vary(before, Study(pluck="4 times p-a-m-i")), Declined)


@pytest.mark.parametrize(("setting", "music", "notes", "letters"), CHANGES)
def test_what_each_setting_writes(setting: str, music: str, notes: str, letters: str) -> None:
    """New notes in the time of the old ones, with their letters."""
    made = vary(line(music), Study(pluck=setting))
    assert isinstance(made, Variation), made
    assert (shown(made), say(made)) == (notes, letters)
    assert check(made) == ()


@pytest.mark.parametrize(("setting", "music", "reason"), LEFT_ALONE)
def test_what_each_setting_leaves_alone(setting: str, music: str, reason: str) -> None:
    """What a line has no notes for is refused in a player's words."""
    assert refusal(line(music), pluck=setting) == reason


@pytest.mark.parametrize(("formula", "letters", "strings"), FORMULAS)
def test_published_formulas_can_be_written_and_give_their_letters(formula: str, letters: str, strings: str) -> None:
    """On C, G7, C (each chord p on ⑤, i m a on ③ ② ①) every formula plays its letters on those strings."""
    music = line(f"{C4_CHORD}/1 | {G7_CHORD}/1 | {C4_CHORD}/1")
    made = vary(music, Study(pluck=f"arpeggio {formula}"))
    assert isinstance(made, Variation)
    assert say(made) == " ".join([letters] * 3)
    places = [[n.placement.string for n in e.notes if n.placement] for e in made.passage.events]
    assert [sorted(p, reverse=True) for p in places] == [
        sorted(map(int, word.split("+")), reverse=True) for word in (strings.split() * 3)
    ]
    steps = len(letters.split())
    assert {e.duration for e in made.passage.events} <= {Fraction(4, steps), *(t for t in (Fraction(1), Fraction(2)))}
    assert check(made) == ()


def test_inner_notes_a_formula_has_no_finger_for_are_named() -> None:
    """Nothing is lost without a notice."""
    made = vary(line(f"{C_CHORD}/1"), Study(pluck="arpeggio p-i-m-a"))
    assert isinstance(made, Variation)
    assert [str(n) for n in made.notices] == ["1 inner chord note not played: the formula has fewer fingers"]


def test_the_held_string_fits_the_line() -> None:
    """Open ① under nothing but E, B and G; where ② fits better, it is held."""
    for music, string in (("G3/4 B3/4 G3/2", 1), ("F#3:4.4.4/4 F#3:4.4.4/4 B2:5.2.2/2", 2)):
        made = line(music)
        assert held_string(made, {n.id for n in made.passage.notes}) == string


def test_thumb_on_the_basses_and_the_cycle_above() -> None:
    """On ④ and lower p plays; the fingers keep their turn across it."""
    made = vary(line("D3/4 E3/4 G3/4 A3/4 | B3/4 A3/4 G3/4 E3/4"), Study(pluck="a-m-i, p on basses"))
    assert isinstance(made, Variation)
    assert say(made) == "p p a m i a m p"


def test_a_cycle_turned_at_crossings_goes_back_the_way_it_came() -> None:
    """After a m i on one string comes m a i over the crossing."""
    made = vary(line("E4/8 F4/8 G4/8 B3/8 C4/8 D4/8 E4/8 F4/8"), Study(pluck="a-m-i, turned at crossings"))
    assert isinstance(made, Variation)
    assert say(made) == "a m i m a i a m"


@pytest.mark.parametrize(
    "name",
    [
        "tremolo a-m-i",
        "tremolo p",
        "arpeggio p",
        "arpeggio p-+",
        "9 times i-m",
        "best i",
        "worst",
        "p-i, turned",
        "times",
    ],
)
def test_patterns_that_mean_nothing_are_refused(name: str) -> None:
    """No pattern is guessed at."""
    with pytest.raises(PlanError, match=r"pluck setting .* is not known"):
        find("pluck", name)


def test_slurs_within_a_rewritten_voice_are_left_out_with_a_notice() -> None:
    """Every note of a repeat is plucked."""
    made = vary(line("F4/4 E4/4 G4/4 E4/4"), Study(slurs="to open", pluck="2 times i-m"))
    assert isinstance(made, Variation)
    assert say(made) == "i m i m i m i m"
    assert [str(n) for n in made.notices] == ["2 slurs of the line left out: each note is plucked"]
    assert check(made) == ()


def test_a_melody_alone_keeps_its_slurs() -> None:
    """Only what is taken away goes: slurs of the melody stay, and its notes alternate."""
    two = line("F4/4 E4/4 G4/4 E4/4", "C3/2 A2/2")
    slurred = vary(two, Study(slurs="to open"))
    made = vary(two, Study(slurs="to open", pluck="melody alone"))
    assert isinstance(slurred, Variation)
    assert isinstance(made, Variation)
    assert [n.pitch.midi for n in made.passage.notes] == [65, 64, 67, 64]
    assert say(made) == "i - m -"
    assert check(made) == ()


FIGURES = (
    "D2:6.0.0+D3:4.0.0+A3:3.2.2/8 D4:2.3.3/8 E4:1.0.0/8 D3:4.0.0+A3:3.2.2/8 D4:2.3.3/8 F4:1.1.1/8 | "
    "F2:6.3.3+F3:4.3.4+A3:3.2.2/8 D4:2.3.3/8 F4:1.1.1/8 D3:4.0.0+A3:3.2.2/8 D4:2.3.3/8 F4:1.1.1/8"
)
"""broken chords in which i m pluck the lower strings first, one of them more than a hand can hold at once"""


def test_fingers_are_set_only_where_each_has_one_string() -> None:
    """No word to set all fingers stands over a figure in which a finger plays two strings."""
    made = vary(
        line(f"{FIGURES} | E4/8 F4/8 G4/8 F4/8 E4/8 D4/8", metre="6/8", instrument="drop-d"), Study(pluck="planted")
    )
    assert isinstance(made, Variation)
    assert made.extent == "This is done in bars 1–2; bar 3 is as written."
    assert [(d.bar, d.onset) for d in made.passage.directions if d.text == "place"] == [
        (0, Fraction(3, 2)),
        (1, Fraction(9, 2)),
    ]
    only = "D2:6.0.0+D3:4.0.0+A3:3.2.2/8 D4:2.3.3/8 E4:1.0.0/8 D2:6.0.0+D3:4.0.0+A3:3.2.2/8 D4:2.3.3/8 E4:1.0.0/8"
    refused = vary(line(only, metre="6/8", instrument="drop-d"), Study(pluck="planted"))
    assert isinstance(refused, Declined)
    assert refused.reason == "a finger plays two strings in the figures"


def test_a_figure_that_stays_broken_keeps_its_letters() -> None:
    """What no hand holds as one chord is plucked as in the line."""
    before = line(FIGURES, metre="6/8", instrument="drop-d")
    plain, made = vary(before, Study()), vary(before, Study(pluck="block"))
    assert isinstance(made, Variation)
    assert [str(n) for n in made.notices] == ["1 figure left broken: no hand holds it as one chord"]
    assert say(made).split()[2:5] == say(plain).split()[6:9] == ["p+i+m", "m", "a"]


def test_a_chord_that_is_struck_again_keeps_its_fingers() -> None:
    """Over a bass its upper notes are struck again by the same fingers; what the thumb sweeps is struck again whole."""
    low, full = "A2:5.0.0+A3:3.2.2+D4:2.3.3", "D2:6.0.0+A2:5.0.0+D3:4.0.0+A3:3.2.2+D4:2.3.3"
    music = f"{low}/4. G3:3.0.0/4. | D3:4.0.0+A3:3.2.1/8 A4:1.5.4/8 G4:1.3.4/8 A2:5.0.0+F4/4 E4/8 | {full}/2."
    made = vary(line(music, metre="6/8", instrument="drop-d"), Study(pluck="2 times i-m"))
    assert say(made).split()[:4] == ["p+i+m", "i+m", "i", "m"]
    assert say(made).split()[-2:] == ["p+p+i+m+a"] * 2


def test_chords_of_other_lengths_are_broken_at_the_speed_of_most() -> None:
    """Four notes over three beats would be dotted: they come as quickly as elsewhere, and the last is held."""
    made = vary(
        line(f"{C4_CHORD}/4 {C4_CHORD}/4 {C4_CHORD}/4 | {C4_CHORD}/2.", metre="3/4"), Study(pluck="arpeggio p-i-m-a")
    )
    assert isinstance(made, Variation)
    onsets = [e.onset - 3 for e in made.passage.events if e.bar == 1 and not e.notes[0].tied_back]
    assert onsets == [0, Fraction(1, 4), Fraction(1, 2), Fraction(3, 4)]


def test_a_study_of_part_of_a_passage_says_of_which_part() -> None:
    """Where bars are of another texture, a sentence names those it is for; where all are of one, none does."""
    mixed = line("E4/8 F4/8 G4/8 F4/8 E4/8 D4/8 C4/8 D4/8 | C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8")
    made = vary(mixed, Study(pluck="m-a"))
    assert isinstance(made, Variation)
    assert made.extent == "This is done in bar 1; bar 2 is as written."
    broken = vary(mixed, Study(pluck="order p-a-m-i"))
    assert isinstance(broken, Variation)
    assert broken.extent == "This is done in bar 2; bar 1 is as written."
    longer = line("E4/8 F4/8 G4/8 F4/8 E4/8 D4/8 C4/8 D4/8 | C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8 | C3+G3+C4+E4/1")
    ordered = vary(longer, Study(pluck="order p-a-m-i"))
    assert isinstance(ordered, Variation)
    assert ordered.extent == "This is done in bar 2; the other bars are as written."
    plain = vary(line("E4/8 F4/8 G4/8 F4/8 E4/8 D4/8 C4/8 D4/8"), Study(pluck="m-a"))
    assert isinstance(plain, Variation)
    assert not plain.extent
    accented = vary(mixed, Study(pluck="m-a", accent="beats"))
    assert isinstance(accented, Variation)
    assert accented.extent == "m a in turn: bar 1."
    layers = vary(
        line("C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8 | A2+E4/4 F4/4 G2+D4/4 E4/4"), Study(pluck="melody alone")
    )
    assert isinstance(layers, Variation)
    assert not layers.extent


@pytest.mark.parametrize(
    ("bars", "said"),
    [({0}, "bar 0"), ({0, 1, 2}, "bars 0–2"), ({1, 3, 4}, "bars 1 and 3–4"), ({0, 2, 4}, "bars 0, 2 and 4")],
)
def test_bars_are_named_as_briefly_as_can_be(bars: set[int], said: str) -> None:
    """Neighbours are drawn together, by the labels that are printed."""
    assert bars_text(["0", "1", "2", "3", "4"], bars) == said


TWO_LAYERS = {
    "one file voice": line("C3+E4/8 F4/8 G4/8 F4/8 A2+E4/8 D4/8 C4/8 B3/8 | C3+C4/8 D4/8 E4/8 F4/8 G2+D4/4 C4/4"),
    "a bass between": line("C3:5.3.3/8 E4/8 F4/8 G4/8 A2/8 F4/8 E4/8 D4/8 | C3:5.3.3+C4/4 D4/4 G2+E4/4 F4/4"),
    "the melody low": line("E4/4 D4/4 C4/4 B3/4 | A3/2 D3/2", "C3/2 G2/2 | D3/1"),
    "graces": line("<F4/8 E4/4 F4/4 G4/4 E4/4 | D4/4 E4/4 C4/2", "C3/2 <D3/8 E3/2 | G2/2 C3/2"),
    "ties": line("E4/4 F4~/4 F4/4 E4/4 | D4/4 E4/4 C4/2", "C3/2 E3~/2 | E3/2 C3/2"),
}


@pytest.mark.parametrize("name", [*TWO_LAYERS, "two voices", "moving bass", "syncopated"])
def test_melody_and_bass_alone_share_the_passage_out(name: str) -> None:
    """Each note of the passage is in one of the two and in no other; of two written voices the lower is the bass."""
    music = TWO_LAYERS.get(name) or own()[name]
    sets = []
    for setting in ("melody alone", "bass alone"):
        made = vary(music, Study(pluck=setting))
        assert isinstance(made, Variation), made
        assert check(made) == ()
        sets.append({n.id for n in made.passage.notes if not n.tied_back})
    melody, bass = sets
    assert melody | bass == {n.id for n in music.passage.notes if not n.tied_back}
    assert not melody & bass
    if len(music.passage.voices) > 1:
        assert bass == {n.id for e in music.passage.events if e.voice == 2 for n in e.notes if not n.tied_back}


def test_a_bass_by_itself_lasts_to_the_next_one() -> None:
    """Where a file gives a bass the length of the note above it, no rests stand between the basses."""
    made = vary(TWO_LAYERS["one file voice"], Study(pluck="bass alone"))
    assert isinstance(made, Variation)
    assert shown(made) == "C3/2 A2/2 C3/2 G2/2"


def test_a_melody_alone_is_one_note_at_a_time() -> None:
    """What is struck with the melody and under it goes with the bass, and is counted."""
    made = vary(line("E4/4 F4/4 G4/4 C4+E4/4", "C3/2 G2/2"), Study(pluck="melody alone"))
    assert isinstance(made, Variation)
    assert [n.pitch.midi for n in made.passage.notes] == [64, 65, 67, 64]
    assert [str(n) for n in made.notices] == [
        "2 notes of the bass left out",
        "1 note of a chord under the melody left out",
    ]


def test_orders_say_what_each_of_them_trains() -> None:
    """No two orders with the bass first have one purpose, and each names the finger that leads."""
    names = ["pima", "pami", "pmia", "pmai", "piam", "paim", "pimi", "pmim", "pimami", "pamima", "pmimam"]
    settings = [find("pluck", f"order {'-'.join(name)}") for name in names]
    assert len({s.purpose for s in settings}) == len(names)
    assert all(f"after the thumb {name[1]} leads" in s.purpose for name, s in zip(names, settings, strict=True))
    assert "towards the treble" in settings[0].purpose
    assert "back towards the bass" in settings[1].purpose
    assert all("do not follow each other" in s.purpose for s in settings[2:6])
    assert all("over the strings and back" in s.purpose for s in settings[6:10])
