"""Both hands against printed fingerings: ours meets most of them, and a passage that gives them keeps all."""

from __future__ import annotations

import io
from functools import cache

import pypdf
import pytest

from engrave import line as book
from engrave.axes import vary
from engrave.model import Plan, Study, Variation
from engrave.regimen import choose
from tests.fretting.printed import PRINTED, Printed, unmarked

EACH = pytest.mark.parametrize("printed", PRINTED, ids=[one.name for one in PRINTED])


def plan(printed: Printed, *studies: Study) -> Plan:
    """The plan of a passage."""
    return Plan(instrument=printed.instrument, studies=studies)


@cache
def ours(printed: Printed) -> Variation:
    """Our fingering of a passage without its marks."""
    return book.line_of(unmarked(printed.passage), plan(printed))


@cache
def marked(printed: Printed) -> Variation:
    """The passage with its edition's marks, which it is to keep."""
    return book.line_of(printed.passage, plan(printed))


def digits(printed: Printed, made: Variation) -> list[tuple[int, int]]:
    """Printed finger and ours, for each note that has a printed one."""
    fingers = {note.id: note.placement.finger for note in made.passage.notes if note.placement}
    return [(n.given.finger, fingers[n.id]) for n in printed.passage.notes if n.given.finger is not None]


@EACH
def test_our_fingering_meets_the_printed_one(printed: Printed) -> None:
    """From pitches and lengths alone, at least the stated share of the printed digits is met."""
    pairs = digits(printed, ours(printed))
    assert len(pairs) == printed.digits
    assert sum(one == other for one, other in pairs) / len(pairs) >= printed.least


def test_our_fingering_meets_most_printed_digits() -> None:
    """Over all the passages together, 65 printed digits of a hundred are met."""
    every = [pair for one in PRINTED for pair in digits(one, ours(one))]
    assert sum(one == other for one, other in every) / len(every) >= 0.65


@EACH
def test_printed_marks_are_law(printed: Printed) -> None:
    """Where the passage carries its edition's digits and strings, every one of them is kept."""
    made = marked(printed)
    assert all(one == other for one, other in digits(printed, made))
    places = {note.id: note.placement for note in made.passage.notes if note.placement}
    for note in printed.passage.notes:
        assert note.given.string in (None, places[note.id].string)


@pytest.mark.parametrize("printed", [one for one in PRINTED if one.letters], ids=lambda one: one.name)
def test_our_letters_are_the_printed_ones(printed: Printed) -> None:
    """From the notes alone, the plucking letters are those the edition prints."""
    made = vary(ours(printed), Study())
    assert isinstance(made, Variation)
    letters = {note.id: note.stroke.finger for note in made.passage.notes if note.stroke}
    wanted = {note.id: note.given.pluck for note in printed.passage.notes if note.given.pluck}
    assert len(wanted) == printed.letters
    assert {name: letters[name] for name in wanted} == wanted


@EACH
def test_each_becomes_a_book(printed: Printed) -> None:
    """The passage with its printed marks becomes a book of two studies; one of each tuning is printed with its name."""
    line, asked = marked(printed), plan(printed, Study(), Study(rhythm="dotted"))
    made = book.drawn(printed.passage, line, choose(line, asked), asked)
    assert len(made.sheets) == 2
    if printed in {one.instrument: one for one in PRINTED}.values():
        pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(book.press(made))).pages]
        assert any(printed.name.split(",")[0] in page for page in pages)


def test_the_passages_are_of_several_kinds() -> None:
    """Eras, textures and tunings differ, and every passage names its edition."""
    assert len({one.era for one in PRINTED}) >= 4
    assert len({one.texture for one in PRINTED}) >= 5
    assert len({one.instrument for one in PRINTED}) == 2
    assert all(one.edition for one in PRINTED)
