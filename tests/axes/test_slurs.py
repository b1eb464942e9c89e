"""Slurs: what the fretting hand can do, what each setting slurs, and what it leaves alone."""

from __future__ import annotations

from itertools import product

import pytest

from engrave.axes import vary
from engrave.axes.slurring import note_pairs
from engrave.axes.slurs import SLURS
from engrave.instruments import find_hand, find_instrument
from engrave.model import Declined, Note, Pitch, Placement, Study, Variation
from engrave.model.texture import LAYERS
from engrave.textures import stretches
from tests.axes.laws import check, legal
from tests.axes.lines import line, refusal, say
from tests.axes.passages import own

LEGAL = [
    # before, after, can it be slurred (string.fret.finger): common practice
    ("1.1.1", "1.0.0", True, "any finger pulls off to the open string"),
    ("1.3.4", "1.0.0", True, "any finger pulls off to the open string"),
    ("1.0.0", "1.1.1", True, "any finger hammers on from the open string"),
    ("1.0.0", "1.3.3", True, "any finger hammers on from the open string"),
    ("1.1.1", "1.2.2", True, "ascending: fret and finger rise"),
    ("1.1.1", "1.4.4", True, "ascending: fret and finger rise"),
    ("1.3.3", "1.1.1", True, "descending: the lower finger is down already"),
    ("1.2.2", "1.1.1", True, "descending: the lower finger is down already"),
    ("1.3.1", "1.1.2", False, "the lower fret would need the lower finger"),
    ("1.1.2", "1.3.1", False, "the higher fret would need the higher finger"),
    ("1.1.1", "1.1.1", False, "a repeated pitch"),
    ("1.0.0", "1.0.0", False, "a repeated pitch"),
    ("1.1.1", "1.3.1", False, "one finger on two frets is a slide"),
    ("1.3.2", "1.1.2", False, "one finger on two frets is a slide"),
    ("1.1.1", "2.3.3", False, "two strings"),
    ("2.1.1", "1.0.0", False, "two strings"),
]
NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
OPEN = "no fretted note falls to the open string under it: there is nothing to pull off"
RUN = "F4:1.1.1/8 E4:1.0.0/8 F4:1.1.1/8 G4:1.3.3/8 F4:1.1.1/8 E4:1.0.0/8 B3:2.0.0/8 C4:2.1.1/8"
CHANGES = [
    # ( marks a note slurred from the one before
    ("to open", "F4 (E4 F4 G4 F4 (E4 B3 C4"),
    ("pull-offs", "F4 (E4 F4 G4 (F4 (E4 B3 C4"),
    ("hammer-ons", "F4 E4 (F4 (G4 F4 E4 B3 (C4"),
    ("twos", "F4 (E4 F4 (G4 F4 (E4 B3 (C4"),
    ("threes", "F4 (E4 (F4 G4 (F4 (E4 B3 C4"),
    ("up and down", "F4 (E4 (F4 G4 F4 E4 B3 C4"),
    ("left hand alone", "F4 (E4 (F4 (G4 (F4 (E4 B3 (C4"),
    ("by 1", "F4 (E4 (F4 G4 F4 (E4 B3 (C4"),
    ("by 3", "F4 E4 F4 (G4 (F4 E4 B3 C4"),
    ("1-3", "F4 E4 F4 (G4 F4 E4 B3 C4"),
    ("3-1", "F4 E4 F4 G4 (F4 E4 B3 C4"),
    ("0-1", "F4 E4 (F4 G4 F4 E4 B3 (C4"),
]
LEFT_ALONE = [
    ("to open", "E4/4 F4/4 G4/4 A4/4", OPEN),
    ("pull-offs", "F4:1.1.1/4 G4:1.3.3/4 C4:2.1.1/4 D4:2.3.3/4",
     "no two neighbouring notes on one string fall to a lower fret with a lower finger waiting: nothing to pull off"),
    ("hammer-ons", "G4:1.3.3/4 F4:1.1.1/4 D4:2.3.3/4 C4:2.1.1/4",
     "no two neighbouring notes on one string rise to a higher fret and finger: nothing to hammer on"),
    ("to open", "F4/4 r/4 E4/4 r/4", OPEN),
    ("twos", "F4:1.1.1/4 F4:1.1.1/4 C4:2.1.1/4 G4:1.3.1/4",
     "no two neighbouring notes on one string can be slurred by the fingers on them"),
    ("2-1", "F4/4 E4/4 F4/4 E4/4", "no two neighbouring notes on one string go from finger 2 to finger 1"),
    ("by 4", "F4/4 E4/4 F4/4 E4/4", "finger 4 finds no two neighbouring notes on one string that it could slur"),
]  # fmt: skip


def note(text: str) -> Note:
    """A note at string.fret.finger."""
    string, fret, finger = map(int, text.split("."))
    return Note(id=text, pitch=Pitch(step="C", octave=4), placement=Placement(string=string, fret=fret, finger=finger))


def shown(variation: Variation) -> str:
    """Pitches, ( before a slurred one."""
    return " ".join(f"{'(' if n.slurred_from else ''}{n.pitch}" for n in variation.passage.notes)


@pytest.mark.parametrize(("before", "after", "can", "why"), LEGAL)
def test_what_the_fretting_hand_can_slur(before: str, after: str, can: bool, why: str) -> None:
    """The table of common practice, held against the law and against what the axis finds."""
    assert legal(note(before), note(after)) is can, why
    guitar = find_instrument("standard")
    spelled = {p: f"{_pitch(guitar.midi(*_stop(p)))}:{p}" for p in (before, after)}
    found = note_pairs(line(f"{spelled[before]}/2 {spelled[after]}/2"))
    assert bool(found) is can, why


def _stop(text: str) -> tuple[int, int]:
    string, fret, _ = map(int, text.split("."))
    return string, fret


def _pitch(midi: int) -> str:
    return f"{NAMES[midi % 12]}{midi // 12 - 1}"


def test_a_slur_wider_than_the_hand_is_none() -> None:
    """Fret 1 to fret 7 by fingers 1 and 4 is 178 mm at the nut: more than the hand holds."""
    assert note_pairs(line("F4:1.1.1/2 B4:1.7.4/2")) == ()
    assert len(note_pairs(line("F4:1.1.1/2 G#4:1.4.4/2"))) == 1
    reach = find_hand("standard").practical[1, 4]
    guitar = find_instrument("standard")
    assert guitar.mm(7) - guitar.mm(1) > reach > guitar.mm(4) - guitar.mm(1)


@pytest.mark.parametrize(("setting", "after"), CHANGES)
def test_what_each_setting_slurs(setting: str, after: str) -> None:
    """Only what the hand can do; the rest of the line stays plucked."""
    made = vary(line(RUN), Study(slurs=setting))
    assert isinstance(made, Variation)
    assert shown(made) == after
    assert check(made) == ()
    assert say(made).split().count("-") == after.count("(")


@pytest.mark.parametrize(("setting", "music", "reason"), LEFT_ALONE)
def test_what_each_setting_leaves_alone(setting: str, music: str, reason: str) -> None:
    """Nothing to slur is a reason, in a player's words."""
    assert refusal(line(music), slurs=setting) == reason


def test_the_open_string_before_takes_half_of_the_note() -> None:
    """Open, fretted, pulled off: the open string is plucked in the first half of the fretted note."""
    made = vary(line("F4/4 E4/4 G4/4 E4/4"), Study(slurs="open before", pluck="i-m"))
    assert isinstance(made, Variation)
    assert shown(made) == "E4 F4 (E4 E4 G4 (E4"
    assert [str(e.value.kind) for e in made.passage.events] == ["8", "8", "4", "8", "8", "4"]
    assert say(made) == "i m - i m -"
    assert check(made) == ()


def test_no_slurs_plucks_everything() -> None:
    """The same line, every note plucked."""
    slurred = vary(line(RUN), Study(slurs="left hand alone"))
    assert isinstance(slurred, Variation)
    made = vary(slurred, Study(slurs="none"))
    assert isinstance(made, Variation)
    assert "-" not in say(made).split()
    assert check(made) == ()


def test_another_voice_on_the_string_between_forbids_the_slur() -> None:
    """A string that has been played in between cannot be slurred over."""
    music = line("F4:1.1.1/2 E4:1.0.0/2", "r/4 G4:1.3.3/8 r/8 r/2")
    assert [link.note.pitch.name for link in note_pairs(music)] == []


@pytest.mark.parametrize(("low", "high"), [p for p in product(range(1, 5), repeat=2) if p[0] < p[1]])
def test_each_pair_of_fingers_has_both_ways(low: int, high: int) -> None:
    """12 13 14 23 24 34 and reversed: six hammer-ons and six pull-offs (common practice)."""
    frets = {finger: finger + 4 for finger in range(1, 5)}
    there = f"{_pitch(64 + frets[low])}:1.{frets[low]}.{low}/2"
    back = f"{_pitch(64 + frets[high])}:1.{frets[high]}.{high}/2"
    for music, setting in ((f"{there} {back}", f"{low}-{high}"), (f"{back} {there}", f"{high}-{low}")):
        made = vary(line(music), Study(slurs=setting))
        assert isinstance(made, Variation)
        assert made.figures.slurs == ((setting, 1),)


def test_a_source_slur_that_a_new_fingering_forbids_is_left_out_with_a_notice() -> None:
    """One finger alone cannot slur between fretted notes: those notes are plucked, and the page says so."""
    slurred = vary(line("F4:1.1.1/4 G4:1.3.3/4 F4:1.1.1/4 E4:1.0.0/4"), Study(slurs="left hand alone"))
    assert isinstance(slurred, Variation)
    made = vary(slurred, Study(fret="1"))
    assert isinstance(made, Variation)
    assert shown(made) == "F4 G4 F4 (E4"
    assert any("left out" in str(n) or "cannot be played" in str(n) for n in made.notices)
    assert check(made) == ()


def test_of_notes_struck_together_one_is_slurred_at_most() -> None:
    """A bass and a melody that could both be slurred to at once: the melody is, and the bass is plucked."""
    music = line("F4/8 E4/8 F4/8 G4/8", "F3/8 E3/8 C3/4", metre="2/4")
    made = vary(music, Study(slurs="pull-offs"))
    assert isinstance(made, Variation)
    slurred = [event.voice for event in made.passage.events for note in event.notes if note.slurred_from]
    assert slurred == [1]


@pytest.mark.parametrize("setting", [s.name for s in SLURS.settings])
def test_no_slur_of_ours_leaves_its_layer(setting: str) -> None:
    """From a chord only its top note is slurred on, and no bass into a melody over it."""
    chord = line("A2:5.0.0+A3:3.2.2+D4:2.3.3/4 G3:3.0.0/4 D4:2.3.3/4 C4:2.1.1/4")
    for music in (chord, *own().values()):
        made = vary(music, Study(slurs=setting))
        if isinstance(made, Declined):
            continue
        had = {n.id for n in music.passage.notes if n.slurred_from}
        where = {n.id: e for e in made.passage.events for n in e.notes}
        low = {name for span in stretches(made) if span.kind == LAYERS for name in span.basses}
        for note in made.passage.notes:
            if note.slurred_from and note.id not in had:
                assert where[note.slurred_from].notes[-1].id == note.slurred_from
                assert (note.id in low) == (note.slurred_from in low)
