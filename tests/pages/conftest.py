"""One small book, made and printed once for all tests of the pages."""

from __future__ import annotations

from dataclasses import replace

import pytest

from engrave.axes import vary
from engrave.fretting.fingered import fret
from engrave.instruments import find_hand, find_instrument
from engrave.model import AskedTexture, Coverage, Notice, Passage, Plan, Regimen, Step, Study, Variation
from engrave.pages import BookContent, Sheet, impression, music_width, press
from engrave.plates import draw
from engrave.textures import textured
from tests.build import passage

LINE = "E3/8 C4/8 E3/8 D4/8 E3/8 E4/8 E3/8 F4/8 | A2/8 A3/8 B2/8 A3/8 C3/8 A3/8 D3/8 F#3/8 | E3/4 G#3/4 A3/2"
STUDIES = (
    (Study(pluck="i-m"), "Warm-up"),
    (Study(pluck="a-m-i", accent="every 2"), "Focus"),
    (Study(pluck="m-a", stroke="rest"), "Focus"),
    (Study(), "The line"),
)


def content(
    text: str = LINE,
    *,
    plan: Plan | None = None,
    source: Passage | None = None,
    studies: tuple[tuple[Study, str], ...] = STUDIES,
) -> BookContent:
    """A book of four variations on a passage, unless other studies are given."""
    plan = plan or Plan()
    music = source or replace(
        passage(text, title="Heron in the reeds"),
        composer="Ada Fen",
        source="heron.musicxml",
        cut="5-7",
        notices=(Notice(text="lyrics are left out"),),
    )
    # the low notes between could be heard as a bass; here they are a line, so that every study applies
    asked = AskedTexture(bars=f"{music.bars[0].label}-{music.bars[-1].label}", kind="line")
    line = textured(fret(music, find_instrument("standard"), find_hand("standard")), (asked,))
    steps, sheets = [], []
    for number, (study, section) in enumerate(studies, start=1):
        made = vary(line, study)
        assert isinstance(made, Variation)
        step = Step(
            study=study,
            variation=made,
            section=section,
            reason=f"Place {number}.",
            times=number + 1,
            tempo=(50, 60, 72),
            minutes=2.6,
        )
        plate = draw(made, width=music_width(plan), staff=plan.staff, marks=plan.marks, tab=plan.tab)
        steps.append(step)
        sheets.append(Sheet(number=number, variation=made, plate=impression(plate), step=step))
    found = tuple(range(min(2, len(studies))))
    trained = (
        Coverage(group="Plucking pairs", label="m after i", where="treble", wanted=4, found=9, steps=found),
        Coverage(group="Plucking pairs", label="m after i", where="bass", wanted=4, found=0, steps=()),
    )
    return BookContent(
        passage=music,
        line=line,
        line_plate=impression(draw(line, width=music_width(plan), staff=plan.staff)),
        sheets=tuple(sheets),
        regimen=Regimen(steps=tuple(steps), coverage=trained),
        plan=plan,
    )


@pytest.fixture(scope="session")
def book() -> BookContent:
    """The content of the small book."""
    return content()


@pytest.fixture(scope="session")
def pdf(book: BookContent) -> bytes:
    """The small book printed on A4."""
    return press(book)
