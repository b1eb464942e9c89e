"""A week as its pages print it: what to play on each day, in which order, and what it adds up to."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil

from engrave.model import Day, Load, Visit
from engrave.model.wording import sentence
from engrave.pages.content import BookContent
from engrave.pages.drawn import Drawing, line
from engrave.pages.images import Gallery, Picture
from engrave.pages.paper import paper_of, type_scale
from engrave.pages.typeset import Typesetter
from engrave.pages.words import count, finger_name, tempo_brief

REST = 5
"""minutes of a break"""
_RULE = 9.0
"""mm that a ruled line takes"""
MOST_RULES = 9
MOST_TICKS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitView:
    """One study on one day."""

    place: int
    """in the day's order, from 1"""
    number: int
    """number of the variation in the book"""
    title: str
    reason: str
    times: int
    tempo: str
    minutes: str
    boxes: int
    rest_before: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DayView:
    """One day."""

    label: str
    note: str
    visits: tuple[VisitView, ...]
    places: str
    """numbers of the variations, in order"""
    minutes: str
    """playing and breaks"""
    load: str
    rules: Picture | None = None
    """lines for notes"""


def day_views(content: BookContent, setter: Typesetter) -> tuple[DayView, ...]:
    """The days in order; empty where no week was asked for."""
    return tuple(_day(day, content, setter) for day in content.regimen.days)


def _day(day: Day, content: BookContent, setter: Typesetter) -> DayView:
    visits = tuple(_visit(visit, place, content, setter) for place, visit in enumerate(day.visits, start=1))
    playing, resting = ceil(day.load.minutes), day.breaks * REST
    total = f"{count(playing, 'minute')} of playing"
    if day.breaks:
        total += f" and {count(day.breaks, 'break')} of {REST} minutes: {playing + resting} minutes in all"
    return DayView(
        label=setter.text(day.label, "a day's label"),
        note=setter.text(day.note, "a day's note") or f"{total}.",
        visits=visits,
        places=", ".join(str(visit.number) for visit in visits),
        minutes=str(playing + resting) if visits else "",
        load=load_text(day.load, content.plan.marks.little),
    )


def _visit(visit: Visit, place: int, content: BookContent, setter: Typesetter) -> VisitView:
    step = content.regimen.steps[visit.step]
    sheet = next(sheet for sheet in content.sheets if sheet.step is step)
    steps = (visit.tempo, *(tempo for tempo in step.tempo if tempo > visit.tempo))
    return VisitView(
        place=place,
        number=sheet.number,
        title=setter.text(sheet.variation.title, f"heading of variation {sheet.number}") or f"Variation {sheet.number}",
        reason=setter.text(visit.reason, "a reason"),
        times=visit.times,
        tempo=tempo_brief(step.beat, steps),
        minutes=str(max(1, round(visit.minutes))),
        boxes=visit.times if visit.times <= MOST_TICKS else 1,
        rest_before=visit.rest_before,
    )


def load_text(load: Load, little: str) -> str:
    """What a day asks of the hands, in one sentence; empty where it was not reckoned."""
    parts = []
    if load.strokes:
        parts.append("strokes " + ", ".join(f"{finger_name(f, little)} {n}" for f, n in load.strokes))
    if load.frettings:
        parts.append("stops " + ", ".join(f"{f}: {n}" for f, n in load.frettings))
    if load.slurs:
        parts.append(count(load.slurs, "slur"))
    if load.wound:
        parts.append(count(load.wound, "stroke on a wound string", "strokes on wound strings"))
    if load.reach:
        parts.append(f"widest reach {round(load.reach)} mm")
    said = "; ".join(parts)
    return f"{sentence(said)}." if said else ""


def ruled(day: DayView, index: int, content: BookContent, gallery: Gallery, height: float) -> DayView:
    """The day with ruled lines for notes in the room its table leaves, three at least; it is `height` mm high."""
    if not day.visits:
        return day
    width, room = paper_of(content.plan).room
    scale = type_scale(content.plan)
    rows = max(3, min(MOST_RULES, int((room - height) / scale // _RULE)))
    drawing = Drawing(width=width / scale, height=rows * _RULE)
    for row in range(rows):
        y = (row + 1) * _RULE - 0.2
        drawing.marks.append(line(0, y, drawing.width, y, 0.12))
    plate = drawing.plate(f"{rows} empty lines for notes.")
    return replace(day, rules=gallery.draw(f"rules{index}", plate, scale=scale))
