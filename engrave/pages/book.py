"""A study book from its content."""

from __future__ import annotations

from collections.abc import Callable

from engrave.pages.content import BookContent
from engrave.pages.cover import cover_values
from engrave.pages.coverage import coverage
from engrave.pages.legend import legend
from engrave.pages.paper import paper_of, type_scale
from engrave.pages.picture import Gallery
from engrave.pages.press import render, to_pdf
from engrave.pages.typeset import Typesetter
from engrave.pages.views import sections, sheet_views
from engrave.pages.week import day_views

Progress = Callable[[str, int, int], None]
"""called with "pages", how many pictures are on their pages, and of how many"""


def press(content: BookContent, *, progress: Progress | None = None) -> bytes:
    """The study book as a PDF; with a page for each day where the regimen is a week.

    Same content and SOURCE_DATE_EPOCH, same bytes. Raises PressError for a paper that is not stocked and for a title
    no font of the book can print.
    """
    setter, gallery = Typesetter(), Gallery()
    plan, sheets = content.plan, content.sheets
    views = sheet_views(content, gallery, setter)
    variations = [content.line, *(sheet.variation for sheet in sheets)]
    verdict = content.regimen.verdict
    values = cover_values(content, setter, gallery) | {
        "legend": legend(variations, [content.line_plate, *(sheet.plate for sheet in sheets)], plan.marks),
        "house": any(sheet.step.house for sheet in sheets),
        "days": day_views(content, gallery, setter),
        "sections": sections(views),
        "sheets": views,
        "minutes": any(view.minutes for view in views),
        "coverage": coverage(content),
        "verdict": verdict[:1].upper() + verdict[1:],
        "declined": tuple(
            (d.axis, setter.text(d.setting, "a setting"), setter.text(d.reason, "a reason"), d.place)
            for d in content.declined
        ),
    }
    values["notices"] = _notices(content, setter)
    if progress:
        gallery.watch(lambda done, of: progress("pages", done, of))
    html = render("book.html", values, paper=paper_of(plan), scale=type_scale(plan))
    return to_pdf(html, gallery.images, content.attachments)


def _notices(content: BookContent, setter: Typesetter) -> tuple[str, ...]:
    """What was left out or changed on the way; last what this room itself had to drop."""
    said = [
        setter.text(str(notice), "a notice")
        for notice in (*content.passage.notices, *content.line.notices, *content.regimen.notices)
    ]
    return tuple(dict.fromkeys((*said, *setter.notes)))
