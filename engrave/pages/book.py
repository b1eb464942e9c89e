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
from engrave.pages.week import week_views
from engrave.pages.words import SITTING, places_text, runs, tempo_brief


def press(content: BookContent) -> bytes:
    """The study book as a PDF; with a table for each week where the regimen is one.

    What stands before the variations has Roman page numbers, so that the variations begin on page 1 whatever there is
    to say before them. Same content and SOURCE_DATE_EPOCH, same bytes. Raises PressError for a paper that is not
    stocked, and where the library that sets text cannot be loaded.
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
    sheets = tuple(sheet_views(content, setter))
    values = cover_values(content, title, setter, gallery) | {
        "sheets": sheets,
        "sections": sections(sheets),
        "minutes": any(sheet.minutes for sheet in sheets),
        "weeks": week_views(content, setter),
        "days": content.regimen.days,
        "close": _close(content, sheets),
        "sitting": SITTING,
        "troubles": _troubles(content),
        "survey_on_cover": True,
    }
    blocks = _blocks(values, sheets)
    cover, *found = measured(blocks, paper=paper, scale=scale, printer=ready)
    heads = list(zip(found[0 : 2 * len(sheets) : 2], found[1 : 2 * len(sheets) : 2], strict=True))
    return (
        values
        | _front_values(content, setter)
        | {
            "survey_on_cover": cover + SAFE < paper.room[1],
            "sheets": tuple(
                shared_out(view, sheet, content, gallery, heights)
                for view, sheet, heights in zip(sheets, content.sheets, heads, strict=True)
            ),
        }
    )


def _blocks(values: dict[str, Any], sheets: Sequence[SheetView]) -> list[Block]:
    """What is to be measured: the title page, and head and facts of each variation."""
    blocks = [Block(template="cover.html", values=values, kind="cover")]
    for sheet in sheets:
        blocks += [Block(template=f"{part}.html", values={"sheet": sheet}) for part in ("head", "facts")]
    return blocks


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
    }


def _troubles(content: BookContent) -> list[dict[str, str]]:
    """Hard places of the line, for the teacher."""
    return [
        {
            "place": trouble.place,
            "reason": trouble.reason,
            "hard": places_text(tuple(step + 1 for step in trouble.steps), len(content.sheets)),
            "treated": runs(sorted(step + 1 for step in trouble.treated)) or "–",
        }
        for trouble in content.regimen.troubles
    ]


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
    for direction in content.line.passage.directions:
        # printed with the music, where nobody could say so
        setter.text(direction.text, f"the words {direction.text!r}")
    said = setter.notices((*content.passage.notices, *content.line.notices, *content.regimen.notices))
    return tuple(dict.fromkeys((*said, *setter.notes)))
