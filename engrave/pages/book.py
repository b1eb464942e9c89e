"""A study book from its content."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from engrave.model.wording import sentence
from engrave.pages.content import BookContent
from engrave.pages.cover import cover_values, title_values
from engrave.pages.coverage import coverage
from engrave.pages.images import Gallery
from engrave.pages.layout import SAFE
from engrave.pages.legend import legend
from engrave.pages.measuring import Block, measured
from engrave.pages.paper import paper_of, type_scale
from engrave.pages.printing import Printer, printer
from engrave.pages.templates import render, style_sheet
from engrave.pages.typeset import Typesetter
from engrave.pages.views import SheetView, sections, shared_out, sheet_views
from engrave.pages.week import DayView, day_views, ruled


def press(content: BookContent) -> bytes:
    """The study book as a PDF; with a page for each day where the regimen is a week.

    What stands before the variations has Roman page numbers, so that the variations begin on page 1 whatever there is
    to say before them. Same content and SOURCE_DATE_EPOCH, same bytes. Raises PressError for a paper that is not
    stocked and for a title no font of the book can print.
    """
    gallery = Gallery()
    paper, scale = paper_of(content.plan), type_scale(content.plan)
    with printer(style_sheet(paper, scale), gallery.images) as ready:
        html = render("book.html", _values(content, gallery, ready), scale=scale)
        return ready.pdf(html, content.attachments, front=True)


def _values(content: BookContent, gallery: Gallery, ready: Printer) -> dict[str, Any]:
    """All that the pages say and show; what has to be measured for that is."""
    setter = Typesetter()
    paper, scale = paper_of(content.plan), type_scale(content.plan)
    title = title_values(content, setter, otherwise="Study book")
    sheets, days = tuple(sheet_views(content, setter)), day_views(content, setter)
    values = cover_values(content, title, setter, gallery) | {
        "sheets": sheets,
        "sections": sections(sheets),
        "minutes": any(sheet.minutes for sheet in sheets),
        "days": days,
        "survey_on_cover": True,
    }
    blocks = _blocks(values, sheets, days)
    cover, *found = measured(blocks, paper=paper, scale=scale, printer=ready)
    heads = list(zip(found[0 : 2 * len(sheets) : 2], found[1 : 2 * len(sheets) : 2], strict=True))
    tables = found[2 * len(sheets) :]
    return (
        values
        | _front_values(content, setter)
        | {
            "survey_on_cover": cover + SAFE < paper.room[1],
            "sheets": tuple(
                shared_out(view, sheet, content, gallery, heights)
                for view, sheet, heights in zip(sheets, content.sheets, heads, strict=True)
            ),
            "days": tuple(
                ruled(day, index, content, gallery, table)
                for index, (day, table) in enumerate(zip(days, tables, strict=True), start=1)
            ),
        }
    )


def _blocks(values: dict[str, Any], sheets: Sequence[SheetView], days: Sequence[DayView]) -> list[Block]:
    """What is to be measured: the title page, head and facts of each variation, and the table of each day."""
    blocks = [Block(template="cover.html", values=values, kind="cover")]
    for sheet in sheets:
        blocks += [Block(template=f"{part}.html", values={"sheet": sheet}) for part in ("head", "facts")]
    return blocks + [Block(template="day.html", values={"day": day}, kind="matter") for day in days]


def _front_values(content: BookContent, setter: Typesetter) -> dict[str, Any]:
    """How the music is read and what was left out, before the variations; what trains what, behind them."""
    plan, sheets = content.plan, content.sheets
    variations = [content.line, *(sheet.variation for sheet in sheets)]
    return {
        "legend": legend(variations, [content.line_plate, *(sheet.plate for sheet in sheets)], plan.marks),
        "house": any(sheet.step.house for sheet in sheets),
        "notices": _notices(content, setter),
        "coverage": coverage(content),
        "verdict": sentence(content.regimen.verdict),
    }


def _notices(content: BookContent, setter: Typesetter) -> tuple[str, ...]:
    """What was left out or changed on the way; last what this room itself had to drop."""
    said = setter.notices((*content.passage.notices, *content.line.notices, *content.regimen.notices))
    return tuple(dict.fromkeys((*said, *setter.notes)))
