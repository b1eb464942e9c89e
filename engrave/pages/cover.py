"""What stands on the first page: title and names, and the line itself."""

from __future__ import annotations

from typing import Any

from engrave.model.said import say, say_count
from engrave.pages import words
from engrave.pages.content import BookContent
from engrave.pages.fonts import shortened, width_mm
from engrave.pages.images import Gallery
from engrave.pages.paper import paper_of, type_scale
from engrave.pages.templates import TYPE
from engrave.pages.typeset import Typesetter
from engrave.typefaces import right_to_left

GAP, MOST_GAP = 5.0, 13.0
"""least and most room under each system of the title page, in mm"""
WORDS = 115.0
"""mm that title, names, rights and what lies before the reader take at the most, by experience"""


def title_values(content: BookContent, setter: Typesetter, *, otherwise: str) -> dict[str, Any]:
    """Title, names and source, with their short forms for the head and the foot of each page.

    `otherwise` is the title of a passage that has none.
    """
    plan, passage = content.plan, content.passage
    width, scale = paper_of(plan).room[0], type_scale(plan)
    title = shortened(setter.text(plan.title or passage.title or otherwise, say("the title")), 15, 6 * width / scale)
    # a title and a name that stand over it already need no second line
    source = words.source_text(passage, titled=bool(plan.title and plan.title != passage.title))
    return {
        "title": title,
        "title_size": _title_size(title, width / scale),
        "running": _isolated(shortened(title, TYPE["running"] * scale, width * 0.48)),
        "composer": setter.text(passage.composer, say("the composer’s name")),
        "teacher": setter.text(plan.teacher, say("the teacher’s line")),
        "player": setter.text(plan.player.name, say("the player’s name")),
        "rights": setter.text(passage.rights, say("the rights line")),
        "source": setter.text(source, say("the source line")),
    }


def _isolated(text: str) -> str:
    """A text read from the right, so marked that it stays whole in a line of ours (UAX 9, isolates)."""
    return f"\u2067{text}\u2069" if right_to_left(text) else text


def cover_values(content: BookContent, title: dict[str, Any], setter: Typesetter, gallery: Gallery) -> dict[str, Any]:
    """Everything on the title page of a book.

    `title` is what `title_values` gives.
    """
    return title | {
        "what": _what(content, instrument=setter.text(content.line.instrument.label, say("the instrument’s label"))),
        # a week begins with its table
        "line": () if content.regimen.days else gallery.hang("line", content.line_plate),
        "cover_gap": _gap(content),
    }


def _gap(content: BookContent) -> float:
    """Room under each system: what the words leave of the page, shared out."""
    systems = content.line_plate.systems
    left = paper_of(content.plan).room[1] - WORDS * type_scale(content.plan) - sum(one.height for one in systems)
    return max(GAP, min(MOST_GAP, left / len(systems)))


def _what(content: BookContent, *, instrument: str) -> str:
    """What lies before the reader: a book or a week, how many ways of playing, for which instrument."""
    number = len(content.sheets)
    weeks = len({day.week for day in content.regimen.days})
    if weeks > 1:
        return say_count(
            "{w} weeks of practice: {n} way of playing one passage, for {instrument}.",
            "{w} weeks of practice: {n} ways of playing one passage, for {instrument}.",
            number,
            w=weeks,
            instrument=instrument,
        )
    if weeks:
        return say_count(
            "A week of practice: {n} way of playing one passage, for {instrument}.",
            "A week of practice: {n} ways of playing one passage, for {instrument}.",
            number,
            instrument=instrument,
        )
    return say_count(
        "A book of practice: {n} way of playing one passage, for {instrument}.",
        "A book of practice: {n} ways of playing one passage, for {instrument}.",
        number,
        instrument=instrument,
    )


def _title_size(title: str, width: float) -> float:
    """Points for the title: smaller the more lines it would take; a tenth of each line is left where it is broken."""
    for size, most in ((30.0, 2), (22.0, 3)):
        if width_mm(title, size, "bold") <= most * 0.9 * width:
            return size
    return 15.0
