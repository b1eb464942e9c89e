"""Small passages for property tests of the fretting hand."""

from __future__ import annotations

from hypothesis import reject
from hypothesis import strategies as st

from engrave.fretting.engine import Task, prepared
from engrave.instruments import find_hand, find_instrument
from engrave.model import Instrument, Passage, Pitch, UnplayableError
from tests.build import passage

SMALL = Instrument(
    name="small",
    label="three strings",
    strings=tuple(Pitch.parse(name) for name in ("E4", "B3", "G3")),
    frets=7,
    wound=frozenset(),
)
"""an instrument on which every fingering of a few notes can be tried out"""
HAND = find_hand("standard")
GUITAR = find_instrument("standard")


def task(piece: Passage, instrument: Instrument = SMALL) -> Task:
    """A passage made ready for the search; one that no hand can play is no example."""
    try:
        return prepared(piece, instrument, HAND)
    except UnplayableError:
        reject()


_UPPER = ("G3", "A3", "B3", "C4", "D4", "E4", "F4", "F#4", "G4", "A4", "B4")


@st.composite
def short_lines(draw: st.DrawFn) -> Passage:
    """Three notes, some of them rests or two-note chords, over nothing or over a held note."""
    names = draw(st.lists(st.sampled_from(_UPPER), min_size=3, max_size=3))
    second = draw(st.sampled_from(("", "A3", "B3", "C4")))
    words = [f"{name}/4" for name in names]
    if second and second != names[2]:
        words[2] = f"{names[2]}+{second}/4"
    if draw(st.booleans()):
        words[1] = "r/4"
    held = draw(st.sampled_from(("", "G3/2.", "A3/2.", "B3/2.")))
    return passage(" ".join(words), held, metre="3/4") if held else passage(" ".join(words), metre="3/4")


@st.composite
def lines(draw: st.DrawFn) -> Passage:
    """Two bars of guitar music in one or two voices."""
    scale = ("E3", "G3", "A3", "B3", "C4", "D4", "E4", "F4", "G4", "A4", "C5", "E5")
    bars = []
    for _ in range(2):
        bars.append(" ".join(f"{draw(st.sampled_from(scale))}/8" for _ in range(8)))
    if not draw(st.booleans()):
        return passage(" | ".join(bars))
    bass = " | ".join(f"{draw(st.sampled_from(('E2', 'G2', 'A2', 'C3', 'D3')))}/1" for _ in range(2))
    return passage(" | ".join(bars), bass)
