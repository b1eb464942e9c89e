"""A handout: one or two pages of chosen studies for a student, several to a page, from a teacher."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.pages import words
from engrave.pages.attachments import packed
from engrave.pages.content import BookContent, Sheet
from engrave.pages.cover import title_values
from engrave.pages.legend import legend
from engrave.pages.paper import paper_of, type_scale
from engrave.pages.picture import Gallery, Picture
from engrave.pages.press import render, to_pdf
from engrave.pages.typeset import Typesetter

HANDOUT_STAFF = 6.2
"""height in mm of the staff that suits a handout"""

LARGEST_TITLE = 22.0
"""points"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _StudyView:
    number: int
    title: str
    work: str
    purpose: str
    cue: str
    reason: str
    spots: str
    asked: str
    notices: tuple[str, ...]
    systems: tuple[Picture, ...]


def press_handout(content: BookContent, *, pages: int = 2) -> bytes:
    """The chosen studies of `content` on at most `pages` pages, as a PDF.

    Raises PressError where they take more, saying how many they need, and as `press` does.
    """
    setter, gallery = Typesetter(), Gallery()
    passage = content.passage
    values = title_values(content, setter, otherwise="Study sheet")
    values |= {
        "title_size": min(LARGEST_TITLE, values["title_size"]),
        "studies": tuple(_view(sheet, gallery, setter) for sheet in content.sheets),
        "sitting": words.SITTING,
        "legend": legend(
            [sheet.variation for sheet in content.sheets],
            [sheet.plate for sheet in content.sheets],
            content.plan.marks,
        ),
    }
    notices = setter.notices(passage.notices)
    values["notices"] = tuple(dict.fromkeys((*notices, *setter.notes)))
    paper = paper_of(content.plan)
    html, style = render("handout.html", values, paper=paper, scale=type_scale(content.plan))
    return to_pdf(html, style, gallery.images, packed(content.attachments), turned=paper.turned, most=pages)


def _view(sheet: Sheet, gallery: Gallery, setter: Typesetter) -> _StudyView:
    variation, what = sheet.variation, f"study {sheet.number}"
    return _StudyView(
        number=sheet.number,
        title=setter.text(variation.title, what) or f"Study {sheet.number}",
        work=words.work_text(sheet.step),
        purpose=setter.text(variation.purpose, what),
        cue=setter.text(variation.cue, what),
        reason=setter.text(sheet.step.reason, what),
        spots=" ".join(words.spot_text(spot) for spot in sheet.step.spots[:1]),
        asked=setter.text(sheet.step.study.asked, what),
        notices=setter.notices((*sheet.step.notices, *variation.notices), what),
        systems=gallery.hang(f"study{sheet.number}", sheet.plate),
    )
