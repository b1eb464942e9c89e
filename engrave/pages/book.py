"""A study book from its content."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import Any

from engrave.model.said import say, strung
from engrave.pages.appendix import MEASURED, MOST_PAGES, SIZES, appendix_values
from engrave.pages.content import BookContent
from engrave.pages.cover import cover_values, title_values
from engrave.pages.images import Gallery
from engrave.pages.legend import legend
from engrave.pages.measuring import TextBlock, measured
from engrave.pages.paper import paper_of
from engrave.pages.printing import Printer, printer
from engrave.pages.templates import render, style_sheet
from engrave.pages.typeset import Typesetter
from engrave.pages.views import SheetView, sections, shared_out, sheet_views
from engrave.pages.week_table import week_views
from engrave.pages.words import SITTING, boxes_text, clicks_text, tempo_brief

INDEX_PAGES = 2
"""pages of the index at most: with cover and signs before it, the music begins by page v"""
_SPILL = 1.1
"""pages up to which the rows of the index are set closer, so that no last row has a page to itself (house figure)"""
_MOST_TICKS = 5
"""boxes drawn one by one in a row of the index"""
_FULL = 0.93
"""share of a page that is sure to be filled, since rows are not broken"""


def press(content: BookContent) -> bytes:
    """The study book as a PDF; with a table for each week where the regimen is one.

    What stands before the variations has Roman page numbers, so that the variations begin on page 1 whatever there is
    to say before them. Same content and SOURCE_DATE_EPOCH, same bytes. Raises PressError for a paper that is not
    stocked, and where the library that sets text cannot be loaded.
    """
    gallery = Gallery()
    with printer(style_sheet(content.plan), gallery.images) as ready:
        html = render("book.html", _values(content, gallery, ready), content.plan)
        return ready.pdf(html, content.attachments, front=True)


def _values(content: BookContent, gallery: Gallery, ready: Printer) -> dict[str, Any]:
    """All that the pages say and show; what has to be measured for that is."""
    setter = Typesetter(language=content.plan.marks.language)
    high = paper_of(content.plan).room[1]
    title = title_values(content, setter, otherwise=say("Study book"))
    sheets = tuple(sheet_views(content, setter))
    values = cover_values(content, title, setter, gallery) | {
        "sheets": sheets,
        "sections": sections(sheets),
        "minutes": any(sheet.minutes for sheet in sheets),
        "weeks": week_views(content, setter),
        "days": content.regimen.days,
        "close": _close(content, sheets),
        "spread": _spread(content, sheets),
        "sitting": strung([SITTING, clicks_text(content.regimen.steps)]),
        "brief": False,
        "closer": False,
    }
    values |= appendix_values(content, setter)
    front, back, *heads = measured(_blocks(values, sheets), plan=content.plan, printer=ready)
    # text of half the size takes a quarter of the room
    small = (s for s in SIZES if back * (s / MEASURED) ** 2 <= _FULL * MOST_PAGES * high)
    dealt = tuple(shared_out(view, content, gallery, head) for view, head in zip(sheets, heads, strict=True))
    values |= _reading(content, dealt)
    return values | {
        "brief": front > _FULL * INDEX_PAGES * high,
        "closer": _FULL * high < front <= _SPILL * high,
        "back_size": next(small, SIZES[-1]),
        "sheets": dealt,
    }


def _blocks(values: dict[str, Any], sheets: Sequence[SheetView]) -> list[TextBlock]:
    """What is to be measured: the index, the appendix in one size of type, and the head of each variation."""
    blocks = [
        TextBlock(template="index-text.html", values=values, kind="matter"),
        TextBlock(template="back-text.html", values=values | {"back_size": MEASURED}, kind="matter"),
    ]
    return blocks + [TextBlock(template="head.html", values={"sheet": sheet}) for sheet in sheets]


def _close(content: BookContent, views: Sequence[SheetView]) -> dict[str, Any] | None:
    """How the book ends: a variation that comes again."""
    visit, steps = content.regimen.close, content.regimen.steps
    if visit is None:
        return None
    return {
        "number": views[visit.step].number,
        "title": views[visit.step].title,
        "reason": visit.reason,
        "times": visit.times,
        "tempo": tempo_brief(steps[visit.step].beat, visit.tempo),
        "minutes": str(max(1, round(visit.minutes))),
        # page 1 has boxes for its own tempi alone
        "boxes": boxes_text(visit.times * len(visit.tempo), _MOST_TICKS),
    }


def _spread(content: BookContent, views: Sequence[SheetView]) -> str:
    """Over how many days the book goes, where it takes more than the player's minutes; else nothing."""
    a_day, close = content.plan.player.minutes, _close(content, views)
    parts = [int(text) for text in (*(view.minutes for view in views), close["minutes"] if close else "") if text]
    if not a_day or sum(parts) <= a_day:
        return ""
    budget = f"{a_day:g}"
    return say(
        "About {total} minutes in all: at {minutes} minutes a day, over {days} days.",
        total=sum(parts),
        minutes=budget,
        days=ceil(sum(parts) / a_day),
    )


def _reading(content: BookContent, views: Sequence[SheetView]) -> dict[str, Any]:
    """How the music is read: every sign that is printed, loops and pictures of the neck included."""
    plan, sheets = content.plan, content.sheets
    variations = [content.line, *(sheet.variation for sheet in sheets)]
    plates = [content.line_plate, *(sheet.plate for sheet in sheets)]
    plates += [sheet.loop for sheet, view in zip(sheets, views, strict=True) if sheet.loop and view.loop]
    neck = any(page.laid.neck for view in views for page in view.pages)
    texts = [text for view in views for text in (view.title, view.purpose, view.cue, view.spots)]
    texts += [trouble.reason for trouble in content.regimen.troubles]
    return {
        "legend": legend(variations, plates, plan.marks, neck=neck, texts=texts),
        "house": any(sheet.step.house for sheet in sheets),
    }
