"""What a teacher would print: scales, chords, broken chords, figures, barres, each checked against its printed answer.

The answers are common practice: the fingerings that methods for the guitar print for first scales, open and barre
chords and arpeggios.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from engrave.fretting import hand_figures
from engrave.fretting.fingered import fret
from engrave.fretting.surveyed import survey
from engrave.instruments import find_instrument
from engrave.line import built_in
from engrave.model import Placement, Variation, with_notes
from engrave.model.hand_signs import barre_marks, position_marks, with_whole_barres
from engrave.model.neck import settled
from engrave.reading import read
from tests.axes.lines import line
from tests.build import passage
from tests.fretting.printed import unmarked
from tests.fretting.strategies import GUITAR, HAND

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def played(*voices: str, metre: str = "4/4", fifths: int = 0) -> Variation:
    """A line with the engine's own fingering."""
    return fret(passage(*voices, metre=metre, fifths=fifths), GUITAR, HAND)


def places(made: Variation) -> list[Placement]:
    """Where the notes lie, in the order of the line."""
    return [note.placement for note in made.passage.notes if note.placement is not None]


def fingers(made: Variation) -> str:
    """The digits of a line, one after the other."""
    return "".join(str(place.finger) for place in places(made))


def eighths(names: str) -> str:
    """Pitches as bars of eight eighths, filled with rests."""
    words = [f"{name}/8" for name in names.split()]
    words += ["r/8"] * (-len(words) % 8)
    return " | ".join(" ".join(words[at : at + 8]) for at in range(0, len(words), 8))


SCALES = {
    "C3 D3 E3 F3 G3 A3 B3 C4 D4 E4 F4 G4 A4 B4 C5": "302302013013134",
    "G2 A2 B2 C3 D3 E3 F#3 G3 A3 B3 C4 D4 E4 F#4 G4": "302302402013024",
    "A2 B2 C3 D3 E3 F#3 G#3 A3 B3 C4 D4 E4 F#4 G#4 A4": None,
    "E2 F2 F#2 G2 G#2 A2 A#2 B2 C3 C#3 D3 D#3 E3 F3 F#3 G3 G#3 A3 A#3 B3 C4 C#4 D4 D#4 E4 F4 F#4 G4 G#4": (
        "01234012340123401230123401234"
    ),
}
"""two octaves up (the chromatic one from E2), and the digits; of A minor only the open octave is agreed on"""


@pytest.mark.parametrize(("names", "digits"), SCALES.items())
def test_scales_are_fingered_as_methods_print_them(names: str, digits: str | None) -> None:
    """C, G, A minor and chromatic lie in the first position on open strings; C climbs from the fifth fret on."""
    up = fingers(played(eighths(names)))
    if digits is None:
        assert up.startswith("02302412013")
    else:
        # the top of the chromatic scale may close its fingers up under the fourth; G4 is printed with 3 and with 4
        assert up[:-5] == digits[:-5]
        assert up[-2:] in (digits[-2:], "44", "23")


@pytest.mark.parametrize("names", SCALES)
def test_a_scale_comes_down_as_it_went_up(names: str) -> None:
    """The descent mirrors the ascent, note by note."""
    up = names.split()
    made = [(p.string, p.fret, p.finger) for p in places(played(eighths(" ".join(up + up[-2::-1]))))]
    assert made == made[::-1]


CHORDS = {
    "C3+E3+G3+C4+E4": "32010",
    "A2+E3+A3+C4+E4": "02310",
    "D3+A3+D4+F#4": "0132",
    "E2+B2+E3+G#3+B3+E4": "023100",
    "D3+A3+D4+F4": "0231",
    "C3+E3+Bb3+C4+E4": "32410",
    "F2+C3+F3+A3+C4+F4": "134211",
    "G2+D3+G3+Bb3+D4+G4": "134111",
    "B2+F#3+B3+D4+F#4": "13421",
    "F#2+C#3+F#3+A3+C#4+F#4": "134111",
    "C3+G3+C4+Eb4+G4": "13421",
    "C3+G3+Bb3+E4+G4": "13141",
    "C3+G3+Bb3+E4": "1314",
    "F3+A3+C4+F4": "3211",
}
"""block chord → digits from the bass up: five open chords, C7, five barre chords, C7 at the third fret with and
without its fifth on top, F on four strings"""


@pytest.mark.parametrize(("chord", "digits"), CHORDS.items())
def test_chords_take_their_common_shapes(chord: str, digits: str) -> None:
    """Open and barre chords as any method prints them; two notes at one fret take 3 and 4, not one bent finger."""
    made = played(f"{chord}/1")
    assert fingers(made) == digits
    assert all(place.finger == 1 for place in places(made) if place.barre)


def test_two_fingers_go_to_the_next_strings_together() -> None:
    """From A minor to E and back 2 and 3 move over one string side by side; 4 does not come in for one of them."""
    am, e = "A2+E3+A3+C4+E4", "E2+B2+E3+G#3+B3+E4"
    assert fingers(played(f"{am}/2 {e}/2 | {am}/1")) == "02310" + "023100" + "02310"


def test_thirds_low_on_the_neck_move_the_hand_rather_than_spread_its_outer_fingers() -> None:
    """D and F on the fifth and third fret are 4 and 2, E and G there too (common practice): not 4 beside 3."""
    up = "C3+E3/4 D3+F3/4 E3+G3/4 F3+A3/4 | G3+B3/4 A3+C4/4 B3+D4/4 C4+E4/4 | D4+F4/8 E4+G4/8 D4+F4/8 C4+E4/8 B3+D4/2"
    made = places(played(up))
    assert [place.finger for place in made[2:4]] == [4, 2]
    assert [place.finger for place in made[18:20]] == [4, 2]


def test_no_reach_to_the_limit_where_a_shift_will_do() -> None:
    """Under a note on the eighth fret a bass takes its place near it, not five frets below."""
    top = "C4/16 E4/8 G4/16 r/16 G4/8 E4/16 | A4/8 G#4/8 A4/8 C5/8 | B4/16 A4/16 G4/8 r/16 F4/8 D4/16 | C4/4 r/4"
    made = played(top, "C3/4 E3/4 | F2/4 F3/4 | G2/4 B2/4 | C3/4 C3/4", metre="2/4")
    frets = {note.pitch.midi: note.placement.fret for note in made.passage.notes if note.placement}
    assert frets[72] - frets[53] <= 3


def test_a_guide_finger_slides_from_chord_to_chord() -> None:
    """A major to D major and back: 3 stays on the second string, 1 and 2 change strings; no finger lies over two."""
    a, d = "A2+E3+A3+C#4+E4", "D3+A3+D4+F#4"
    assert fingers(played(f"{a}/2 {d}/2 | {a}/1")) == "01230" + "0132" + "01230"
    assert fingers(played(f"{d}/2 {a}/2 | {d}/1")) == "0132" + "01230" + "0132"


def test_no_first_finger_lies_under_strings_that_ring_open() -> None:
    """E minor 7: two fingers at the second fret, for a finger laid over them would stop the open third string."""
    made = places(played("E2+B2+E3+G3+D4/1"))
    assert not any(place.barre for place in made)
    assert len({place.finger for place in made if place.fret}) == 3


ARPEGGIOS = {
    "C3 E3 G3 C4 E4 C4 G3 E3": "32010102",
    "A2 E3 A3 C4 E4 C4 A3 E3": "02310132",
    "B2 F#3 B3 D4 F#4 D4 B3 F#3": "13421243",
    "F2 C3 F3 A3 C4 F4 C4 A3": "13421112",
    "C3 E3 Bb3 C4 E4 C4 Bb3 E3": "32410142",
    "C3 G3 Bb3 E4 G4 E4 Bb3 G3": "13141413",
}
"""broken chord → digits; the sevenths are those of the blocks above, though their seventh is a step below the root"""


@pytest.mark.parametrize(("names", "digits"), ARPEGGIOS.items())
def test_a_broken_chord_is_one_held_shape(names: str, digits: str) -> None:
    """A broken chord takes the fingers of the chord as a block."""
    assert fingers(played(eighths(names))) == digits


def test_a_broken_barre_is_laid_with_its_first_note() -> None:
    """One sign for a barre from where it is laid to where it is lifted, though its notes come one by one."""
    made = played(eighths("F2 C3 F3 A3 C4 F4 C4 A3"))
    marks = barre_marks(made.passage.events)
    assert [(mark.kind, mark.fret) for mark in marks] == [("full", 1)]
    assert marks[0].first is made.passage.events[0]
    assert marks[0].last is made.passage.events[-1]


def test_a_barre_lies_until_its_chord_is_over() -> None:
    """The bracket runs to the last note of the broken chord, whatever finger stops it."""
    made = played("F2/8 A3/8 F4/8 A3/8 G4/2")
    (mark,) = barre_marks(made.passage.events)
    assert mark.last is made.passage.events[3]


def test_a_barre_is_over_where_a_finger_stops_something_behind_it() -> None:
    """The bracket ends before a note at a lower fret, on whatever string: the finger cannot lie there any more."""
    made = line("G3:4.5.3+C4:3.5.4+D4:2.3.1+G4:1.3.1/4 G4:1.3.1/4 A3:3.2.4/4 G3:3.0.0/4")
    notes = [n for n in made.passage.notes if n.placement and n.placement.fret == 3]
    laid = {n.id: replace(n, placement=replace(n.placement, barre="half")) for n in notes if n.placement}
    (mark,) = barre_marks(with_notes(made.passage, laid).events)
    assert mark.last.onset == made.passage.events[1].onset


def test_a_barre_is_over_where_a_string_sounds_open_on_the_side_of_its_base() -> None:
    """The finger lies from the treble side: with the first string open it stops one string with its tip."""
    made = line("G3:4.5.1+C4:3.5.1/4 C4:3.5.1+E4:1.0.0/4 C4:3.5.1+E4:1.0.0/2")
    notes = [n for n in made.passage.notes if n.placement and n.placement.fret == 5]
    laid = {n.id: replace(n, placement=replace(n.placement, barre="half")) for n in notes if n.placement}
    whole = with_whole_barres(with_notes(made.passage, laid))
    (mark,) = barre_marks(whole.events)
    assert mark.first is mark.last is whole.events[0]


def test_a_fret_reached_while_an_open_string_sounds_is_no_position() -> None:
    """Numerals stand where the hand goes to live for several notes; one fret, with open strings between, is a reach."""
    low, high = "F4:1.1.1/8 E4:1.0.0/8 G4:1.3.3/8 E4:1.0.0/8", "F#4:1.2.1/8 E4:1.0.0/8 A4:1.5.4/8 E4:1.0.0/8"
    around = line(f"{low} {low} | {high} {high} | {high} {high}").passage.events
    assert settled([[n.placement for n in e.notes if n.placement and n.placement.fret] for e in around])[-1] == 2
    assert position_marks(around) == ()
    alone = line("F4:1.1.1/4 G4:1.3.3/4 F#4:1.2.1/4 A4:1.5.4/4 | F#4:1.2.1/4 A4:1.5.4/4 F#4:1.2.1/2").passage.events
    assert [place for _, place in position_marks(alone)] == [2]


def test_a_barre_lies_as_long_as_its_finger() -> None:
    """A bracket runs to the last note of finger 1 at its fret, be it struck alone after other fingers."""
    cells = ((1, 1, 1, "half"), (2, 1, 1, "half"), (1, 3, 3, ""), (1, 1, 1, ""), (1, 3, 4, ""), (2, 3, 3, ""))
    music = passage("F4+C4/4 G4/4 F4/4 G4/4 | D4/4 r/2.")
    names = [n.id for n in music.notes]
    lying = {
        note.id: replace(note, placement=Placement(string=s, fret=f, finger=g, barre=kind))
        for note, (s, f, g, kind) in zip(music.notes, cells, strict=True)
    }
    (mark,) = barre_marks(with_notes(music, lying).events)
    assert [n.id for n in mark.first.notes + mark.last.notes] == [*names[:2], names[3]]


def test_the_open_position_comes_first() -> None:
    """E3 G3 A3 C4 stay in open position, within three frets."""
    made = places(played("E3/4 G3/4 A3/4 C4/4"))
    assert [(p.string, p.fret) for p in made] == [(4, 2), (3, 0), (3, 2), (2, 1)]


@pytest.mark.parametrize(
    ("names", "digits"),
    [
        ("A3 B3 C4 D4", "2013"),
        ("B3 C4 D4 E4", "0130"),
        ("C4 D4 E4 F4", "1301"),
        ("D4 C4 B3 A3", "3102"),
        ("E3 F3 G3 A3", "2302"),
        ("D3 E3 F3 G3", "0230"),
    ],
)
def test_a_few_notes_alone_lie_in_the_first_position(names: str, digits: str) -> None:
    """Four notes of the first position with nothing around them: one finger a fret, open strings where there are."""
    assert fingers(played(" ".join(f"{name}/4" for name in names.split()))) == digits


def test_the_same_figure_keeps_its_fingering() -> None:
    """A figure that comes back after other music lies and is fingered as before."""
    figure, other = "G4/8 B4/8 A4/8 C5/8 B4/8 D5/8 C5/8 A4/8", "E4/8 F4/8 G4/8 A4/8 B4/8 C5/8 D5/8 E5/8"
    made = places(played(f"{figure} | {other} | {figure} | C4/4 D4/4 E4/2"))
    assert made[:8] == made[16:24]


def test_the_built_in_line_fingers_its_figure_alike_everywhere() -> None:
    """The figure of the built-in line has 4 1 3 1 over open strings, on the first string and on the second.

    Answer by hand: fret 5 takes 4, fret 1 takes 1, fret 3 takes 3 wherever they stand; fret 4 before fret 5 takes 3.
    """
    data, name = built_in()
    made = fret(read(data, name), GUITAR, HAND)
    assert {(p.fret, p.finger) for p in places(made)} == {(0, 0), (1, 1), (3, 3), (4, 3), (5, 4)}


@pytest.mark.parametrize(
    ("names", "digits"),
    [
        ("A2 B2 C3 D3 E3 F#3 G#3 A3 B3 C4 D4 E4 F#4 G#4 A4 G4 F4 E4", "023024120130134"),
        ("E4 F4 G#4 A4 G#4 A4 G#4 E4", "01343430"),
        ("C5 B4 A4 G#4 A4 G#4 A4 B4", "4321212"),
    ],
)
def test_neighbouring_frets_take_neighbouring_fingers(names: str, digits: str) -> None:
    """No finger slides a fret in a line while another is free: the top of A minor, and its turns."""
    made = places(played(eighths(names)))
    assert "".join(str(place.finger) for place in made).startswith(digits)
    for one, other in pairwise(made):
        assert not (one.finger == other.finger > 0 and one.string == other.string and abs(one.fret - other.fret) == 1)


def test_a_string_that_rings_on_is_not_stopped() -> None:
    """Over an open second string that rings, the octave is not stopped on that string."""
    made = played("B4/4 A4/4 G4/4 B4/4", "B3/1")
    low = next(n.placement for n in made.passage.notes if n.pitch.midi == 59)
    assert low is not None
    assert all(place.string != low.string for place in places(made) if place is not low)


def test_a_pedal_note_stays_on_its_string() -> None:
    """A note that comes back between the notes of a line is the same open string each time."""
    made = places(played(eighths("B3 C4 B3 D4 B3 E4 B3 F4 B3 G4 B3 F4 B3 E4 B3 D4")))
    assert {(p.string, p.fret) for p in made[::2]} == {(2, 0)}


@pytest.mark.parametrize("chord", ["C3+E3+G3+C4+E4", "G2+B2+D3+G3+B3+G4", "A2+E3+A3+C4+E4", "E3+G3+B3+E4"])
def test_a_pedal_note_stays_open_around_a_chord(chord: str) -> None:
    """Before a chord, in it and after it the pedal is the same open string."""
    figure = "B3/8 C4/8 B3/8 D4/8"
    made = played(f"{figure} {chord}/2 | {figure} B3/2")
    pedal = {(n.placement.string, n.placement.fret) for n in made.passage.notes if n.placement and n.pitch.midi == 59}
    assert pedal == {(2, 0)}


def example(name: str) -> Variation:
    """An example of the program's own, fingered by the engine."""
    instrument = find_instrument("drop-d") if name == "slow-barge.tab" else GUITAR
    return fret(unmarked(read((EXAMPLES / name).read_bytes(), name)), instrument, HAND)


def bar(made: Variation, number: int) -> str:
    """The digits of one bar."""
    one = made.passage.bars[number - 1]
    inside = (e for e in made.passage.events if one.onset <= e.onset < one.onset + one.length)
    return "".join(str(n.placement.finger) for e in inside for n in e.notes if n.placement)


def test_the_basses_of_a_tremolo_ring_on() -> None:
    """A3 and E3 after it at the same fret take 3 and 2 as in the chord; repeated notes keep their finger."""
    made = example("lamps-on-the-quay.tab")
    assert bar(made, 6) == "0444" + "3111" + "2000"
    assert bar(made, 1) == "0000" + "3000" + "2000"


def test_a_first_finger_over_two_basses_of_a_tremolo_is_a_barre() -> None:
    """With 4 on A4 the first finger lies over both basses at the second fret, and a sign says so; nowhere else."""
    marks = barre_marks(example("lamps-on-the-quay.tab").passage.events)
    assert [(mark.kind, mark.fret, float(mark.first.onset)) for mark in marks] == [("half", 2, 10.0)]


def test_a_line_keeps_a_finger_a_fret_over_open_strings() -> None:
    """G on the first string takes 3 though D before it did: an open string between gives the finger its time."""
    made = example("four-doors.tab")
    assert bar(made, 2) == "13013103"
    assert bar(made, 6) == "0000" + "2000" + "3111" + "2000"


def test_a_finger_has_its_time_over_a_long_note() -> None:
    """C at the end takes 3 again, two notes after G: the half note between gives the finger its time."""
    assert fingers(played("B2/4 A2/4 G2/4 F2/2 C3/4", metre="6/4")) == "203" + "13"


def test_the_next_string_at_one_fret_takes_the_next_finger() -> None:
    """G sharp, E, A: 1, 2 and 3, and D after C takes 3 again, for B is open."""
    assert fingers(played("G#3/2 E3/4 | A3/4 B3/4 C4/4 | D4/4 F4/4 E4/4", metre="3/4")) == "12" + "301" + "310"


def test_a_standing_hand_does_not_slide() -> None:
    """F G A G F on the first string: a finger a note, not 4 along the string."""
    assert fingers(played(eighths("E4 F4 G4 A4 G4 F4 E4 F4"))) == "01343101"


def test_a_bass_does_not_take_the_finger_of_the_last_one() -> None:
    """G sharp on the third string takes 1, E on the fourth 2: 1 does not go from string to string."""
    assert bar(example("lamps-on-the-quay.tab"), 3) == "0444" + "1444" + "2444"


@pytest.mark.parametrize(
    ("names", "digits"),
    [("E3 A3 B3 C4", "2301"), ("B2 E3 F3 E3", "1232"), ("D4 G4 F4 E4", "3410")],
)
def test_no_finger_hops_to_the_next_string_while_another_is_free(names: str, digits: str) -> None:
    """Two notes at one fret on neighbouring strings, one after the other, take two fingers."""
    assert fingers(played(" ".join(f"{name}/4" for name in names.split()))) == digits


def test_an_open_chord_after_a_barre_takes_its_own_form() -> None:
    """F with a barre, then E: 2, 3 and 1 as always, not one finger of the barre chord left behind."""
    assert fingers(played("F2+C3+F3+A3+C4+F4/2 E2+B2+E3+G#3+B3+E4/2")) == "134211" + "023100"


def test_a_line_over_open_strings_takes_a_finger_a_fret() -> None:
    """C sharp and D on the second string take 2 and 3; 4 is not called where 3 is free."""
    assert bar(example("slow-barge.tab"), 2) == "02" + "3" + "0" + "2"


def test_another_fingering_is_one_idea_throughout() -> None:
    """The next fingering of the built-in line lies on stopped strings in one position, each figure fingered one way.

    Answer by hand: the third position, fret 3 under 1 and fret 6 under 4.
    """
    data, name = built_in()
    found = survey(unmarked(read(data, name)), GUITAR, HAND).fingerings
    made = places(found[1].variation)
    assert all(place.fret for place in made)
    assert {place.finger for place in made if place.fret == 3} == {1}
    assert {place.finger for place in made if place.fret == 6} == {4}
    assert bar(found[1].variation, 5)[-4:] == bar(found[1].variation, 1)[-4:]


def test_no_other_fingering_is_offered_where_none_is_good() -> None:
    """Broken chords over open basses, as of the first position, have no second fingering that a hand would choose."""
    data = (EXAMPLES / "mill-race.tab").read_bytes()
    assert len(survey(unmarked(read(data, "mill-race.tab")), GUITAR, HAND).fingerings) == 1


def test_notes_around_an_open_pedal_stay_in_the_first_position() -> None:
    """3, 1 and 4 on the pedal's own string, not a second string further up."""
    made = places(played(eighths("B3 D4 B3 C4 B3 D#4 B3 B3")))
    assert [(p.string, p.fret, p.finger) for p in made if p.fret] == [(2, 3, 3), (2, 1, 1), (2, 4, 4)]


def test_one_finger_per_fret_is_comfortable_at_the_first_fret() -> None:
    """No two neighbouring or outer fingers on frets 1 to 4 reach beyond comfort with a standard hand."""
    mm = [GUITAR.mm(fret_) for fret_ in range(5)]
    for low in range(1, 5):
        for high in range(low + 1, 5):
            assert mm[high] - mm[low] <= HAND.comfortable[low, high]
    assert hand_figures(played(eighths("F4 F#4 G4 G#4 G4 F#4 F4 F#4"))).stretches == 0


def stopped(*cells: tuple[int, int]) -> list[tuple[Placement, ...]]:
    """Onsets of one note on the top string: fret and finger."""
    return [(Placement(string=1, fret=fret_, finger=finger),) for fret_, finger in cells]


@pytest.mark.parametrize(
    ("cells", "hands"),
    [
        (((1, 1), (3, 3), (5, 4), (1, 1)), (1, 1, 1, 1)),
        (((1, 1), (3, 3), (5, 1), (7, 3), (8, 4), (7, 3)), (1, 1, 5, 5, 5, 5)),
        (((5, 1), (6, 2), (17, 4), (16, 3), (17, 4), (14, 1)), (5, 5, 14, 14, 14, 14)),
        (((1, 1), (2, 2), (4, 3), (5, 4), (5, 4), (1, 1), (2, 2)), (1,) * 7),
        (((1, 1), (2, 2), (3, 3), (1, 1), (4, 3), (5, 4), (5, 4)), (1,) * 7),
        (((4, 3), (5, 4), (5, 4), (1, 1), (2, 2), (3, 3), (1, 1)), (1,) * 7),
        ((), ()),
    ],
)
def test_the_settled_hand_leaves_reaches_out(cells: tuple[tuple[int, int], ...], hands: tuple[int, ...]) -> None:
    """A reach out and back moves no hand; several notes elsewhere do (the numbers by hand)."""
    assert settled(stopped(*cells)) == hands


@pytest.mark.parametrize("names", [*SCALES, "C4 E4 G4 C5 E5 G5 E5 C5 G4 E4 C4 E4 G4 C5 E5 G5"])
def test_a_position_numeral_is_the_fret_less_the_finger_and_one(names: str) -> None:
    """Every numeral agrees with the fret and the finger of the note at which it stands, and differs from the last."""
    made = played(eighths(names))
    marks = position_marks(made.passage.events)
    for event, place in marks:
        assert place in {n.placement.fret - n.placement.finger + 1 for n in event.notes if n.placement}
    assert all(one[1] != other[1] for one, other in pairwise(marks))
