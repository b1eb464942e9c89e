"""Lines with both hands worked out by the test itself, so that few tests here need the search; and the examples."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

from engrave.axes import vary
from engrave.instruments import find_hand, find_instrument
from engrave.line import line_of
from engrave.model import Passage, Placement, Plan, Study, Variation, with_notes
from engrave.reading import read
from tests.build import passage

OPEN_AND_STOPPED = " | ".join(
    (
        "E4:1.0.0/8 G4:1.3.3/8 E4:1.0.0/8 F#4:1.2.2/8 E4:1.0.0/8 F4:1.1.1/8 B3:2.0.0/8 D4:2.3.4/8",
        "B3:2.0.0/8 C#4:2.2.2/8 B3:2.0.0/8 C4:2.1.1/8 G3:3.0.0/8 A3:3.2.2/8 G3:3.0.0/8 B3:3.4.4/8",
        "D3:4.0.0/8 F3:4.3.3/8 D3:4.0.0/8 E3:4.2.2/8 A2:5.0.0/8 C3:5.3.3/8 A2:5.0.0/8 B2:5.2.2/8",
        "E2:6.0.0/8 G2:6.3.3/8 E2:6.0.0/8 F2:6.1.1/8 A2:5.0.0/8 C#3:5.4.4/8 E3:4.2.2/4",
    )
)
"""a line of ours in which open strings alternate with fretted notes, over all six strings"""
TWO_BARS = " | ".join(OPEN_AND_STOPPED.split(" | ")[::3])
"""its first and last bar, for tests that choose among many studies"""
SCALE = "C4:2.1.1/8 D4:2.3.3/8 E4:1.0.0/8 F4:1.1.1/8 G4:1.3.3/8 A4:1.5.4/8 G4:1.3.2/8 F4:1.1.1/8"
"""one bar on the two highest strings"""


@cache
def line(*voices: str, metre: str = "4/4", hand: str = "standard", instrument: str = "standard") -> Variation:
    """A line whose notes lie where their marks (string.fret.finger) say."""
    return placed(passage(*voices, metre=metre), hand=hand, instrument=instrument)


@cache
def example(name: str) -> Variation:
    """One of the example files, fingered."""
    file = Path(__file__).parents[2] / "examples" / name
    return line_of(read(file.read_bytes(), file.name), Plan())


def varied(music: Variation, study: Study) -> Variation:
    """The variation, which must not decline."""
    made = vary(music, study)
    assert isinstance(made, Variation), made
    return made


def placed(music: Passage, *, hand: str = "standard", instrument: str = "standard") -> Variation:
    """`music` with every note where its given marks say. Open strings keep the position before them."""
    position = 1
    changed = {}
    for note in music.notes:
        given = note.given
        assert given.string is not None
        assert given.fret is not None
        assert given.finger is not None
        if given.finger:
            position = max(1, given.fret - given.finger + 1)
        where = Placement(string=given.string, fret=given.fret, finger=given.finger, position=position)
        changed[note.id] = replace(note, placement=where)
    return Variation(passage=with_notes(music, changed), instrument=find_instrument(instrument), hand=find_hand(hand))
