"""What the templates print, worked out: they hold words and layout and decide nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from engrave.model import Variation
from engrave.model.said import say
from engrave.pages import words
from engrave.pages.content import BookContent, Sheet
from engrave.pages.day_strips import lines_of
from engrave.pages.fonts import shortened
from engrave.pages.foot import Foot, neck_room
from engrave.pages.images import Gallery, Picture, impression
from engrave.pages.layout import Arrangement, arrange
from engrave.pages.paper import paper_of, type_scale
from engrave.pages.templates import LOOP, TYPE
from engrave.pages.typeset import Typesetter


@dataclass(frozen=True, slots=True, kw_only=True)
class PageView:
    """One page of a variation."""

    systems: tuple[Picture, ...]
    laid: Arrangement
    """the room round them"""
    foot: Picture


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetView:
    """One variation as its pages print it."""

    number: int
    section: str
    """the heading it stands under"""
    running: str
    """the heading, as short as the running head needs it"""
    opens: bool
    """it is the first under that heading"""
    title: str
    purpose: str
    extent: str
    """the bars it is done in, where they are not all"""
    cue: str
    work: str
    """tempo steps, times through, minutes"""
    spots: str
    """the places that fail first"""
    tempo: str
    times: int
    minutes: str
    pages: tuple[PageView, ...] = ()
    loop: Picture | None = None
    """the notes of the hardest spot, where there is room for them"""


def sheet_views(content: BookContent, setter: Typesetter) -> Iterator[SheetView]:
    """The variations in order, in words; how their pages are shared out is known when these are measured."""
    before = ""
    for sheet in content.sheets:
        view = _in_words(sheet, content, setter, before=before)
        before = view.section
        yield view


def _in_words(sheet: Sheet, content: BookContent, setter: Typesetter, *, before: str) -> SheetView:
    variation, step = sheet.variation, sheet.step
    width, scale = paper_of(content.plan).room[0], type_scale(content.plan)
    what = say("variation {number}", number=sheet.number)
    heading = say("heading of variation {number}", number=sheet.number)
    section = shortened(setter.text(step.section, say("a section’s heading")), TYPE["heading"] * scale, width, "bold")
    return SheetView(
        number=sheet.number,
        section=section,
        running=shortened(section, TYPE["running"] * scale, width * 0.48),
        opens=section != before,
        title=setter.text(variation.title, heading) or say("Variation {number}", number=sheet.number),
        purpose=setter.text(variation.purpose, what),
        extent=setter.text(variation.extent, what),
        cue=setter.text(variation.cue, what),
        work=words.work_text(step),
        spots=words.spots_text([other.step for other in content.sheets], sheet.number - 1),
        tempo=words.tempo_brief(step.beat, step.tempo),
        times=step.times,
        minutes=words.minutes_text(step),
    )


def shared_out(view: SheetView, content: BookContent, gallery: Gallery, head: float) -> SheetView:
    """A variation with its music and the foot of each page dealt to pages, where its head takes `head` mm."""
    width, height = paper_of(content.plan).room
    scale = type_scale(content.plan)
    sheet = content.sheets[view.number - 1]
    # diagrams are drawn on paper of their own size, then enlarged with the type
    foot = Foot(
        variation=sheet.variation,
        step=sheet.step,
        width=width / scale,
        language=content.plan.marks.language,
        turned=content.plan.player.left_handed,
        weeks=lines_of(content.regimen, sheet.step),
    )

    def dealt(more: float) -> tuple[Arrangement, ...]:
        return arrange(
            tuple(system.height for system in sheet.plate.systems),
            room=height,
            head=head,
            ladder=foot.ladder * scale + more,
            neck=neck_room(sheet.variation) * scale if newly_fretted(sheet, content) else 0.0,
            scale=scale,
        )

    arranged, loop = dealt(0.0), None
    if sheet.loop:
        under = dealt(sheet.loop.height + sum(LOOP.values()) * scale)
        if len(under) == len(arranged):
            arranged, (loop,) = under, gallery.hang(f"loop{view.number}", sheet.loop)
    systems = iter(gallery.hang(f"music{view.number}", sheet.plate))
    pages = []
    for number, page in enumerate(arranged, start=1):
        drawn = foot.plate(neck=page.neck, ladder=number == len(arranged), log=page.log)
        (hung,) = gallery.hang(f"foot{view.number}-{number}", impression(drawn), scale=scale)
        here = tuple(next(systems) for _ in range(page.systems))
        pages.append(PageView(systems=here, laid=page, foot=hung))
    return replace(view, pages=tuple(pages), loop=loop)


def newly_fretted(sheet: Sheet, content: BookContent) -> bool:
    """Whether the fingers lie elsewhere than in the line as written and on the page before, or nothing came before."""
    if sheet.number == 1:
        return True
    before = content.sheets[sheet.number - 2].variation
    here = _stopped(sheet.variation)
    return not any(here <= _stopped(other) for other in (content.line, before))


def _stopped(variation: Variation) -> frozenset[tuple[int, int, int]]:
    """String, fret and finger of each stopped note."""
    placed = (note.placement for note in variation.passage.notes if note.placement and not note.tied_back)
    return frozenset((p.string, p.fret, p.finger) for p in placed if p.fret)


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
