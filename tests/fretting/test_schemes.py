"""Every scheme keeps its rule, or declines and says why."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import pytest
from hypothesis import given, settings

from engrave.fretting import SCHEMES, Scheme, find_scheme
from engrave.fretting.fingered import fret
from engrave.fretting.refingered import refret
from engrave.model import Declined, Passage, Placement, PlanError, UnplayableError, Variation
from tests.build import passage
from tests.fretting.strategies import GUITAR, HAND, lines

LINE = "C4/8 D4/8 E4/8 F4/8 G4/8 A4/8 G4/8 E4/8 | F4/8 D4/8 B3/8 G4/8 C4/2"
CLIMB = "C3/8 D3/8 E3/8 F3/8 G3/8 A3/8 B3/8 C4/8 | D4/8 E4/8 F4/8 G4/8 A4/8 B4/8 C5/4"
"""a line that lies well in three places"""


@cache
def fretted(text: str) -> Variation:
    """A line as the search frets it."""
    return fret(passage(text), GUITAR, HAND)


def placed(variation: Variation) -> list[Placement]:
    """The placements of all notes."""
    return [note.placement for note in variation.passage.notes if note.placement]


def kept(scheme: Scheme, before: Variation, after: Variation) -> bool:
    """Does a single line keep a scheme's rule."""
    stops = placed(after)
    fretted = [p.finger for p in stops if p.fret]
    if scheme.stays and [(p.string, p.fret) for p in placed(before)] != [(p.string, p.fret) for p in stops]:
        return False
    if scheme.cycle:
        turn = {f: scheme.cycle[(i + 1) % len(scheme.cycle)] for i, f in enumerate(scheme.cycle)}
        starts = not fretted or fretted[0] == scheme.cycle[0]
        return starts and all(turn.get(a) == b for a, b in pairwise(fretted))
    if scheme.without:
        places = [(p.string, p.fret) for p in placed(before)] == [(p.string, p.fret) for p in stops]
        return places and scheme.without not in fretted
    return {
        "box on its strings": all(p.fret - p.finger + 1 == p.position for p in stops if p.fret),
        "box": all(p.fret - p.finger + 1 == p.position for p in stops if p.fret),
        "one position": len({p.position for p in stops if p.fret}) <= 1,
        "along one string": len({p.string for p in stops}) == 1,
        "no open strings": all(p.fret for p in stops),
    }.get(scheme.name, True)


@pytest.mark.parametrize("scheme", SCHEMES, ids=lambda s: s.name)
def test_a_scheme_keeps_its_rule_on_a_line(scheme: Scheme) -> None:
    """On a line that allows it every scheme keeps its rule, the pitches and the source's marks."""
    line = fretted(CLIMB if scheme.name == "third best" else LINE)
    made = refret(line, scheme.name)
    assert isinstance(made, Variation)
    assert kept(scheme, line, made)
    for note in made.passage.notes:
        assert note.placement is not None
        assert GUITAR.midi(note.placement.string, note.placement.fret) == note.pitch.midi
    assert [note.given for note in made.passage.notes] == [note.given for note in line.passage.notes]


@settings(max_examples=4, deadline=None)
@given(lines())
def test_schemes_on_any_music_hold_or_decline_and_bend_with_notices(piece: Passage) -> None:
    """Strictly a scheme holds or declines with words and a place; bent it always answers, and says what it bent."""
    try:
        line = fret(piece, GUITAR, HAND)
    except UnplayableError:
        return
    for name in ("box", "one position", "no open strings", "1-3"):
        strict = refret(line, name)
        bent = refret(line, name, bend=True)
        assert isinstance(bent, Variation)
        if isinstance(strict, Declined):
            assert strict.reason
            assert strict.place.startswith("bar ")
            assert len(bent.notices) > len(line.notices)
        else:
            assert placed(bent) == placed(strict)


def test_a_declined_scheme_names_the_note() -> None:
    """The reason is a sentence a player understands, the place its bar and beat."""
    line = fret(passage("E4/2 C3+C4/2 | E2/1"), GUITAR, HAND)
    assert refret(line, "3") == Declined(
        axis="fret",
        setting="3",
        reason="C3 C4 cannot be stopped together by finger 3 alone",
        place="bar 1, beat 3",
    )
    assert refret(line, "no open strings") == Declined(
        axis="fret",
        setting="no open strings",
        reason="E2 cannot be played without open strings",
        place="bar 2, beat 1",
    )


def test_next_best_fingerings_differ_and_say_how() -> None:
    """Second and third best share at most seven notes of ten with the best, and a notice compares them."""
    line = fretted(CLIMB)
    best = refret(line, "best")
    assert isinstance(best, Variation)
    for name in ("second best", "third best"):
        other = refret(line, name)
        assert isinstance(other, Variation)
        same = sum(
            (a.string, a.fret, a.finger) == (b.string, b.fret, b.finger)
            for a, b in zip(placed(best), placed(other), strict=True)
        )
        assert same <= 0.7 * len(placed(best))
        assert other.notices[-1].text.startswith("compared with the line as written, this fingering ")


def test_another_fingering_is_held_against_the_line_as_it_is_printed() -> None:
    """What the notice says of another fingering is what tells it from the placements it was made from."""
    line = fretted(CLIMB)
    other = refret(line, "third best")
    assert isinstance(other, Variation)
    again = refret(other, "third best")
    assert isinstance(again, Variation)
    assert again.notices[-1].text.endswith("this fingering takes other fingers in the same positions")


def test_places_can_be_kept() -> None:
    """Where the line was moved on purpose only fingers and positions change."""
    line = fret(passage("E4:2../4 F4:2../4 G4:2../4 E4:2../4"), GUITAR, HAND)
    made = refret(line, "best", keep_places=True)
    assert isinstance(made, Variation)
    assert [(p.string, p.fret) for p in placed(made)] == [(2, 5), (2, 6), (2, 8), (2, 5)]


def test_names_are_unique_and_patterns_are_understood() -> None:
    """Each scheme has a name of its own and words; fingers in turn in any order are patterns, nonsense is not."""
    names = [scheme.name for scheme in SCHEMES]
    assert len(set(names)) == len(names)
    assert all(s.label and (s.purpose or s.name == "as given") for s in SCHEMES)
    pattern = find_scheme("4-1-3")
    assert pattern is not None
    assert pattern.cycle == (4, 1, 3)
    assert find_scheme("5") is None
    assert find_scheme("1-1") is None
    with pytest.raises(PlanError, match="fretting scheme '5' is not known"):
        refret(fret(passage(LINE), GUITAR, HAND), "5")
