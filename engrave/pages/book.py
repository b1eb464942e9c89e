"""A study book from its content."""

from __future__ import annotations

from collections.abc import Callable

from engrave.pages import words
from engrave.pages.content import BookContent
from engrave.pages.coverage import coverage
from engrave.pages.fonts import shortened
from engrave.pages.legend import legend
from engrave.pages.paper import paper_of, type_scale
from engrave.pages.picture import Gallery
from engrave.pages.press import render, to_pdf
from engrave.pages.typeset import Typesetter
from engrave.pages.views import (
    COVER_GAP,
    sections,
    sheet_views,
    survey_fits,
    survey_picture,
    title_size,
)
from engrave.pages.week import day_views

Progress = Callable[[str, int, int], None]
"""called with "pages", how many pictures are on their pages, and of how many"""


def press(content: BookContent, *, progress: Progress | None = None) -> bytes:
    """The study book as a PDF; with a page for each day where the regimen is a week.

    Same content and SOURCE_DATE_EPOCH, same bytes. Raises PressError for a paper that is not stocked and for a title
    no font of the book can print.
    """
    setter, gallery = Typesetter(), Gallery()
    paper = paper_of(content.plan)
    passage, line = content.passage, content.line
    title = shortened(setter.title(content.plan.title or passage.title) or "Study book", 15, 6 * paper.room[0])
    views = sheet_views(content, gallery, setter)
    little = content.plan.marks.little
    variations = [line, *(sheet.variation for sheet in content.sheets)]
    plates = [content.line_plate, *(sheet.plate for sheet in content.sheets)]
    source = setter.text(words.source_text(passage), "the source line")
    scale = type_scale(content.plan)
    survey = survey_picture(content, gallery)
    values = {
        "title": title,
        "title_size": title_size(title, paper.room[0] / scale),
        "running": shortened(title, 9 * scale, paper.room[0] * 0.48),
        "composer": setter.text(passage.composer, "the composer's name"),
        "teacher": setter.text(content.plan.teacher, "the teacher's line"),
        "rights": setter.text(passage.rights, "the rights line"),
        "source": source,
        "footline": shortened(source, 8 * scale, paper.room[0] - 30),
        "instrument": setter.text(line.instrument.label, "the instrument's label"),
        "line": gallery.hang("line", content.line_plate),
        "survey": survey,
        "survey_on_cover": survey_fits(content, title, survey),
        "cover_gap": COVER_GAP,
        "facts": (*words.plucking_facts(line.figures, little), *words.fretting_facts(line.figures)),
        "legend": legend(variations, plates, content.plan.marks),
        "sections": sections(views),
        "sheets": views,
        "minutes": any(view.minutes for view in views),
        "house": any(sheet.step.house for sheet in content.sheets),
        "days": day_views(content, gallery, setter),
        "declined": tuple(
            (d.axis, setter.text(d.setting, "a setting"), setter.text(d.reason, "a reason"), d.place)
            for d in content.declined
        ),
        "notices": _notices(content, setter),
        "player": setter.text(content.plan.player.name, "the player's name"),
        "coverage": coverage(content),
        "verdict": content.regimen.verdict[:1].upper() + content.regimen.verdict[1:],
    }
    if progress:
        gallery.watch(lambda done, of: progress("pages", done, of))
    return to_pdf(render("book.html", values, paper=paper, scale=scale), gallery.images, content.attachments)


def _notices(content: BookContent, setter: Typesetter) -> tuple[str, ...]:
    said = [
        setter.text(str(notice), "a notice")
        for notice in (*content.passage.notices, *content.line.notices, *content.regimen.notices)
    ]
    return tuple(dict.fromkeys((*said, *setter.notes)))
