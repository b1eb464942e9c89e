"""The line: passage in, study book out. Each step is a pure function of the values before it.

    passage = read(source)                       # what is written
    line    = line_of(passage, plan)             # where both hands go
    content = make(passage, plan)                # which ways of practising it, in which order, each one engraved
    pdf     = press(content)                     # the study book

`week`, `handout` and `reissue` in engrave.editions are the same line with another choice in the middle.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from engrave import resources
from engrave.axes import vary
from engrave.exchange import bars_of, musicxml
from engrave.fretting import Taste
from engrave.instruments import find_hand, find_instrument, tuned
from engrave.model import (
    FINGERINGS,
    Declined,
    Fault,
    Instrument,
    Marks,
    Notice,
    Passage,
    Plan,
    PlanError,
    Plate,
    Regimen,
    Step,
    Study,
    Variation,
)
from engrave.pages import Attachment, BookContent, Impression, Sheet, impression, music_width, press, ready, staff_for
from engrave.plates import draw
from engrave.reading.limits import LIMITS, Limits
from engrave.regimen import as_plan, choose, dump_plan
from engrave.textures import textured
from engrave.workshop import PLAIN, Bench, digest

if TYPE_CHECKING:
    from engrave.fretting import Survey

__all__ = [
    "Look",
    "built_in",
    "drawn_as",
    "engraved",
    "heard",
    "instrument_for",
    "laid_out",
    "line_of",
    "look_of",
    "make",
    "press",
    "surveyed",
]

PLAN, STUDIES, PASSAGE, VARIATIONS = "plan.toml", "studies.toml", "passage.musicxml", "variations.musicxml"
ORIGIN = "origin.json"
"""what every book carries inside: the plan as given, the same with the studies that were chosen, the music, and where
it was cut from"""


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


def heard(
    data: bytes,
    name: str,
    *,
    part: str = "",
    voice: str = "",
    bars: str = "",
    limits: Limits = LIMITS,
    bench: Bench = PLAIN,
) -> Passage:
    """What `reading.read` reads, from the bench's shelf where it was read before. Raises ReadError."""
    return next(bench.each(_heard, (part, voice, bars, limits), [(name, data)], key=digest))


def _heard(asked: tuple[str, str, str, Limits], file: tuple[str, bytes]) -> Passage:
    from engrave import reading  # noqa: PLC0415 (loads nothing where there is nothing to read)

    (part, voice, bars, limits), (name, data) = asked, file
    return reading.read(data, name, part=part, voice=voice, bars=bars, limits=limits)


def line_of(passage: Passage, plan: Plan, *, bench: Bench = PLAIN) -> Variation:
    """The passage with both hands where the plan's instrument and hand put them. Raises EngraveError."""
    # of all that a plan says, what the hands depend on
    said = ("instrument", "hand", "capo", "scale", "player", "habits", "textures", "fingering")
    hands = {key: getattr(plan, key) for key in said}
    return next(bench.each(_fretted, Plan(**hands), [passage], key=digest))


def _fretted(plan: Plan, passage: Passage) -> Variation:
    line = _fingered(passage, plan)
    return textured(replace(line, habits=plan.habits), plan.textures)


def _fingered(passage: Passage, plan: Plan) -> Variation:
    """The fingering the plan asks for: the best, or the next best of those that a survey compares."""
    from engrave.fretting import fret  # noqa: PLC0415 (loads nothing where the line is fingered already)

    best = fret(passage, instrument_for(passage, plan), find_hand(plan.hand), taste=_taste(plan))
    at = FINGERINGS.index(plan.fingering)
    if not at:
        return best
    others = surveyed(passage, plan).fingerings
    if at < len(others):
        return replace(others[at].variation, notices=best.notices)
    text = f"the plan asks for the {plan.fingering} fingering; only {len(others)} differ, so the last of them is used"
    return replace(others[-1].variation, notices=(*best.notices, Notice(text=text)))


def _taste(plan: Plan) -> Taste:
    return Taste(neck=plan.player.neck, open=plan.player.open, shifts=plan.player.shifts)


def surveyed(passage: Passage, plan: Plan) -> Survey:
    """What the passage asks of the plan's hand on its instrument: the best fingerings compared. Raises EngraveError."""
    from engrave.fretting import survey  # noqa: PLC0415 (as above)

    return survey(passage, instrument_for(passage, plan), find_hand(plan.hand), tempo=passage.tempo, taste=_taste(plan))


def make(passage: Passage, plan: Plan, *, bench: Bench = PLAIN) -> BookContent:
    """Everything a study book holds, engraved but not yet laid out. Raises EngraveError."""
    line = line_of(passage, plan, bench=bench)
    look = looked_at(line, plan, bench=bench)
    return laid_out(passage, line, choose(line, plan), plan, look=look, bench=bench)


def looked_at(line: Variation, plan: Plan, *, bench: Bench = PLAIN) -> Looked:
    """How the plates of a book are engraved, and the line's own: begun, to be ready when the studies are chosen."""
    # the plate of the line does not depend on its studies
    return bench.each(_looked, replace(plan, studies=()), [line], key=digest, who="others")


def laid_out(
    passage: Passage,
    line: Variation,
    regimen: Regimen,
    plan: Plan,
    *,
    look: Looked | None = None,
    drawn: Mapping[Study, Impression] = MappingProxyType({}),
    bench: Bench = PLAIN,
) -> BookContent:
    """The studies of `regimen` as sheets in their order, with what the book carries inside.

    `passage` is what was read, `line` the same with both hands; `look` is what `looked_at` gives for it, `drawn` are
    plates of this line and plan there are.
    """
    origin = digest(line)
    ((style, line_plate),) = look or looked_at(line, plan, bench=bench)
    steps = regimen.steps
    # whoever chose the regimen has varied the line already, to see what applies
    variations = [step.variation or _varied(line, step) for step in steps]
    asked = {step.study: v for step, v in zip(steps, variations, strict=True) if step.study not in drawn}
    # those on the same plain staff one after another: a process that has engraved it does it for all of them
    asked = dict(sorted(asked.items(), key=lambda pair: (pair[0].rhythm, pair[0].strings)))
    # a variation is what its line and its study make it
    made = bench.each(engraved, style, [*asked.values()], key=lambda v: f"{v.study!r} {origin}", stage="plates")
    # while others engrave
    inside = [*_inside(passage, line, regimen, plan)]
    inside.append(Attachment(name=VARIATIONS, data=_written(variations, plan, origin, bench)))
    ready()
    plates = dict(drawn) | dict(zip(asked, made, strict=True))
    sheets = [
        Sheet(number=number, variation=variation, plate=plates[step.study], step=step)
        for number, (step, variation) in enumerate(zip(steps, variations, strict=True), start=1)
    ]
    return BookContent(
        passage=passage,
        line=line,
        line_plate=line_plate,
        sheets=tuple(sheets),
        regimen=regimen,
        plan=plan,
        attachments=tuple(inside),
    )


def _inside(passage: Passage, line: Variation, regimen: Regimen, plan: Plan) -> Iterator[Attachment]:
    """What a book carries, so that it can be printed again and reissued from itself."""
    yield Attachment(name=PLAN, data=dump_plan(plan).encode())
    yield Attachment(name=STUDIES, data=dump_plan(as_plan(regimen, plan)).encode())
    # as it was read: what we put to it is worked out anew
    yield Attachment(name=PASSAGE, data=musicxml(replace(line, passage=passage), exact=True, little=plan.marks.little))
    said = {key: getattr(passage, key) for key in ("source", "part", "cut")}
    yield Attachment(name=ORIGIN, data=json.dumps(said).encode())


def _written(variations: Sequence[Variation], plan: Plan, origin: str, bench: Bench) -> bytes:
    """The variations one after another as MusicXML; `origin` tells their line from others."""
    little = plan.marks.little
    if len(variations) == 1:
        # one alone is written in a manner of its own
        return musicxml(variations, little=little)

    def key(variation: Variation) -> str:
        return f"{variation.study!r} {variation.title} {origin}"

    # to send a variation to another process and back takes as long as to write it
    bars = bench.each(bars_of, little, variations, key=key, stage="files", who="this")
    return musicxml(variations, little=little, bars=[*bars])


def _varied(line: Variation, step: Step) -> Variation:
    made = vary(line, step.study)
    if isinstance(made, Declined):
        raise PlanError(Fault(fact=f"{made.axis} {made.setting!r} does not apply: {made.reason}"))
    return made


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How plates of one book are engraved."""

    width: float
    staff: float
    """mm"""
    marks: Marks
    tab: bool


Looked = Iterator[tuple[Look, Impression]]
"""one answer of the bench: how plates are engraved, and the line's own"""


def look_of(line: Variation, plan: Plan) -> Look:
    """How the plates of a book on `line` are engraved: as the plan says, larger where the line is short."""
    return _looked(plan, line)[0]


def plate_of(line: Variation, plan: Plan) -> tuple[Look, Impression]:
    """How plates of a book on `line` are engraved, and the line's own."""
    return _looked(plan, line)


def _looked(plan: Plan, line: Variation) -> tuple[Look, Impression]:
    """That, and the line itself as it is printed, which had to be drawn to see how long it is."""
    look = Look(width=music_width(plan), staff=plan.staff, marks=plan.marks, tab=plan.tab)
    plate = drawn_as(look, line)
    staff = staff_for(plan, plate)
    if staff == look.staff:
        return look, impression(plate)
    look = replace(look, staff=staff)
    return look, engraved(look, line)


def drawn_as(look: Look, variation: Variation) -> Plate:
    """The plate of a variation with a given look."""
    return draw(variation, width=look.width, staff=look.staff, marks=look.marks, tab=look.tab)


def engraved(look: Look, variation: Variation) -> Impression:
    """The same as it is printed."""
    return impression(drawn_as(look, variation))
