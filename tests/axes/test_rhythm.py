"""The rhythm axis, in the text notation of tests/build.py: what each setting does and what it leaves alone."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from engrave.axes import vary
from engrave.model import Declined, Event, Metre, Plan, Study, Variation
from engrave.regimen.beyond import base_of
from engrave.regimen.candidate import make, written
from tests.axes.laws import check
from tests.axes.lines import line, refusal

EIGHTHS = "E4/8 F4/8 G4/8 A4/8"
CHANGES = [
    ("dotted", EIGHTHS, "2/4", "E4/8. F4/16 G4/8. A4/16"),
    ("dotted, short first", EIGHTHS, "2/4", "E4/16 F4/8. G4/16 A4/8."),
    ("dotted", "E4/4 F4/8 G4/8", "2/4", "E4/4 F4/8. G4/16"),
    ("dotted", "r/8 E4/8 F4/8 G4/8", "2/4", "r/8 E4/8 F4/8. G4/16"),
    ("long 1 of 3", "E4/8 F4/8 G4/8 A4/8 G4/8 F4/8", "6/8", "E4/4 F4/16 G4/16 A4/4 G4/16 F4/16"),
    ("long 3 of 3", "E4/8 F4/8 G4/8 A4/8 G4/8 F4/8", "6/8", "E4/16 F4/16 G4/4 A4/16 G4/16 F4/4"),
    ("long 1 of 4", EIGHTHS, "2/4", "E4/4 F4/8t G4/8t A4/8t"),
    ("long 4 of 4", EIGHTHS, "2/4", "E4/8t F4/8t G4/8t A4/4"),
    ("bursts of 2", f"{EIGHTHS} | {EIGHTHS}", "2/4", "E4/8 F4/8 G4/4 | A4/8 E4/8 F4/4 | G4/8 A4/8 r/4"),
    ("bursts of 4", f"{EIGHTHS} | {EIGHTHS}", "2/4", "E4/8 F4/8 G4/8 A4/8 | E4/4 F4/8 G4/8 | A4/8 r/8 r/4"),
    ("bursts of 2 from 2", EIGHTHS, "2/4", "E4/4 F4/8 G4/8 | A4/4 r/4"),
    (
        "in threes",
        "E4/8 F4/8 G4/8 A4/8 | G4/8 F4/8 E4/4",
        "2/4",
        "E4/8t F4/8t G4/8t A4/8t G4/8t F4/8t | E4/4t r/8t r/4",
    ),
    ("in fours", EIGHTHS, "2/4", "E4/16 F4/16 G4/16 A4/16 r/4"),
    ("in twos", "3(E4/8 F4/8 G4/8) 3(A4/8 G4/8 F4/8)", "2/4", "E4/8 F4/8 G4/8 A4/8 | G4/8 F4/8 r/4"),
    ("in fives", "E4/8 F4/8 G4/8 A4/8 | G4/8 F4/8 E4/4", "2/4", "E4/16q F4/16q G4/16q A4/16q G4/16q F4/16q E4/8q r/8q"),
    ("off the beat", EIGHTHS, "2/4", "r/16 E4/8 F4/16 ~F4/16 G4/8 A4/16"),
    ("one note later", "E4/4 F4/8 G4/8 | E4/2", "2/4", "r/8 E4/4 F4/8 | G4/8 E4/4."),
    ("stopped", EIGHTHS, "2/4", "E4/8! F4/8! G4/8! A4/8!"),
    ("planting", "E4/4 F4/8 G4/8", "2/4", "E4/8 r/8 F4/16 r/16 G4/16 r/16"),
    (
        "planting",
        "E4/4 F4/8 G4/8 F4/16 E4/16 C4/8 E4/4",
        "4/4",
        "E4/8 r/8 F4/16 r/16 G4/16 r/16 F4/16 E4/16 C4/16 r/16 E4/8 r/8",
    ),
    ("planting", "E4/16 F4/16 G4/16 E4/16", "1/4", "E4/16 r/16 F4/16 r/16 G4/16 r/16 E4/16 r/16"),
    ("half values", "E4/4 F4/8 G4/8", "2/4", "E4/8 F4/16 G4/16"),
    ("double values", "E4/4 F4/8 G4/8", "2/4", "E4/2 F4/4 G4/4"),
]
LEFT_ALONE = [
    ("dotted", "E4/4. F4/8", "2/4", "no 2 equal notes follow each other from where such a group starts in the bar"),
    (
        "long 1 of 4",
        "E4/8 F4/8 G4/8",
        "3/8",
        "no 4 equal notes follow each other from where such a group starts in the bar",
    ),
    ("bursts of 4", "E4/8 F4/8 G4/8 A4/8", "2/4", "the line has 4 notes: too few for a burst of 4 there"),
    (
        "bursts of 2",
        "E4/4 F4/4 G4/4 | A4/4 G4/8 F4/8 E4/4",
        "3/4",
        "fewer than half of its notes stand in groups of 2 that are shorter than a beat each",
    ),
    ("in threes", "E4/4 F4/4 G4/4", "3/4", "its commonest notes last a beat each: there are no groups to change"),
    ("in twos", EIGHTHS, "2/4", "the line runs in groups of 2 already"),
    ("in threes", "E4/8 F4/8 G4/8", "3/8", None),
    ("in twos", "E4/2 F4/2", "4/4", "its commonest notes do not divide the beat: there are no groups to change"),
    ("planting", "r/2", "2/4", "the upper voice has no notes"),
    ("off the beat", "r/2", "2/4", "the upper voice has no notes"),
]


def shown(variation: Variation) -> str:
    """The upper voice in the notation above: t and q for three and five in a tuplet, ~ tied from before."""
    passage = variation.passage
    return " | ".join(
        " ".join(_event(e) for e in passage.events if e.bar == index and e.voice == 1)
        for index in range(len(passage.bars))
    )


def _event(event: Event) -> str:
    name = "+".join(str(note.pitch) for note in event.notes) or "r"
    back = "~" if any(note.tied_back for note in event.notes) else ""
    tuplet = {(): "", (3,): "t", (5,): "q"}[tuple(t.actual for t in event.tuplets)]
    short = "!" if "staccato" in event.marks else ""
    return f"{back}{name}/{event.value.kind}{'.' * event.value.dots}{tuplet}{short}"


def timed(voices: tuple[str, ...], setting: str, metre: str, *, pickup: bool = False) -> Variation | Declined:
    """A line under a setting of the rhythm axis."""
    return vary(line(*voices, metre=metre, pickup=pickup), Study(rhythm=setting))


@pytest.mark.parametrize(("setting", "before", "metre", "after"), CHANGES)
def test_what_each_setting_does(setting: str, before: str, metre: str, after: str) -> None:
    """Values, ties and tuplets are drawn anew and the last bar is filled."""
    made = timed((before,), setting, metre)
    assert isinstance(made, Variation), made
    assert shown(made) == after
    assert check(made) == ()


@pytest.mark.parametrize(("setting", "before", "metre", "reason"), LEFT_ALONE)
def test_what_each_setting_leaves_alone(setting: str, before: str, metre: str, reason: str | None) -> None:
    """Where a setting cannot apply it says why, or the music stays."""
    made = timed((before,), setting, metre)
    if reason is None:
        assert isinstance(made, Declined | Variation)
    else:
        assert isinstance(made, Declined)
        assert made.reason == reason


def test_the_other_voice_moves_with_the_line() -> None:
    """What sounded together still does: a bass under the second of a pair comes with it."""
    made = timed(("E4/8 F4/8 G4/8 A4/8", "r/8 C3/4."), "dotted", "2/4")
    assert isinstance(made, Variation)
    onsets = {str(n.pitch): e.onset for e in made.passage.events for n in e.notes if not n.tied_back}
    assert onsets["C3"] == onsets["F4"] == Fraction(3, 4)


def test_a_pickup_stays_before_its_bar() -> None:
    """Regrouped in threes the first beat stays the first; the triplet the pickup now ends is filled with a rest."""
    made = timed(("E4/8 | F4/8 G4/8 A4/8 G4/8 F4/8 E4/8 D4/8 E4/8",), "in threes", "4/4", pickup=True)
    assert isinstance(made, Variation)
    first, second, *_ = made.passage.bars
    assert [first.length, first.offset, second.onset] == [Fraction(1), Fraction(3), Fraction(1)]
    assert shown(made).startswith("r/8t r/8t E4/8t | F4/8t")


def test_values_change_their_metre_and_their_tempo_together() -> None:
    """In half the values the bar is as long in seconds as before."""
    music = line("E4/4 F4/4 G4/4 E4/4")
    made = vary(music, Study(rhythm="half values"))
    assert isinstance(made, Variation)
    assert str(made.passage.bars[0].metre) == "4/8"


def test_a_slur_that_a_rest_would_cut_is_kept_whole() -> None:
    """With planting, the note a slur starts from keeps its length, so that the slur can sound."""
    made = vary(line("F4/4 E4/4 G4/4 E4/4"), Study(rhythm="planting", slurs="to open"))
    assert isinstance(made, Declined)
    assert made.axis == "slurs"
    music = vary(line("F4/4 E4/4 G4/4 E4/4"), Study(slurs="to open"))
    assert isinstance(music, Variation)
    again = vary(music, Study(rhythm="planting"))
    assert isinstance(again, Variation)
    assert shown(again) == "F4/4 E4/8 r/8 G4/4 E4/8 r/8"
    assert check(again) == ()


@pytest.mark.parametrize("setting", ["bursts of 2", "in threes", "in fours"])
def test_bars_tied_to_a_change_of_metre_are_left_alone(setting: str) -> None:
    """Bars of different metres cannot be drawn anew, and the reason says so."""
    music = line("E4/4 F4/4 G4/4 A4/4 | E4/4 F4/4 G4/4 A4/4")
    first, second = music.passage.bars
    other = replace(second, metre=Metre(beats=(2, 2), unit=4))
    mixed = replace(music, passage=replace(music.passage, bars=(first, other)))
    assert refusal(mixed, rhythm=setting) == "the metre changes in the passage: its bars cannot be drawn anew"


@pytest.mark.parametrize("setting", ["in twos", "in threes", "half values", "double values"])
@pytest.mark.parametrize("tempo", [None, Fraction(80)])
def test_notes_written_in_other_values_keep_their_speed(setting: str, tempo: Fraction | None) -> None:
    """At the tempo a page prints, regrouped notes and those in other values are as quick as in another rhythm study."""
    bare = line("E4/8 F4/8 G4/8 A4/8 G4/8 F4/8 E4/8 D4/8 | E4/16 F4/16 G4/16 A4/16 G4/16 F4/16 E4/16 D4/16 E4/2")
    music = replace(bare, passage=replace(bare.passage, tempo=tempo))
    base = base_of(written(music))
    first = {event.id: event.duration for event in music.passage.events}
    page = {}
    for name in ("dotted", setting):
        study = Study(rhythm=name)
        made = vary(music, study)
        assert isinstance(made, Variation), made
        page[name] = made, make(study, made, Plan(), base)
    made, there = page[setting]
    event = next(e for e in made.passage.events if e.id in first and e.notes and e.notes[0].pitch.midi == 65)
    by = event.duration / first[event.id]
    wanted = [step * by for step in page["dotted"][1].tempo]
    assert all(abs(step - want) <= (1 + by) / 2 for step, want in zip(there.tempo, wanted, strict=True))
    assert made.passage.tempo == (tempo and tempo * by)


def test_bursts_are_of_quick_notes() -> None:
    """A note of a beat ends a burst that is not full, and what stands before the burst is held once."""
    made = timed(("C4/4 D4/8 E4/8 F4/8 G4/8 A4/8 G4/8 | F4/8 E4/8 D4/8 C4/8 D4/2",), "bursts of 4 from 2", "4/4")
    assert isinstance(made, Variation), made
    assert shown(made) == "C4/4 D4/8 E4/8 F4/8 G4/8 A4/4 | G4/8 F4/8 E4/8 D4/8 C4/4 D4/4 | ~D4/4 r/4 r/2"


def test_planting_tells_which_notes_stay_whole() -> None:
    """Notes shorter than an eighth and those slurred on keep their length, and are counted in a notice."""
    made = timed(("3(E4/8 F4/8 G4/8) A4/4 G4/4 F4/4",), "planting", "4/4")
    assert isinstance(made, Variation)
    assert shown(made) == "E4/8t F4/8t G4/8t A4/8 r/8 G4/8 r/8 F4/8 r/8"
    assert [str(n.text)[:28] for n in made.notices] == ["3 notes keep their length: t"]


def test_planting_in_sixteenths_takes_twice_the_time_and_lets_a_bass_ring() -> None:
    """Each repeated note keeps its value and rests as long; the thumb's note lasts until the next one."""
    figure = "A2/16 E4/16 E4/16 E4/16"
    made = timed((" ".join([figure] * 4),), "planting", "4/4")
    assert isinstance(made, Variation)
    assert shown(made).startswith("A2/8 E4/16 r/16 E4/16 r/16 E4/16 r/16 A2/8 E4/16")
    assert [str(n.text)[:32] for n in made.notices] == ["all values are doubled, so that "]


@pytest.mark.parametrize(
    ("setting", "notes"),
    [("dotted", "E4/8. F4/16 G4/8 A4/8. G4/16 F4/8"), ("dotted, short first", "E4/16 F4/8. G4/8 A4/16 G4/8. F4/8")],
)
def test_dotted_pairs_stay_within_a_beat_of_three(setting: str, notes: str) -> None:
    """In 6/8 the first two notes of each three are the pair: each beat begins where it did."""
    made = timed(("E4/8 F4/8 G4/8 A4/8 G4/8 F4/8",), setting, "6/8")
    assert isinstance(made, Variation)
    assert shown(made) == notes
    assert [e.onset for e in made.passage.events][::3] == [0, Fraction(3, 2)]


@pytest.mark.parametrize("setting", ["in threes", "in fives", "one note later", "off the beat"])
def test_notes_of_many_lengths_are_not_moved_against_the_beat(setting: str) -> None:
    """Where most notes are longer than the commonest, they would be tied over every beat."""
    upper = "E4/8 F4/8 G4/8 F4/8 E4/2 | D4/4 B3/4 G3/2"
    made = timed((upper, "G2/2 D3/2 | G2/4 B2/4 G2/4 B2/4"), setting, "4/4")
    assert isinstance(made, Declined)
    assert made.reason == "its notes are of several lengths: written so they could hardly be read"
