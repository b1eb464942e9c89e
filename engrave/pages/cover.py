"""What stands on the first page: title and names, the line itself, and a survey of it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from engrave.pages import words
from engrave.pages.bars import HEAD, ROW, draw_bars, hand_bars, survey_bars
from engrave.pages.content import BookContent
from engrave.pages.drawn import Drawing
from engrave.pages.fonts import lines, shortened
from engrave.pages.foot import neck_room
from engrave.pages.layout import SAFE
from engrave.pages.neck import draw_neck
from engrave.pages.paper import paper_of, type_scale
from engrave.pages.picture import Gallery, Picture
from engrave.pages.typeset import Typesetter
from engrave.pages.views import LEADING, PT, RUNNING, SMALL

GAP = 5.0
"""room under each system of the title page, in mm"""
_SURVEY = 9.5
"""size of type of what is said under the survey"""
_COLUMNS = 9.0
"""mm between columns of bars"""


def title_values(content: BookContent, setter: Typesetter, *, otherwise: str) -> dict[str, Any]:
    """Title, names and source, with their short forms for the head and the foot of each page.

    `otherwise` is the title of a passage that has none. Raises PressError for a title no font can print.
    """
    plan, passage = content.plan, content.passage
    width, scale = paper_of(plan).room[0], type_scale(plan)
    title = shortened(setter.title(plan.title or passage.title) or otherwise, 15, 6 * width / scale)
    source = setter.text(words.source_text(passage), "the source line")
    return {
        "title": title,
        "title_size": _title_size(title, width / scale),
        "running": shortened(title, RUNNING * scale, width * 0.48),
        "composer": setter.text(passage.composer, "the composer's name"),
        "teacher": setter.text(plan.teacher, "the teacher's line"),
        "player": setter.text(plan.player.name, "the player's name"),
        "rights": setter.text(passage.rights, "the rights line"),
        "source": source,
        "footline": shortened(source, 8 * scale, width - 30),
    }


def cover_values(content: BookContent, title: dict[str, Any], setter: Typesetter, gallery: Gallery) -> dict[str, Any]:
    """Everything on the title page of a book; the survey goes to a later page where the line leaves it no room.

    `title` is what `title_values` gives.
    """
    figures, survey = content.line.figures, _survey(content, gallery)
    facts = (*words.plucking_facts(figures, content.plan.marks.little), *words.fretting_facts(figures))
    values = title | {
        "instrument": setter.text(content.line.instrument.label, "the instrument's label"),
        "line": gallery.hang("line", content.line_plate),
        "cover_gap": GAP,
        "survey": survey,
        "facts": " ".join(facts),
    }
    return values | {"survey_on_cover": _survey_fits(content, survey, values)}


def _survey(content: BookContent, gallery: Gallery) -> Picture:
    """The line on the neck, and how its notes fall to strings and fingers."""
    scale, line = type_scale(content.plan), content.line
    width = paper_of(content.plan).room[0] / scale
    columns = (*survey_bars(line), *hand_bars(replace(line.figures, frettings=()), content.plan.marks.little))
    top = neck_room(line)
    rows = max((len(counts) for _, counts in columns), default=0)
    drawing = Drawing(width=width, height=top + (HEAD + rows * ROW if rows else 0))
    said = [draw_neck(drawing, line)]
    wide = (width - 2 * _COLUMNS) / 3
    for index, (heading, counts) in enumerate(columns):
        said.append(draw_bars(drawing, heading, counts, x=index * (wide + _COLUMNS), y=top, width=wide))
    return gallery.draw("survey", drawing.plate(" ".join(said)), scale=scale)


def _survey_fits(content: BookContent, survey: Picture, values: dict[str, Any]) -> bool:
    """Whether title, names, line, survey and source stand on one page."""
    width, height = paper_of(content.plan).room
    scale, plate = type_scale(content.plan), content.line_plate
    wide, size = width / scale, values["title_size"]
    names = sum(bool(values[name]) for name in ("composer", "teacher", "player"))
    text = 8 + lines(values["title"], size, wide, "semibold") * size * 1.12 * PT + names * 9 + 22
    text += (lines(values["facts"], _SURVEY, wide) + 1) * _SURVEY * LEADING * PT + 8
    text += 5 + (lines(values["source"], SMALL, wide) + lines(values["rights"], SMALL, wide)) * SMALL * LEADING * PT
    return bool(text * scale + plate.height + len(plate.systems) * GAP + survey.height + SAFE < height)


def _title_size(title: str, width: float) -> float:
    """Points for the title: smaller the more lines it would take."""
    for size, most in ((30.0, 2), (22.0, 3)):
        if lines(title, size, width, "semibold") <= most:
            return size
    return 15.0
