"""The line: passage in, study book out. Each step is a pure function of the values before it.

    passage = read(source)                       # what is written
    line    = line_of(passage, plan)             # where both hands go
    content = make(passage, plan)                # which ways of practising it, in which order, each one engraved
    pdf     = press(content)                     # the study book

`week`, `handout` and `reissue` in engrave.editions are the same line with another choice in the middle.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType

from engrave import resources
from engrave.axes import vary
from engrave.exchange import musicxml
from engrave.fretting import Survey, Taste, survey
from engrave.fretting.fret import fret
from engrave.instruments import find_hand, find_instrument, tuned
from engrave.model import Declined, Fault, Instrument, Passage, Plan, PlanError, Plate, Regimen, Step, Study, Variation
from engrave.pages import Attachment, BookContent, Sheet, music_width, press, staff_for
from engrave.plates import draw
from engrave.regimen import as_plan, choose, dump_plan

__all__ = ["Progress", "built_in", "instrument_for", "laid_out", "line_of", "make", "press", "quiet", "surveyed"]

Progress = Callable[[str, int, int], None]
"""called with the stage (plates, pages), how much of it is done, and of how much"""
PLAN, STUDIES, PASSAGE, VARIATIONS = "plan.toml", "studies.toml", "passage.musicxml", "variations.musicxml"
ORIGIN = "origin.json"
"""what every book carries inside: the plan as given, the same with the studies that were chosen, the music, and where
it was cut from"""


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
    return fret(passage, instrument_for(passage, plan), find_hand(plan.hand), taste=_taste(plan))


def _taste(plan: Plan) -> Taste:
    return Taste(neck=plan.player.neck, open=plan.player.open, shifts=plan.player.shifts)


def surveyed(passage: Passage, plan: Plan) -> Survey:
    """What the passage asks of the plan's hand on its instrument: the best fingerings compared. Raises EngraveError."""
    return survey(passage, instrument_for(passage, plan), find_hand(plan.hand), tempo=passage.tempo, taste=_taste(plan))


def make(passage: Passage, plan: Plan, *, progress: Progress = quiet) -> BookContent:
    """Everything a study book holds, engraved but not yet laid out. Raises EngraveError."""
    line = line_of(passage, plan)
    return laid_out(passage, line, choose(line, plan), plan, progress=progress)


def laid_out(
    passage: Passage,
    line: Variation,
    regimen: Regimen,
    plan: Plan,
    *,
    drawn: Mapping[Study, Plate] = MappingProxyType({}),
    progress: Progress = quiet,
) -> BookContent:
    """The studies of `regimen` as sheets in their order, with what the book carries inside.

    `passage` is what was read, `line` the same with both hands; `drawn` are plates of this line and plan there are.
    """
    line_plate = _plate(line, plan)
    staff = staff_for(plan, line_plate)
    if staff != plan.staff:
        line_plate = _plate(line, replace(plan, staff=staff))
    sheets: list[Sheet] = []
    for number, step in enumerate(regimen.steps, start=1):
        # whoever chose the regimen has varied the line already, to see what applies
        variation = step.variation or _varied(line, step)
        plate = drawn.get(step.study) or _plate(variation, replace(plan, staff=staff))
        sheets.append(Sheet(number=number, variation=variation, plate=plate, step=step))
        progress("plates", number, len(regimen.steps))
    little = plan.marks.little
    inside = {
        PLAN: dump_plan(plan).encode(),
        STUDIES: dump_plan(as_plan(regimen, plan)).encode(),
        # as it was read: what we put to it is worked out anew
        PASSAGE: musicxml(replace(line, passage=passage), exact=True, little=little),
        ORIGIN: json.dumps({key: getattr(passage, key) for key in ("source", "part", "cut")}).encode(),
        VARIATIONS: musicxml([sheet.variation for sheet in sheets], little=little),
    }
    return BookContent(
        passage=passage,
        line=line,
        line_plate=line_plate,
        sheets=tuple(sheets),
        regimen=regimen,
        plan=plan,
        attachments=tuple(Attachment(name=name, data=data) for name, data in inside.items()),
    )


def _varied(line: Variation, step: Step) -> Variation:
    made = vary(line, step.study)
    if isinstance(made, Declined):
        raise PlanError(Fault(fact=f"{made.axis} {made.setting!r} does not apply: {made.reason}"))
    return made


def _plate(variation: Variation, plan: Plan) -> Plate:
    return draw(variation, width=music_width(plan), staff=plan.staff, marks=plan.marks, tab=plan.tab)
