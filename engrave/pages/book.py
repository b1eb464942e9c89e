"""A study book from its content."""

from __future__ import annotations

from collections.abc import Callable

from engrave.pages import words
from engrave.pages.content import BookContent
from engrave.pages.fonts import shortened
from engrave.pages.legend import legend
from engrave.pages.paper import paper_of
from engrave.pages.picture import Gallery
from engrave.pages.press import render, to_pdf
from engrave.pages.typeset import Typesetter
from engrave.pages.views import neck_picture, plate_pictures, sections, sheet_views

Progress = Callable[[str, int, int], None]
"""called with "pages", how many pictures are on their pages, and of how many"""


def press(content: BookContent, *, progress: Progress | None = None) -> bytes:
    """The study book as a PDF.

    Same content and SOURCE_DATE_EPOCH, same bytes. Raises PressError for a paper that is not stocked and for a title
    no font of the book can print.
    """
    setter, gallery = Typesetter(), Gallery()
    paper = paper_of(content.plan)
    passage, line = content.passage, content.line
    title = setter.title(content.plan.title or passage.title) or "Study book"
    views = sheet_views(content, gallery, setter)
    little = content.plan.marks.little
    variations = [line, *(sheet.variation for sheet in content.sheets)]
    values = {
        "title": title,
        "running": shortened(title, 9, paper.room[0] / 2 - 4),
        "composer": setter.text(passage.composer, "the composer's name"),
        "teacher": setter.text(content.plan.teacher, "the teacher's line"),
        "rights": setter.text(passage.rights, "the rights line"),
        "source": setter.text(words.source_text(passage), "the source line"),
        "instrument": setter.text(line.instrument.label, "the instrument's label"),
        "line": plate_pictures(content.line_plate, "line", gallery),
        "neck": neck_picture(line, paper.room[0], "neck0", gallery),
        "facts": (*words.plucking_facts(line.figures, little), *words.fretting_facts(line.figures)),
        "legend": legend(variations, content.plan.marks, tab=content.plan.tab),
        "sections": sections(views),
        "sheets": views,
        "declined": tuple(
            (d.axis, setter.text(d.setting, "a setting"), setter.text(d.reason, "a reason"), d.place)
            for d in content.declined
        ),
        "notices": _notices(content, setter),
    }
    if progress:
        watch(gallery, progress)
    return to_pdf(render("book.html", values, paper=paper), gallery.images, content.attachments)


def _notices(content: BookContent, setter: Typesetter) -> tuple[str, ...]:
    said = [
        setter.text(str(notice), "a notice")
        for notice in (*content.passage.notices, *content.line.notices, *content.regimen.notices)
    ]
    return tuple(dict.fromkeys((*said, *setter.notes)))


def watch(gallery: Gallery, progress: Progress) -> None:
    """Report each picture as it is painted."""
    total, done = len(gallery.images), 0

    def one() -> None:
        nonlocal done
        done += 1
        progress("pages", done, total)

    for image in gallery.images.values():
        image.drawn = one
    progress("pages", 0, total)
