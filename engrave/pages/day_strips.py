"""What a page of a week asks for on each day: the row of the week's table that is the page's own."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.languages import letters_plain, told
from engrave.model import Plan, Regimen, Step
from engrave.model.said import say, say_count, say_day, strung
from engrave.pages.drawn import Drawing, box
from engrave.pages.fonts import text_width
from engrave.pages.layout import BAND, LADDER
from engrave.pages.paper import music_width, type_scale
from engrave.regimen import DayCell, grid

ACROSS = 3
"""most weeks beside each other"""
GAP = 6.0
"""mm between columns of weeks, and least between what stands in them"""
HEAD, ROW = 6.0, 5.0
"""mm of a heading and of a day"""
BELOW = 3.0
"""mm under the last day, so that what follows has a head of its own"""
_MOST = {1: 8, 2: 5}
"""number of tempi → most boxes that are drawn, here and in the week's table; of more the number is said"""
_TEMPO, _TICKS = 9.0, {1: 17.0}
"""mm from a day's name to its tempi, and by the number of these to its boxes"""
_TICKS_AFTER = 23.0
"""mm to the boxes of two tempi and more"""
_PITCH = 4.0
_AFTER = 0.6
"""mm between the last box and what is said behind it"""
_TITLE_EM, _DAY_EM = 3.2, 3.4
"""mm of type"""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekLines:
    """The days of one week on which a study comes."""

    title: str
    days: tuple[tuple[str, DayCell], ...]
    """what each is called, and what the study is on it"""

    @property
    def height(self) -> float:
        """Room it takes, in mm."""
        return HEAD + len(self.days) * ROW


def most_boxes(tempo: tuple[int, ...]) -> int:
    """How many boxes are drawn at most for each of a day's tempi."""
    return _MOST.get(len(tempo), 1)


def lines_of(regimen: Regimen, step: Step) -> tuple[WeekLines, ...]:
    """The weeks in which a page is needed, as their tables say; none in a book."""
    numbers = sorted({day.week for day in regimen.days})
    found = []
    for number in numbers:
        days, rows = grid(regimen, number)
        for row in rows:
            if regimen.steps[row.step] is not step:
                continue
            lines = tuple(
                (say_day(day.weekday, short=True), cell)
                for day, cell in zip(days, row.cells, strict=True)
                if cell.tempo
            )
            title = (
                say("Days, tempo and boxes")
                if len(numbers) == 1
                else say("Week {number}: days, tempo and boxes", number=number)
            )
            found.append(WeekLines(title=title, days=lines))
    return tuple(found)


def ladder_room(regimen: Regimen, step: Step, plan: Plan) -> float:
    """Height in mm that the days of a page take, or its tempo ladder where there are no days."""
    weeks = lines_of(regimen, step)
    if not weeks:
        return LADDER
    return strips_height(weeks, len(columns_of(weeks, music_width(plan) / type_scale(plan), plan.marks.language)))


def columns_of(weeks: tuple[WeekLines, ...], width: float, language: str) -> tuple[float, ...]:
    """Where in `width` mm columns of weeks begin: as many as the longest line of any of them leaves room for."""
    widest = max((week_width(week, language) for week in weeks), default=0.0)
    across = next((n for n in range(ACROSS, 1, -1) if (width + GAP) / n >= widest + GAP), 1)
    return tuple(index * (width + GAP) / across for index in range(across))


def week_width(week: WeekLines, language: str) -> float:
    """Width in mm of the longest line of a week's days, its heading among them."""
    lines = [_wide(week.title, _TITLE_EM, language, "italic")]
    for _, day in week.days:
        ticks, boxes, after = _boxed(day)
        lines.append(ticks + boxes * _PITCH + _AFTER + _wide(after, _DAY_EM, language))
    return max(lines)


def _wide(text: str, em: float, language: str, face: str = "roman") -> float:
    return text_width(letters_plain(told(text, language)), em, face)


def _boxed(day: DayCell) -> tuple[float, int, str]:
    """Of a day's line: where its boxes begin, how many are drawn, and what is said behind them."""
    most = most_boxes(day.tempo)
    after = strung([f"× {day.times}" if day.times > most else "", say("each") if len(day.tempo) > 1 else ""])
    return _TICKS.get(len(day.tempo), _TICKS_AFTER), day.times if day.times <= most else 1, after


def strips(weeks: tuple[WeekLines, ...], across: int) -> tuple[tuple[WeekLines, ...], ...]:
    """Weeks beside one another, so many `across`."""
    return tuple(weeks[start : start + across] for start in range(0, len(weeks), across))


def strips_height(weeks: tuple[WeekLines, ...], across: int) -> float:
    """Height in mm of the strips of `weeks`, with the room between them."""
    rows = strips(weeks, across)
    return sum(max(week.height for week in row) for row in rows) + BAND * len(rows) + (BELOW if rows else 0.0)


def draw_week(drawing: Drawing, x: float, y: float, week: WeekLines) -> str:
    """The days of one week with their boxes, and the same in words."""
    drawing.letter(week.title, x, y + 3.2, _TITLE_EM, face="italic", at="start")
    said: list[str] = []
    for index, (label, day) in enumerate(week.days):
        base = y + HEAD + index * ROW + 3.4
        tempi = ", ".join(map(str, day.tempo))
        drawing.letter(label, x, base, _DAY_EM, at="start")
        drawing.letter(tempi, x + _TEMPO, base, 3.7, at="start")
        ticks, boxes, after = _boxed(day)
        for number in range(boxes):
            drawing.marks.append(box(x + ticks + number * _PITCH, base - 3.1, 3.5, 3.5, 0.22))
        if after:
            drawing.letter(after, x + ticks + boxes * _PITCH + _AFTER, base, _DAY_EM, at="start")
        if len(day.tempo) > 1:
            said.append(
                say_count(
                    "{day} {tempi}, once each", "{day} {tempi}, {n} times each", day.times, day=label, tempi=tempi
                )
            )
        else:
            said.append(say_count("{day} {tempi}, once", "{day} {tempi}, {n} times", day.times, day=label, tempi=tempi))
    return say("{title}: {days}.", title=week.title, days=strung(said, "; "))


def draw_strips(drawing: Drawing, top: float, weeks: tuple[WeekLines, ...], columns: tuple[float, ...]) -> list[str]:
    """Strip under strip of weeks, each week in its column (x in mm); what they say."""
    said = []
    for row in strips(weeks, len(columns)):
        top += BAND
        said += [draw_week(drawing, x, top, week) for x, week in zip(columns, row, strict=False)]
        top += max(week.height for week in row)
    return said
