"""Which studies change too little to be worth a page."""

from __future__ import annotations

import pytest

from engrave.model import Plan, Study, Variation
from engrave.regimen.beyond import base_of
from engrave.regimen.candidate import make, written
from engrave.regimen.varied import varied
from engrave.regimen.worthwhile import idle
from tests.axes.lines import line

FEW_SLURS = line("F4/8 G4/8 A4/8 B4/8 C5/8 B4/8 A4/8 G4/8 | F4/8 E4/8 F4/8 G4/8 A4/8 B4/8 A4/8 G4/8")
"""one note of sixteen falls to its open string"""
TREMOLO = line(" ".join(f"{low}/16 {high}/16 {high}/16 {high}/16" for low, high in (
    ("C3:5.3.3", "E4"), ("E3:4.2.2", "F4:1.1.1"), ("F3:4.3.3", "E4"), ("E3:4.2.2", "F4:1.1.1"),
)))  # fmt: skip
"""finger 3 stops two of six places, and two of sixteen notes"""
TWO_VOICES = line("E4/4 F4/4 G4/4 E4/4 | D4/4 E4/4 C4/2", "C3/2 E3/2 | G2/2 C3/2")


@pytest.mark.parametrize(
    ("music", "study", "said"),
    [
        (FEW_SLURS, Study(slurs="to open"), "its slurs reach 2 of 16 notes"),
        (FEW_SLURS, Study(slurs="to open", pluck="a-m-i"), "its slurs reach 2 of 16 notes"),
        (FEW_SLURS, Study(pluck="a-m-i"), ""),
        (TREMOLO, Study(fret="without 3"), ""),
        (TWO_VOICES, Study(pluck="bass alone"), ""),
        (TWO_VOICES, Study(pluck="melody alone"), ""),
    ],
)
def test_a_page_is_worth_what_its_own_work_changes(music: Variation, study: Study, said: str) -> None:
    """Letters that fall otherwise after a slur are not its work, and what is left out counts."""
    made = varied(music, study)
    assert isinstance(made, Variation)
    base = written(music)
    found = idle(make(study, made, Plan(), base_of(base)), [], base)
    assert (found.text.partition(": ")[2] if found else "") == said
