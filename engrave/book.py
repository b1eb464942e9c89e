"""The line: passage in, study book out. Each step is a pure function of the values before it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from engrave import resources
from engrave.axes import vary
from engrave.fretting import fret
from engrave.instruments import find_hand, find_instrument, tuned
from engrave.model import Declined, Fault, Instrument, Passage, Plan, PlanError, Study, Variation
from engrave.pages import BookContent, Sheet, music_width, press
from engrave.plates import draw
from engrave.regimen import choose

if TYPE_CHECKING:
    from engrave.model import Plate

__all__ = ["Progress", "built_in", "instrument_for", "line_of", "make", "press", "quiet"]

Progress = Callable[[str, int, int], None]
"""called with the stage (plates, pages), how much of it is done, and of how much"""


def quiet(stage: str, done: int, of: int) -> None:
    """The progress of someone who does not watch."""


def built_in() -> tuple[bytes, str]:
    """The built-in passage, as (data, name) for `reading.read`."""
    return resources.text("shared/passage.tab").encode(), "passage.tab"


def instrument_for(passage: Passage, plan: Plan) -> Instrument:
    """The plan's instrument, else the one the passage is tuned for, else the standard guitar. Raises PlanError."""
    if plan.instrument:
        found = find_instrument(plan.instrument)
    elif passage.tuning:
        found = tuned(passage.tuning)
    else:
        found = find_instrument("standard")
    capo = passage.capo if plan.capo is None else plan.capo
    if not 0 <= capo < found.frets:
        fact = f"capo at fret {capo}, but {found.label} has frets 1 to {found.frets}"
        raise PlanError(Fault(fact=fact, hint="give a lower fret, or 0 for no capo"))
    return replace(found, capo=capo, scale=plan.scale or found.scale)


def line_of(passage: Passage, plan: Plan) -> Variation:
    """The passage with both hands where the plan's instrument and hand put them. Raises EngraveError."""
    return fret(passage, instrument_for(passage, plan), find_hand(plan.hand))


def make(passage: Passage, plan: Plan, *, progress: Progress = quiet) -> BookContent:
    """Everything a study book holds, engraved but not yet laid out. Raises EngraveError."""
    line = line_of(passage, plan)
    regimen = choose(line, plan)
    sheets = []
    for number, step in enumerate(regimen.steps, start=1):
        # `choose` has varied the line already, to see what applies
        variation = step.variation or _varied(line, step.study)
        sheets.append(Sheet(number=number, variation=variation, plate=_plate(variation, plan), step=step))
        progress("plates", number, len(regimen.steps))
    return BookContent(
        passage=passage, line=line, line_plate=_plate(line, plan), sheets=tuple(sheets), regimen=regimen, plan=plan
    )


def _varied(line: Variation, study: Study) -> Variation:
    made = vary(line, study)
    if isinstance(made, Declined):
        raise PlanError(Fault(fact=f"{made.axis} {made.setting!r} does not apply: {made.reason}"))
    return made


def _plate(variation: Variation, plan: Plan) -> Plate:
    return draw(variation, width=music_width(plan), staff=plan.staff, marks=plan.marks, tab=plan.tab)
