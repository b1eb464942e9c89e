"""A handout: one or two pages of chosen studies for a student, several to a page, from a teacher."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Any

from engrave.model.said import say, strung
from engrave.pages import words
from engrave.pages.appendix import note_words, own_notices
from engrave.pages.content import BookContent, Sheet
from engrave.pages.cover import title_values
from engrave.pages.images import Gallery, Picture
from engrave.pages.legend import legend
from engrave.pages.measuring import TextBlock, measured
from engrave.pages.paper import paper_of
from engrave.pages.printing import printer
from engrave.pages.templates import render, style_sheet
from engrave.pages.typeset import Typesetter
from engrave.regimen import told_to_students

HANDOUT_STAFF = 6.2
"""mm: the least height of the staff on a handout whose studies are chosen for it; the most that fits is taken"""
HANDOUT_STAVES = (7.2, 6.9, 6.5, 6.2, 5.8, 5.4)
"""mm: heights that are tried, the largest first (house figures)"""

LARGEST_TITLE, TIGHT_TITLE = 22.0, 16.0
"""points"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _StudyView:
    number: int
    title: str
    work: str
    ladder: tuple[tuple[str, str], ...]
    """tempo and its boxes, the slowest first"""
    purpose: str
    cue: str
    spots: str
    systems: tuple[Picture, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HandoutHeights:
    """What stands on a handout, in mm."""

    room: float
    """of a page"""
    top: float
    """title and names, on the first page"""
    studies: tuple[float, ...]
    end: float
    """what the signs mean, and the cautions, behind the last study"""


def press_handout(content: BookContent, *, pages: int = 2, tight: bool = False) -> bytes:
    """The chosen studies of `content` on at most `pages` pages, as a PDF.

    `tight` sets lines closer and leaves out the hard spots: what to play and what for stays.
    Raises PressError where they take more, saying how many they need, and as `press` does.
    """
    gallery = Gallery()
    html = render("handout.html", _values(content, gallery, tight=tight), content.plan)
    with printer(style_sheet(content.plan), gallery.images) as ready:
        return ready.pdf(html, content.attachments, most=pages)


def handout_heights(content: BookContent, *, tight: bool = False) -> HandoutHeights:
    """How high everything is that a handout of all of `content` would hold. Raises as `press` does."""
    gallery = Gallery()
    values = _values(content, gallery, tight=tight)
    kind = "handout tight" if tight else "handout"
    parts = [TextBlock(template=f"handout-{part}.html", values=values, kind=kind) for part in ("top", "end")]
    parts += [
        TextBlock(template="study.html", values={"study": study, "tight": tight}, kind=kind)
        for study in values["studies"]
    ]
    with printer(style_sheet(content.plan), gallery.images) as ready:
        top, end, *studies = measured(parts, plan=content.plan, printer=ready)
    return HandoutHeights(room=paper_of(content.plan).room[1], top=top, studies=tuple(studies), end=end)


def _values(content: BookContent, gallery: Gallery, *, tight: bool) -> dict[str, Any]:
    setter = Typesetter(language=content.plan.marks.language)
    values = title_values(content, setter, otherwise=say("Study sheet"))
    studies = tuple(_view(sheet, content, gallery, setter) for sheet in content.sheets)
    # close set, they have no hard spots
    texts = [text for one in studies for text in (one.title, one.purpose, one.cue, "" if tight else one.spots)]
    values |= {
        "title_size": min(TIGHT_TITLE if tight else LARGEST_TITLE, values["title_size"]),
        "studies": studies,
        "sitting": strung([words.BOXES, words.clicks_text(s.step for s in content.sheets), _days(content)]),
        "tight": tight,
        "legend": legend(
            [sheet.variation for sheet in content.sheets],
            [sheet.plate for sheet in content.sheets],
            content.plan.marks,
            texts=texts,
        ),
    }
    note_words(content, setter)
    said = told_to_students(content.regimen.notices, content.plan)
    notices = setter.notices((*content.passage.notices, *said))
    return values | {"notices": tuple(dict.fromkeys((*notices, *own_notices(content, setter, notices), *setter.notes)))}


def _days(content: BookContent) -> str:
    """Over how many days a sitting of every study goes, where the player's day is too short for them; else empty."""
    minutes = sum(sheet.step.minutes or 0.0 for sheet in content.sheets)
    day = content.plan.player.minutes
    if day is None or round(minutes) <= day:
        return ""
    # for the translator: both numbers are more than one
    return say(
        "One sitting of every study takes about {minutes} minutes: spread them over {days} days.",
        minutes=round(minutes),
        days=ceil(round(minutes) / day),
    )


def _view(sheet: Sheet, content: BookContent, gallery: Gallery, setter: Typesetter) -> _StudyView:
    variation, what = sheet.variation, say("study {number}", number=sheet.number)
    return _StudyView(
        number=sheet.number,
        title=setter.text(variation.title, what) or say("Study {number}", number=sheet.number),
        work=words.work_text(sheet.step),
        ladder=words.ladder_text(sheet.step),
        purpose=setter.text(strung([variation.purpose, variation.extent]), what),
        cue=setter.text(variation.cue, what),
        spots=words.spots_text([other.step for other in content.sheets], sheet.number - 1, most=1),
        systems=gallery.hang(f"study{sheet.number}", sheet.plate),
    )
