"""The laws every variation keeps: over every setting, over mixtures, and shown to catch what breaks them."""

from __future__ import annotations

import os
import random
from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest

from engrave.axes import ORDER, vary
from engrave.model import TEXTURES, Declined, Note, Placement, Stroke, Study, Variation, with_notes
from engrave.model.hand_signs import barre_marks
from tests.axes.laws import check
from tests.axes.lines import line, place, say
from tests.axes.passages import barred, corpus, own, under
from tests.build import passage

MIXTURES = int(os.environ.get("ENGRAVE_MIXTURES", "250"))
"""how many mixtures are drawn; the long run is ENGRAVE_MIXTURES=2000"""
SAMPLE = ("alternating", "pickup", "ties", "graces", "chords", "moving bass")
"""textures on which every setting is tried in the default run; the long run takes every passage"""
SETTINGS = [(axis.name, setting.name) for axis in ORDER for setting in axis.settings]
MORE_NOTES = ("open before", "block", "tremolo", "arpeggio", "times", "order", "alone")
"""settings that add notes or take some away, by a word in their names"""


def names() -> list[str]:
    """The passages of this run."""
    return list(own()) if MIXTURES >= 2000 else list(SAMPLE)


def study(**settings: str) -> Study:
    """A study from axis names."""
    return Study(**settings)  # type: ignore[arg-type]


def sung(variation: Variation) -> Counter[int]:
    """How often each pitch is sounded, ties counted once."""
    return Counter(note.pitch.midi for note in variation.passage.notes if not note.tied_back)


@pytest.mark.parametrize(("axis", "setting"), SETTINGS)
def test_every_setting_keeps_the_laws_or_says_why_it_does_not_apply(axis: str, setting: str) -> None:
    """Lawful, the same when asked again, every note accounted for, and the line left as it was."""
    for name in names():
        before = own()[name]
        untouched = (before.passage, before.study, before.notices)
        made = under(name, axis, setting)
        # a line that is another value though it is equal: nothing of it can be remembered
        assert made == vary(replace(before), study(**{axis: setting})), name
        assert (before.passage, before.study, before.notices) == untouched
        if isinstance(made, Declined):
            assert (made.axis, made.setting) == (axis, setting)
            assert made.reason
            assert not made.reason[0].isupper() or made.reason.split()[0][0] in "ABCDEFG", made.reason
            continue
        assert check(made) == (), name
        assert made.title
        assert made.purpose.endswith(".")
        assert made.cue.endswith((".", "?"))
        if axis != "strings" and not any(word in setting for word in MORE_NOTES):
            assert sung(made) == sung(before), f"{name}: a note was lost or won"
        if axis == "strings":
            assert sum(sung(made).values()) == sum(sung(before).values())


def test_the_signs_of_barres_agree_with_the_notes_however_chords_are_practised() -> None:
    """One sign for a barre, by one name for all its notes, whatever is made of the chords under it."""
    before = barred()
    laid: Counter[str] = Counter()
    for axis, setting in SETTINGS:
        made = vary(before, study(**{axis: setting}))
        if isinstance(made, Variation):
            assert check(made) == (), (axis, setting)
            laid.update(barre.kind for barre in barre_marks(made.passage.events))
    assert min(laid["full"], laid["half"]) > 20


def drawn(rng: random.Random) -> Study:
    """A study with a setting of the catalogue on some of its axes."""
    chosen = {axis.name: rng.choice(axis.settings).name for axis in ORDER if rng.random() < 0.35}
    return study(**chosen)


MIXED = (
    "E4/8 F4/8 G4/8 F4/8 E4/8 D4/8 C4/8 D4/8 | C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8 | "
    "C3+G3+C4+E4/2 C3+G3+C4+E4/2 | A2+E4/4 F4/4 A2+E4/4 C4/4"
)
"""a line, a broken chord, chords, and a melody over a bass, a bar each"""


def test_bars_that_are_said_to_be_as_written_are() -> None:
    """Where a page says which bars a study changes, the others have the notes, hands and marks of the line."""
    before = place(passage(MIXED))
    plain = vary(before, Study())
    assert isinstance(plain, Variation)
    told = 0
    partial = [(a.name, s.name) for a in ORDER for s in a.settings if set(s.fits) < set(TEXTURES)]
    for axis, setting in partial:
        for more in ({}, {"accent": "every 2"}) if setting in ("m-a", "a-m-i", "block", "melody alone") else ({},):
            made = vary(before, study(**{axis: setting, **more}))
            if isinstance(made, Declined) or not made.extent.startswith("This is done in"):
                continue
            told += 1
            named = bars_of(made.extent.removeprefix("This is done in ").split(";")[0])
            for one, other in zip(shown(plain), shown(made), strict=True):
                assert one[0] in named or one == other, (axis, setting, one[0])
    assert told > 30


def bars_of(text: str) -> set[str]:
    """The bars a text such as "bars 1–2 and 4" names."""
    parts = [
        part.split("–") for part in text.removeprefix("bars ").removeprefix("bar ").replace(" and ", ", ").split(", ")
    ]
    return {str(n) for ends in parts for n in range(int(ends[0]), int(ends[-1]) + 1)}


def shown(variation: Variation) -> list[tuple[str, list[object]]]:
    """Label and contents of each bar."""
    return [
        (
            bar.label,
            [
                (
                    e.onset,
                    e.duration,
                    e.marks,
                    [(n.pitch, n.placement, n.stroke, bool(n.slurred_from)) for n in e.notes],
                )
                for e in variation.passage.events
                if e.bar == at and e.notes
            ],
        )
        for at, bar in enumerate(variation.passage.bars)
    ]


PAIRS = [s for a, s in SETTINGS if a == "pluck" and len(s) == 3]


@pytest.mark.parametrize("setting", PAIRS)
def test_a_pair_starts_with_the_finger_it_names_and_goes_on_from_what_a_chord_needs(setting: str) -> None:
    """The first note that is free to choose has the first finger, and no single note repeats the finger on top."""
    first, second = setting.split("-")
    chord = "C3:5.3.3+C4:2.1.1+E4/4"
    for music, metre in (("E4/4 F4/4 E4/4 F4/4", "4/4"), (f"{chord} F4/4 E4/4 {chord} F4/4 E4/4 F4/4 E4/4", "8/4")):
        made = vary(line(music, metre=metre), study(pluck=setting))
        if isinstance(made, Declined):
            continue
        row = say(made).split()
        assert first in row[0].split("+") or row[1] == first
        singles = [(a.split("+")[-1], b) for a, b in pairwise(row) if "+" not in b]
        assert all(a != b for a, b in singles), row
        assert {b for _, b in singles} == {first, second}


def test_drawn_mixtures_keep_the_laws() -> None:
    """Any mixture over any passage, ours and the corpus's, is lawful or names the axis at fault."""
    lines = {**own(), **corpus()}
    assert len(lines) >= 30
    rng = random.Random(1812)
    applied = 0
    for _ in range(MIXTURES):
        name = rng.choice(sorted(lines))
        mixture = drawn(rng)
        made = vary(lines[name], mixture)
        if isinstance(made, Declined):
            assert made.axis in [axis.name for axis in ORDER]
            assert mixture.setting(made.axis) == made.setting
            continue
        applied += 1
        assert check(made) == (), (name, mixture)
        assert made.study == mixture
    # most fingers in strict turn lie as no hand does in first positions
    assert applied >= MIXTURES / 4


def test_what_is_remembered_of_a_line_changes_nothing() -> None:
    """A study after others on the same line is what it is alone, whatever name, tempo and later axes they had."""
    rng = random.Random(7)
    for name in SAMPLE:
        before = own()[name]
        for _ in range(6):
            one, other = drawn(rng), drawn(rng)
            first = {axis.name: one.setting(axis.name) for axis in ORDER[:4]}
            after = replace(other, **first, name="Another", tempo=(60,), times=2)  # type: ignore[arg-type]
            assert (vary(before, one), vary(before, after)) == (
                vary(replace(before), one),
                vary(replace(before), after),
            )


def crossed() -> Variation:
    """A scale whose second note, on a lower string, is a finger's after the thumb."""
    made = vary(line("E4/4 F4/4 E4/4 B3/4 C4/4 D4/4 B3/4 C4/4", metre="8/4"), study(pluck="p-i-m"))
    assert isinstance(made, Variation)
    _, _, third, fourth, *_ = made.passage.notes
    changed = {n.id: replace(n, stroke=Stroke(finger=finger)) for n, finger in ((third, "p"), (fourth, "i"))}
    return replace(made, passage=with_notes(made.passage, changed))


def broken(change: str) -> Variation:
    """A sound variation with one fault put into it."""
    made = vary(line("F4/4 E4/4 G4/4 E4/4 | C3+G3+C4+E4/1"), Study())
    assert isinstance(made, Variation)
    notes = list(made.passage.notes)
    first, second, third, *_ = notes
    lowest = notes[4]

    def put(note: Note, **fields: object) -> Variation:
        changed = replace(note, **fields)  # type: ignore[arg-type]
        return replace(made, passage=with_notes(made.passage, {note.id: changed}))

    place = first.placement
    assert place is not None
    faults = {
        "no placement": put(first, placement=None),
        "wrong pitch": put(first, placement=replace(place, fret=2)),
        "no such string": put(first, placement=replace(place, string=9)),
        "no such fret": put(first, placement=replace(place, fret=30)),
        "no stroke": put(first, stroke=None),
        "slurred and plucked": put(second, slurred_from=first.id),
        "slur over strings": put(lowest, slurred_from=third.id, stroke=None),
        "slur from nothing": put(second, slurred_from="nobody", stroke=None),
        "slur over a note": put(third, slurred_from=first.id, stroke=None),
        "one finger twice": put(lowest, stroke=Stroke(finger="a")),
        "tied to nothing": put(third, tied_back=True, stroke=None),
        "out of reach": put(notes[5], placement=Placement(string=4, fret=5, finger=4, position=2)),
        "barre of one string": put(first, placement=replace(place, barre="half")),
        "two on a string": put(notes[5], placement=Placement(string=5, fret=10, finger=4, position=7)),
        "thumb above a finger": crossed(),
        "rest stroke onto a plucked string": put(notes[7], stroke=Stroke(finger="a", kind="rest")),
    }
    return faults[change]


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        ("no placement", "n1 F4: has no placement"),
        ("wrong pitch", "n1: written F4, but string 1 fret 2 sounds another pitch"),
        ("no such string", "n1: string 9 of 6"),
        ("no such fret", "n1: fret 30 of 19"),
        ("no stroke", "n1: plucked by no finger"),
        ("slurred and plucked", "n3: slurred, yet plucked"),
        ("slur over strings", "n9: slurred from another string"),
        ("slur from nothing", "n3: slurred from no note"),
        ("slur over a note", "n5: another note sounds on the string between"),
        ("one finger twice", "n9: a i m a at once"),
        ("tied to nothing", "n5: tied back to nothing"),
        ("barre of one string", "e2: a barre over string 1 alone"),
        ("two on a string", "n9: two notes on one string at once"),
        ("thumb above a finger", "n7: the thumb lies above a finger"),
        ("rest stroke onto a plucked string", "n12: rests on a string that is plucked with it"),
    ],
)
def test_the_laws_see_each_fault(fault: str, said: str) -> None:
    """A law that cannot fail is none: each fault put into a sound variation is named."""
    assert said in check(broken(fault))


def test_a_grip_out_of_reach_is_seen() -> None:
    """650 mm × (2^(-1/12) − 2^(-5/12)) is 126.6 mm, more than fingers 1 and 2 can hold."""
    made = line("F2:6.1.1+C4:3.5.2/1")
    reach = made.hand.practical[1, 2]
    assert reach < 126
    assert f"n1: fingers 1 and 2 126.6 mm apart, the hand reaches {reach:.0f}" in check(made)
