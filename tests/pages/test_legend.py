"""The legend explains what is printed, and nothing else."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from engrave.axes import vary
from engrave.model import Marks, Study, Variation
from engrave.pages import impression
from engrave.pages.legend import legend
from engrave.plates import draw
from tests.axes.passages import own

NAMES = ("built in", "scale", "high", "full chords", "chords", "two voices", "moving bass", "flats")
SIGNS: dict[str, Callable[[tuple[tuple[str, str], ...]], bool]] = {
    "–1": lambda shown: any(role == "guide" for role, _ in shown),
    "(C II)": lambda shown: any(role == "barre" and text.startswith("(") for role, text in shown),
    "C II": lambda shown: any(role == "barre" and text.startswith("C") for role, text in shown),
    "II": lambda shown: any(role == "position" for role, _ in shown),
    "0": lambda shown: ("digit", "0") in shown,
    "upright arrow": lambda shown: any(role == "sweep" for role, _ in shown),
    "tablature": lambda shown: any(role == "tab" for role, _ in shown),
}


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", [70, 170])
def test_a_sign_is_explained_exactly_where_it_is_printed(name: str, width: int) -> None:
    """Each sign over and under the staff, in narrow lines that break barres and in wide ones."""
    for study in (Study(), Study(strings="up 5"), Study(strings="shape on 2")):
        made = vary(own()[name], study)
        if not isinstance(made, Variation):
            continue
        plate = impression(draw(made, width=width, staff=7.2))
        entries = {entry.sign: str(entry.meaning) for entry in legend([made], [plate], Marks())}
        for sign, printed in SIGNS.items():
            assert (sign in entries) == printed(plate.shown), (sign, study)
        assert not any("over the notes" in meaning or "over a chord" in meaning for meaning in entries.values())
        circles = [meaning for meaning in entries.values() if meaning.startswith("the string, ")]
        assert bool(circles) == any(role == "string" for role, _ in plate.shown)
        lines = any(role == "string line" for role, _ in plate.shown)
        assert any("broken line" in meaning for meaning in circles) == lines


def test_the_picture_of_the_neck_is_explained_where_there_is_one() -> None:
    """It is no part of a plate: who lays out the pages says whether one is printed."""
    line = own()["built in"]
    plate = impression(draw(line, width=170, staff=7.2))
    signs = [{entry.sign for entry in legend([line], [plate], Marks(), neck=neck)} for neck in (False, True)]
    assert signs[1] - signs[0] == {"picture of the neck"}


def test_where_no_circle_stands_the_legend_says_so() -> None:
    """Notes of the first position have none, but in a study of strings; neither sentence stands for the other."""
    line = own()["built in"]
    said = []
    for study in (Study(), Study(strings="up 2")):
        made = vary(line, study)
        assert isinstance(made, Variation)
        entries = legend([made], [impression(draw(made, width=170, staff=7.2))], Marks())
        said += [str(entry.meaning) for entry in entries if entry.kind == "circle"]
    assert ["first position" in meaning for meaning in said] == [True] * (len(said) - 1) + [False]


def test_a_string_that_only_words_name_is_explained() -> None:
    """A circled number in a sentence needs its meaning on a page of which no staff has one; no other sign is added."""
    line = own()["full chords"]
    plate = impression(draw(line, width=170, staff=7.2))
    plain = legend([line], [plate], Marks())
    assert not any(entry.kind == "circle" for entry in plain)
    named = legend([line], [plate], Marks(), texts=["Finger 4 must leave ① before", "From ③ to ①"])
    assert [(entry.sign, entry.meaning) for entry in named if entry not in plain] == [
        ("①③", "the string, ① the highest")
    ]
