"""A week as its page prints it: a table with a row for each study and a column for each day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import groupby
from math import ceil
from operator import itemgetter

from engrave.model import Day, Plan
from engrave.model.said import beginning, say, say_day
from engrave.model.wording import listed
from engrave.pages.content import BookContent, Sheet
from engrave.pages.day_strips import most_boxes
from engrave.pages.paper import music_width, type_scale
from engrave.pages.sign_font import BOX, SHAPES
from engrave.pages.typeset import Typesetter
from engrave.pages.words import beat_sign, boxes_text
from engrave.regimen import DayCell, grid

REST = 5
"""minutes of a break"""
_STUDY = 44.0
"""mm of the column of studies, before it is enlarged with the type"""
_PADDING = 2.0
"""mm beside what a day says"""
_POINTS = 8.0
"""of the table's type"""


@dataclass(frozen=True, slots=True, kw_only=True)
class RowView:
    """One study of the week."""

    number: int
    """number of the variation"""
    title: str
    cells: tuple[tuple[DayCell, str], ...]
    """what it is on each day, and its boxes beside each tempo"""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekView:
    """One week."""

    title: str
    days: tuple[tuple[str, str], ...]
    """head and foot of each column: the day; its minutes with breaks, or that it is for resting"""
    rows: tuple[RowView, ...]
    beat: str
    """the note that tempi count"""
    span: str
    """its first and last day, where it has dates"""
    total: str
    """what the last row counts"""
    breaks: tuple[str, ...]
    """when to rest, a sentence for each time"""
    many: bool
    """some of its boxes stand for several times, with their number"""


def week_views(content: BookContent, setter: Typesetter) -> tuple[WeekView, ...]:
    """The weeks in order; empty where none was asked for."""
    numbers = sorted({day.week for day in content.regimen.days})
    return tuple(_week(number, len(numbers), content, setter) for number in numbers)


def _week(number: int, of: int, content: BookContent, setter: Typesetter) -> WeekView:
    days, rows = grid(content.regimen, number, content.plan.player.minutes)
    made = []
    for row in rows:
        sheet = _sheet(row.step, content)
        across = boxes_across(content.plan)
        cells = tuple((cell, boxes_of(cell, across)) for cell in row.cells)
        made.append(RowView(number=sheet.number, title=_title(sheet, setter), cells=cells))
    return WeekView(
        title=say("The week") if of == 1 else say("Week {number} of {of}", number=number, of=of),
        days=tuple(_day(day, sum(row.cells[at].whole for row in rows)) for at, day in enumerate(days)),
        rows=tuple(made),
        beat=beat_sign(content.regimen.steps[0].beat),
        span=say("{first} to {last}.", first=days[0].label, last=days[-1].label) if days[0].date else "",
        total=say("minutes, with breaks") if any(day.breaks for day in days) else say("minutes"),
        breaks=tuple(_breaks(days, content, setter)),
        many=any(cell.times > most_boxes(cell.tempo) for row in rows for cell in row.cells if cell.tempo),
    )


def _sheet(step: int, content: BookContent) -> Sheet:
    return next(sheet for sheet in content.sheets if sheet.step is content.regimen.steps[step])


def _title(sheet: Sheet, setter: Typesetter) -> str:
    """What the table calls a variation."""
    title = setter.text(sheet.variation.title, say("heading of variation {number}", number=sheet.number))
    return title or say("Variation {number}", number=sheet.number)


def boxes_across(plan: Plan) -> int:
    """How many boxes stand beside one another in the width of a day."""
    scale = type_scale(plan)
    room = (music_width(plan) - _STUDY * scale) / 7 - _PADDING
    return max(1, int(room / (SHAPES[BOX][0] / 1000 * _POINTS * scale * 25.4 / 72)))


def boxes_of(cell: DayCell, across: int) -> str:
    """The boxes of a study on one day, beside each of its tempi, `across` in a row."""
    boxes = boxes_text(cell.times, most_boxes(cell.tempo))
    if cell.times == len(boxes) > across:
        each = ceil(cell.times / ceil(cell.times / across))
        boxes = " ".join(boxes[at : at + each] for at in range(0, cell.times, each))
    return boxes


def _day(day: Day, minutes: int) -> tuple[str, str]:
    total = str(minutes + day.breaks * REST) if day.visits else say("rest day")
    # a narrow column: Mon 8 Mar
    label = say_day(day.weekday, date.fromisoformat(day.date), short=True) if day.date else say_day(day.weekday)
    return beginning(label), total


def _breaks(days: tuple[Day, ...], content: BookContent, setter: Typesetter) -> list[str]:
    """Before which study the breaks stand, day by day; days one after the other with the same study said once."""
    practice = sum(bool(day.visits) for day in days)
    rests = [(visit.step, say_day(day.weekday)) for day in days for visit in day.visits if visit.rest_before]
    found: list[str] = []
    for step, times in groupby(rests, key=itemgetter(0)):
        names = [name for _, name in times]
        study = _title(_sheet(step, content), setter)
        if len(names) == practice > 1:
            found.append(say("Every day rest five minutes before “{study}”.", study=study))
        else:
            found.append(say("On {days} rest five minutes before “{study}”.", days=listed(names), study=study))
    return found
