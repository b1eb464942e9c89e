from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

import pytest

from engrave.axes import ORDER, vary
from engrave.model import Plan, Player, Spot, Study, Trouble, Variation
from engrave.model.hand_signs import barre_marks, position_marks
from engrave.model.wording import numeral
from engrave.regimen import choose
from engrave.regimen.spot_places import place_of
from engrave.regimen.spots import felt, spots
from engrave.textures import textured
from tests.axes.passages import barred, broken, own
from tests.regimen.lines import OPEN_AND_STOPPED, SCALE, TWO_BARS, example, line, varied


def found(text: str, study: Study, tempo: int = 60) -> list[tuple[str, str]]:
    """Kind and reason of the hard spots of a variation."""
    music = line(text)
    made = varied(music, study)
    ids = {note.id: note.id for note in music.passage.notes}
    return [(one.kind, one.reason) for one in spots(made, tempo=tempo, beat=Fraction(1), line=ids)]


HARD = (
    (SCALE, "i-m", "crossing", "From m on ② to i on ① the fingers cross against the way the hand lies."),
    (
        "E4:1.0.0/4 F4:1.1.1/4 C#5:1.9.1/4 C5:1.8.1/4",
        "as given",
        "shift",
        "The hand moves from position I to VIII, with no open string to cover it.",
    ),
    (
        "G4:1.3.3/8 E4:1.0.0/8 B3:2.0.0/4 E4:1.0.0/2",
        "as given",
        "letting go",
        "Finger 3 must leave ① before its open note sounds.",
    ),
    ("F4:1.1.1/2 A4:1.5.4/4 A4:1.5.4/4", "i", "same finger", "i plucks twice running."),
    ("F4:1.1.1/4 G4:1.3.3/4 F4:1.1.1/2", "i-m", "fingers", "Finger 3 follows finger 1."),
)


@pytest.mark.parametrize(("text", "pluck", "kind", "said"), HARD)
def test_the_place_that_fails_first_is_named_with_its_reason(text: str, pluck: str, kind: str, said: str) -> None:
    """Small lines with one hard step each, reckoned by hand: a quarter at 60 lasts a second."""
    assert (kind, said) in found(text, Study(pluck=pluck))


@pytest.mark.parametrize(
    "name", ["built in", "scale", "quick scale", "high", "barres", "slow-barge.tab", "four-doors.tab"]
)
def test_a_move_is_told_by_the_numerals_of_the_page(name: str) -> None:
    """From where the last sign before says that the hand is, to where one at the place does: position or barre."""
    before = example(name) if "." in name else barred() if name == "barres" else own()[name]
    told = 0
    for name_of, setting in [(axis.name, setting.name) for axis in ORDER for setting in axis.settings]:
        made = vary(before, Study(**{name_of: setting}))  # type: ignore[arg-type]
        if not isinstance(made, Variation):
            continue
        events = made.passage.events
        signs = [(event.onset, place) for event, place in position_marks(events)]
        signs += [(barre.first.onset, barre.fret) for barre in barre_marks(events)]
        for spot in spots(made, tempo=72, beat=Fraction(1), line=[n.id for n in before.passage.notes]):
            said = re.search(r"from position (\w+) to (\w+)", spot.reason)
            if said:
                told += 1
                onsets = {e.onset for e in events if any(n.id in spot.notes for n in e.notes)}
                # a note reached on the way to a place is told by the sign that follows
                after = [place for onset, place in sorted(signs) if onset > max(onsets)][:1]
                shown = {place for onset, place in signs if onset in onsets} | {1, *after}
                earlier = [place for onset, place in sorted(signs) if onset <= max(onsets)]
                assert said[2] in {numeral(place) for place in shown}, (made.title, spot.reason)
                assert said[1] in {numeral(place) for place in (1, *earlier)}, (made.title, spot.reason)
    assert told or name in ("four-doors.tab",)


def test_a_reason_is_true_at_every_tempo() -> None:
    """A student's page has several tempi: no reason names a time that belongs to one of them."""
    slow, fast = (found("G4:1.3.3/8 E4:1.0.0/8 B3:2.0.0/2.", Study(), tempo)[0][1] for tempo in (60, 120))
    assert slow == fast == "Finger 3 must leave ① before its open note sounds."


@pytest.mark.parametrize("text", [SCALE, TWO_BARS, OPEN_AND_STOPPED])
def test_every_page_has_its_spots_and_their_loops_lie_in_it(text: str) -> None:
    """One or two spots a page, whose notes are the page's and hold all that the reason names, the hardest first."""
    for step in choose(line(text), Plan(player=Player(level="advanced"))).steps:
        notes = {note.id: event.onset for event in step.variation.passage.events for note in event.notes}
        # a drill of one open string has nothing that could fail
        least = any(note.placement and note.placement.fret for note in step.variation.passage.notes)
        assert least <= len(step.spots) <= 2, step.variation.title
        assert [s.score for s in step.spots] == sorted((s.score for s in step.spots), reverse=True)
        for spot in step.spots:
            assert set(spot.notes) <= set(notes)
            assert 2 <= len({notes[name] for name in spot.notes}) <= 16
            assert spot.named
            assert set(spot.named) <= set(spot.notes)
            assert spot.reason.endswith(".")


def test_the_teacher_sees_the_hardest_places_of_the_line() -> None:
    """Places are ranked, each is hard in the steps it names, and the steps that treat it are not the line itself."""
    regimen = choose(line(OPEN_AND_STOPPED), Plan())
    assert regimen.troubles
    scores = [trouble.score for trouble in regimen.troubles]
    assert scores == sorted(scores, reverse=True)
    for trouble in regimen.troubles:
        # the reason is true of every page it stands for, and no page that has it is left out
        first = {at for at, step in enumerate(regimen.steps) for s in step.spots if _named(s, trouble)}
        assert first <= {*trouble.steps}
        assert 0 not in trouble.treated
        assert not {*trouble.treated} & {*trouble.steps}


def _named(spot: Spot, trouble: Trouble) -> bool:
    passage = line(OPEN_AND_STOPPED).passage
    place = next((place_of(passage, e) for e in passage.events for n in e.notes if n.id == spot.source), None)
    return spot.reason == trouble.reason and place == trouble.place


def test_what_treats_a_hard_place_trains_the_same_fingers_the_same_way() -> None:
    """Each reason names its own finger, pair, direction or reach; a skill of another is no treatment."""
    for text, pluck, kind, starts in (
        (SCALE, "i-m", "crossing", (("crossing", "awkward", "treble"),)),
        ("G4:1.3.3/8 E4:1.0.0/8 B3:2.0.0/4 E4:1.0.0/2", "as given", "letting go", (("let go", "3"),)),
        ("F4:1.1.1/4 G4:1.3.3/4 F4:1.1.1/2", "i-m", "fingers", (("fingers", "1", "3"),)),
    ):
        made = varied(line(text), Study(pluck=pluck))
        assert starts in [spot.treats for spot in spots(made, tempo=60, beat=Fraction(1), line=()) if spot.kind == kind]


def test_the_time_to_leave_a_string_is_that_of_the_fastest_step() -> None:
    """A page's figure is worked out at its own last tempo, not at the passage's."""
    music = line("G4:1.3.3/4 E4:1.0.0/4 F4:1.1.1/4 E4:1.0.0/4")
    marked = replace(music, passage=replace(music.passage, tempo=Fraction(200)))
    (step,) = choose(marked, Plan(studies=(Study(tempo=(30, 60)),))).steps
    assert step.variation.figures.let_go == pytest.approx(1.0)


GRIP = "C3:5.3.3/8 E3:4.2.2/8 G3:3.0.0/8 C4:2.1.1/8"
FREE = "E2:6.0.0/8 D3:4.0.0/8 G3:3.0.0/8 B3:2.0.0/8"
BUSY = "A2:5.0.0/8 F3:4.3.3/8 A3:3.2.2/8 D4:2.3.4/8"
OVER = "C4:2.1.1/32 C4:2.1.1/32 C4:2.1.1/32"
ANEW: tuple[tuple[str, set[str]], ...] = (
    (f"{GRIP} | {FREE} | {GRIP}", set()),
    (f"{GRIP} | {BUSY} | {GRIP}", {"For the next chord fingers 2 and 3 take new places."}),
    (" ".join([f"G2:6.3.3/32 {OVER} C3:5.3.3/32 {OVER}"] * 2), {"Finger 3 takes a new place."}),
)


@pytest.mark.parametrize(("text", "said"), ANEW)
def test_only_fingers_that_leave_a_place_for_another_take_new_ones(text: str, said: set[str]) -> None:
    """A chord of fingers that nothing held has had all the time of the open strings; a tremolo has no chord."""
    made = varied(textured(line(text, metre="2/4")), Study())
    assert {reason for _, reason in felt(made, tempo=60, beat=Fraction(1), line=()) if "place" in reason} == said


def test_new_fingers_are_told_of_at_the_first_note_they_stop() -> None:
    """Where fingers take new places the place named is a note of one of them, not an open string struck before it."""
    seen = 0
    lines = {**own(), **broken()}
    for name in ("full chords", "chords", "two voices", "moving bass", *broken()):
        made = varied(lines[name], Study())
        notes = {note.id: note for note in made.passage.notes}
        for spot in spots(made, tempo=72, beat=Fraction(1), line=notes):
            if spot.kind == "fingers" and "take" in spot.reason:
                placement = notes[spot.source].placement
                assert placement is not None
                assert str(placement.finger) in spot.reason, (name, spot.reason)
                seen += 1
    assert seen
