"""What the templates print, worked out: they hold words and layout and decide nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate

from engrave.pages import words
from engrave.pages.content import BookContent, Sheet
from engrave.pages.fonts import lines, shortened
from engrave.pages.foot import Foot, neck_room
from engrave.pages.layout import Arrangement, arrange
from engrave.pages.paper import paper_of, type_scale
from engrave.pages.picture import Gallery, Impression, Picture, impression
from engrave.pages.typeset import Typesetter

BODY, SMALL, TITLE, SECTION, RUNNING = 10.5, 9.0, 17.0, 9.5, 9.0
"""sizes of type in points, as in the style sheet"""
LEADING, TIGHT = 1.36, 1.2
"""line heights of text and of headings, as in the style sheet"""
NUMBER = 12
"""mm that the number of a variation takes before its title, as in the style sheet"""
PT = 25.4 / 72
"""mm in a point"""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetView:
    """One variation as its page prints it."""

    number: int
    section: str
    """the heading it stands under"""
    running: str
    """the same, as short as the running head needs it"""
    opens: bool
    """it is the first under that heading"""
    title: str
    purpose: str
    cue: str
    work: str
    """tempo steps, times through, minutes"""
    reason: str
    spots: str
    """the places that fail first"""
    asked: str
    """the settings, as a plan or a command line names them"""
    facts: str
    notices: tuple[str, ...]
    music: Impression
    pages: tuple[Arrangement, ...]
    """how its pages are shared out"""
    foot: Impression
    foot_scale: float
    head: float
    """height in mm of what stands above the music"""
    facts_height: float
    tempo: str
    times: int
    minutes: str


Hung = tuple[SheetView, tuple[tuple[Arrangement, tuple[Picture, ...]], ...], Picture]
"""a variation with the pictures of each of its pages, and the one at its foot"""


def hang(view: SheetView, gallery: Gallery) -> Hung:
    """Hang the pictures of a variation."""
    systems = gallery.hang("music", view.music)
    starts = list(accumulate((page.systems for page in view.pages), initial=0))
    pages = tuple((page, systems[at : at + page.systems]) for page, at in zip(view.pages, starts, strict=False))
    return view, pages, gallery.hang("foot", view.foot, scale=view.foot_scale)[0]


def sheet_views(content: BookContent, setter: Typesetter) -> Iterator[SheetView]:
    """The variation pages in order, each when it is asked for."""
    before = ""
    for sheet in content.sheets:
        view = _sheet_view(sheet, content, setter, before=before)
        before = view.section
        yield view


def _sheet_view(sheet: Sheet, content: BookContent, setter: Typesetter, *, before: str) -> SheetView:
    variation, step, figures = sheet.variation, sheet.step, sheet.variation.figures
    little = content.plan.marks.little
    width, height = paper_of(content.plan).room
    scale = type_scale(content.plan)
    what = f"variation {sheet.number}"
    section = shortened(setter.text(step.section, "a section's heading"), SECTION * scale, width, "semibold")
    title = setter.text(variation.title, f"heading of {what}") or f"Variation {sheet.number}"
    said = {
        "purpose": setter.text(variation.purpose, what),
        "cue": setter.text(variation.cue, what),
        "work": words.work_text(step),
        "reason": setter.text(step.reason, what),
        "spots": " ".join(words.spot_text(spot) for spot in step.spots),
        "asked": setter.text(step.study.asked, what),
        "facts": " ".join((*words.plucking_facts(figures, little), *words.fretting_facts(figures))),
    }
    notices = setter.notices((*step.notices, *variation.notices), what)
    # words are measured on paper of their own size, then enlarged with it
    head = _head_height(title, said, notices, width / scale, opens=section != before) * scale
    facts_height = (lines(said["facts"], SMALL, width / scale) * SMALL * LEADING * PT + 2) * scale
    foot = Foot(variation=variation, step=step, little=little, width=width / scale)
    arranged = arrange(
        tuple(system.height for system in sheet.plate.systems),
        room=height,
        head=head,
        foot=facts_height + foot.height * scale,
        neck=neck_room(variation) * scale,
        scale=scale,
    )
    drawn = foot.plate(neck=arranged[-1].neck, log=arranged[-1].log)
    return SheetView(
        number=sheet.number,
        section=section,
        running=shortened(section, RUNNING * scale, width * 0.48),
        opens=section != before,
        title=title,
        **said,
        notices=notices,
        music=sheet.plate,
        pages=arranged,
        foot=impression(drawn),
        foot_scale=scale,
        head=round(head + arranged[0].lead, 3),
        facts_height=round(facts_height, 3),
        tempo=words.tempo_brief(step.beat, step.tempo),
        times=step.times,
        minutes=words.minutes_text(step),
    )


def _head_height(title: str, said: dict[str, str], notices: tuple[str, ...], width: float, *, opens: bool) -> float:
    """Height in mm of everything above the music."""
    height = lines(title, TITLE, width - NUMBER, "semibold") * TITLE * TIGHT * PT + 2
    height += (SECTION * TIGHT * PT + 2) if opens else 0
    height += (lines(said["purpose"], BODY, width) + lines(said["work"], BODY, width)) * BODY * LEADING * PT
    height += lines(said["cue"], BODY, width, "italic") * BODY * LEADING * PT
    small = sum(lines(text, SMALL, width) for text in (said["reason"], said["spots"], said["asked"], *notices))
    return height + small * SMALL * LEADING * PT + 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading of the index and the variations under it."""

    title: str
    places: str
    """numbers of its variations, e.g. 3–20"""
    sheets: tuple[SheetView, ...]


def sections(views: tuple[SheetView, ...]) -> tuple[Section, ...]:
    """The index: variations in practice order under the headings they stand beneath."""
    starts = [index for index, view in enumerate(views) if view.opens]
    ends = [*starts[1:], len(views)]
    return tuple(
        Section(
            title=views[start].section,
            places=f"{start + 1}–{end}" if end > start + 1 else str(end),
            sheets=views[start:end],
        )
        for start, end in zip(starts, ends, strict=True)
    )
