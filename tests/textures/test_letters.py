"""Laws of the letters of a line as written, over every passage of the tests."""

from __future__ import annotations

from itertools import pairwise

import pytest

from engrave.axes import vary
from engrave.axes.letters import letters
from engrave.fretting.fingered import fret
from engrave.instruments import find_hand, find_instrument
from engrave.model import PLUCKING, Study, Variation
from engrave.textures import stretches
from engrave.textures.onsets import OnsetGroup, onset_groups
from tests.axes.lines import line
from tests.axes.passages import CORPUS, OWN, corpus, own
from tests.build import passage

EVERY = (*OWN, "built in", *(f"{path} {part}" for path, part, _ in CORPUS))
PIMA = "C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8 | B2/8 G3/8 D4/8 F4/8 B2/8 G3/8 D4/8 F4/8"
TREMOLO = "A2/16 E4/16 E4/16 E4/16 E3/16 E4/16 E4/16 E4/16 A3/16 E4/16 E4/16 E4/16 E3/16 F4/16 F4/16 F4/16"


def stroke(group: OnsetGroup) -> list[str]:
    """The fingers of an onset group from the lowest string up."""
    return [s.note.stroke.finger for s in group.plucked if s.note.stroke]


def music(name: str) -> Variation:
    """A passage of the tests, or of the corpus."""
    return own()[name] if name in own() else corpus()[name]


def as_written(name: str) -> Variation:
    """A passage with its letters."""
    made = vary(music(name), Study())
    assert isinstance(made, Variation)
    return made


@pytest.mark.parametrize("name", EVERY)
def test_no_finger_plays_twice_running_in_a_line(name: str) -> None:
    """Strict alternation, over rests too; notes that are slurred or tied count for nothing (common practice)."""
    made = as_written(name)
    for span in stretches(made):
        if span.kind == "line":
            inside = {note for figure in span.figures for note in figure}
            row = [m for m in onset_groups(made.passage) if m.plucked and m.plucked[0].note.id in inside]
            tops = [stroke(m)[-1] for m in row]
            assert all(a != b for a, b in pairwise(tops)), name
            assert {f for m in row for f in stroke(m) if len(m.plucked) == 1} <= {"i", "m"}, name


@pytest.mark.parametrize("name", EVERY)
def test_fingers_lie_in_their_order_over_the_strings(name: str) -> None:
    """The thumb is never above a finger in one stroke, and each finger lies over a higher string than the last."""
    for group in onset_groups(as_written(name).passage):
        ranks = [PLUCKING.index(f) for f in stroke(group)]
        assert ranks == sorted(ranks), name
        assert len({r for r in ranks if r}) == len([r for r in ranks if r]), name


@pytest.mark.parametrize("name", EVERY)
def test_every_plucked_note_has_a_finger_and_a_reason(name: str) -> None:
    """What the survey prints: one reason a note, in words."""
    found = letters(music(name), {})
    plucked = {s.note.id for m in onset_groups(music(name).passage) for s in m.plucked}
    assert set(found) == plucked
    assert all(letter.why for letter in found.values())


@pytest.mark.parametrize(
    ("text", "setting", "figure"),
    [
        (PIMA, "order p-a-m-i", 4), (PIMA, "order i-m-a-p", 4), (TREMOLO, "tremolo p-i-m-i", 4),
        (TREMOLO, "tremolo p-i-m-a", 4), (TREMOLO, "tremolo p-m-i", 3),
    ],
)  # fmt: skip
def test_an_order_begins_anew_with_every_figure(text: str, setting: str, figure: int) -> None:
    """Aligned with the group, never slipping against it."""
    made = vary(line(text), Study(pluck=setting))
    assert isinstance(made, Variation)
    row = [f for m in onset_groups(made.passage) for f in stroke(m)]
    wanted = setting.split()[1].split("-")
    assert [row[n : n + figure] for n in range(0, len(row), figure)] == [wanted] * (len(row) // figure)


@pytest.mark.parametrize(
    ("low", "lettered"), [("A2/4 D3:4.0.0/4 G2/2", 1), ("A2/4 D3:4.0.0.p/4 G2/2", 2)], ids=["plain", "source letters"]
)
def test_two_voices_on_one_note_are_one_stroke(low: str, lettered: int) -> None:
    """A unison of two voices on one string has one letter, in the upper voice unless the source letters the lower."""
    made = vary(fret(passage("E4/4 D3:4.0.0/4 G3/2", low), find_instrument("standard"), find_hand("standard")), Study())
    assert isinstance(made, Variation)
    both = [n for e in made.passage.events for n in e.notes if n.pitch.midi == 50 and e.onset == 1]
    assert len(both) == 2
    assert [n.stroke is not None for n in both] == [lettered == 1, lettered == 2]
    (group,) = (g for g in onset_groups(made.passage) if g.onset == 1)
    assert len(group.sounds) == 2
    assert stroke(group) == ["p"]


def test_four_notes_need_no_sweep_over_a_silent_string() -> None:
    """Three or four notes at once are p and fingers, though the thumb would take two strings of the figure.

    What follows the chord keeps the plan of the figure: the same fingers on the same strings.
    """
    figure = "D2:6.0.0+D3:4.0.0+A3:3.2.2/8 D4:2.3.3/8 E4:1.0.0/8 D3:4.0.0+A3:3.2.2/8 D4:2.3.3/8 F4:1.1.1/8"
    made = vary(line(f"{figure} | {figure}", metre="6/8", instrument="drop-d"), Study())
    assert isinstance(made, Variation)
    for group in onset_groups(made.passage):
        fingers = [s.note.stroke.finger for s in group.plucked if s.note.stroke]
        assert len(set(fingers)) == len(fingers)
    row = ["+".join(s.note.stroke.finger for s in g.plucked if s.note.stroke) for g in onset_groups(made.passage)]
    assert row == ["p+i+m", "m", "a", "p+i", "m", "a"] * 2


def test_a_finger_of_a_chord_does_not_play_the_next_note() -> None:
    """After a chord of i and m the single note is neither's, where another finger lies well."""
    made = vary(line("A2:5.0.0+A3:3.2.2+D4:2.3.3/4 G3:3.0.0/4 A2:5.0.0+F3:4.3.4+D4:2.3.3/4 C4:2.1.1/4"), Study())
    assert isinstance(made, Variation)
    row = [{s.note.stroke.finger for s in g.plucked if s.note.stroke} for g in onset_groups(made.passage)]
    assert not any(one & other for one, other in pairwise(row))
