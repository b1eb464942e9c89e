from __future__ import annotations

from fractions import Fraction

import pytest

from engrave.model import Load, Study
from engrave.regimen.atoms import Atom
from engrave.regimen.candidates import Candidate
from engrave.regimen.reasons import contrast, finger_words, gists, share
from engrave.regimen.wanted import Want
from tests.regimen.lines import SCALE, line

MUSIC = line(SCALE)


def page(load: Load, study: Study | None = None, atoms: dict[Atom, int] | None = None) -> Candidate:
    """A page with this load."""
    return Candidate(
        study=study or Study(pluck="i-m"),
        variation=MUSIC,
        kinds=("cycle",),
        times=1,
        tempo=(60,),
        beat=Fraction(1),
        house=True,
        atoms=atoms or {},
        load=load,
    )


def test_a_finger_is_named_in_words() -> None:
    """Letters come with the finger's name, digits with the hand."""
    assert finger_words("a") == "the ring finger (a)"
    assert finger_words("4") == "fretting finger 4"


def test_shares_go_by_the_hand() -> None:
    """A plucking finger's share is of the strokes, a fretting finger's of the frettings; of nothing it is none."""
    load = Load(strokes=(("i", 3), ("a", 1)), frettings=((1, 1), (4, 4)))
    assert (share(load, "a"), share(load, "4"), share(load, "c"), share(Load(), "i")) == (0.25, 0.8, 0.0, 0.0)


RING = page(Load(strokes=(("m", 5), ("a", 5)), muscle="a"))


@pytest.mark.parametrize(
    ("load", "study", "said"),
    [
        (Load(strokes=(("i", 5), ("m", 5))), Study(pluck="i-m"), "For contrast: less for the ring finger (a)."),
        (
            Load(strokes=(("p", 5), ("i", 5)), muscle="p"),
            Study(pluck="p-i"),
            "For contrast: less for the ring finger (a), more for the thumb (p).",
        ),
        (
            Load(strokes=(("a", 5), ("c", 5)), muscle="c"),
            Study(pluck="a-c"),
            "For contrast: more for the little finger (c).",
        ),
        (Load(strokes=(("m", 5), ("a", 5)), muscle="a"), Study(pluck="a-m"), "For contrast: plucking hand."),
        (
            Load(strokes=(("m", 5), ("a", 5))),
            Study(pluck="a-m", accent="beats"),
            "For contrast: plucking hand and accents.",
        ),
    ],
)
def test_a_contrast_says_no_more_than_the_counts_show(load: Load, study: Study, said: str) -> None:
    """A finger has less or more to do only where its share says so; else the axes are named."""
    assert contrast(page(load, study), RING) == said


def test_a_page_says_what_it_has_alone_or_most_of() -> None:
    """What only this page trains goes before what it has most of; ways of working are not named."""
    one, two, way = Atom("slur", ("2", "0")), Atom("string", ("3",)), Atom("work", ("slurs", "slur"))
    wanted = [Want(atom=atom, standing="plain", often=4, worth=1.0) for atom in (one, two, way)]
    order = [
        page(Load(), atoms={one: 2, two: 9, way: 50}),
        page(Load(), atoms={two: 10}),
        page(Load(), atoms={two: 10}),
    ]
    assert gists(order, wanted)[:2] == ["No other page here has slurs 2-0.", ""]
    assert gists(order[:2], wanted)[1] == "This page has the most of: plucked notes on string 3."
