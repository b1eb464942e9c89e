"""A class on one page for its teacher: who has which studies, what they share, and what is hard for whom."""

from __future__ import annotations

from engrave.model.said import say
from engrave.model.wording import listed
from engrave.pages.content import BookContent
from engrave.pages.cover import title_values
from engrave.pages.handout_pages import LARGEST_TITLE
from engrave.pages.printing import printer
from engrave.pages.templates import render, style_sheet
from engrave.pages.typeset import Typesetter
from engrave.regimen import Summary


def press_class(summary: Summary, content: BookContent, *, form: str) -> bytes:
    """The teacher's summary as a PDF; `content` is the book of any of the class, for the passage's names and paper."""
    setter = Typesetter(language=content.plan.marks.language)
    values = title_values(content, setter, otherwise=say("A class"))

    def said(text: str) -> str:
        return setter.text(text, say("the teacher’s summary"))

    values |= {
        "title_size": min(LARGEST_TITLE, values["title_size"]),
        "form": form,
        "rolls": [
            {
                "name": said(roll.name),
                "level": said(roll.level),
                "wants": said(roll.wants),
                "studies": [said(title) for title in roll.studies],
                "minutes": roll.minutes,
            }
            for roll in summary.rolls
        ],
        "everyone": [said(title) for title in summary.everyone],
        "shared": [(said(one.title), said(listed(one.names))) for one in summary.shared],
        "hard": [
            (said(one.place), said(one.reason), said(listed(one.names)) if one.names else "") for one in summary.hard
        ],
    }
    html = render("class.html", values, content.plan)
    with printer(style_sheet(content.plan), {}) as ready:
        return ready.pdf(html)
