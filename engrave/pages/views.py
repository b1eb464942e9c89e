"""What the templates print, worked out: they hold words and layout and decide nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from engrave.pages import words
from engrave.pages.content import BookContent, Sheet
from engrave.pages.days import lines_of
from engrave.pages.fonts import shortened
from engrave.pages.foot import Foot, neck_room
from engrave.pages.images import Gallery, Picture, impression
from engrave.pages.layout import Arrangement, arrange
from engrave.pages.loops import loop_height
from engrave.pages.paper import paper_of, type_scale
from engrave.pages.templates import TYPE
from engrave.pages.typeset import Typesetter


@dataclass(frozen=True, slots=True, kw_only=True)
class PageView:
    """One page of a variation."""

    systems: tuple[Picture, ...]
    gap: float
    """mm between systems"""
    lead: float
    """mm between the head and the music"""
    push: float
    """mm between the music and the foot"""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetView:
    """One variation as its pages print it."""

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
    tempo: str
    times: int
    minutes: str
    pages: tuple[PageView, ...] = ()
    foot: Picture | None = None
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
    variation, step, figures = sheet.variation, sheet.step, sheet.variation.figures
    little = content.plan.marks.little
    width, scale = paper_of(content.plan).room[0], type_scale(content.plan)
    what = f"variation {sheet.number}"
    section = shortened(setter.text(step.section, "a section's heading"), TYPE["heading"] * scale, width, "bold")
    return SheetView(
        number=sheet.number,
        section=section,
        running=shortened(section, TYPE["running"] * scale, width * 0.48),
        opens=section != before,
        title=setter.text(variation.title, f"heading of {what}") or f"Variation {sheet.number}",
        purpose=setter.text(variation.purpose, what),
        cue=setter.text(variation.cue, what),
        work=words.work_text(step),
        reason=setter.text(step.reason, what),
        spots=" ".join(words.spot_text(spot) for spot in step.spots),
        asked=setter.text(step.study.asked, what),
        facts=" ".join((*words.plucking_facts(figures, little), *words.fretting_facts(figures))),
        notices=setter.notices((*step.notices, *variation.notices), what),
        tempo=words.tempo_brief(step.beat, step.tempo),
        times=step.times,
        minutes=words.minutes_text(step),
    )


def shared_out(
    view: SheetView, sheet: Sheet, content: BookContent, gallery: Gallery, heights: Sequence[float]
) -> SheetView:
    """A variation with its music and its foot dealt to pages, where its head and its facts take these heights in mm."""
    width, height = paper_of(content.plan).room
    scale = type_scale(content.plan)
    head, facts = heights
    # diagrams are drawn on paper of their own size, then enlarged with the type
    foot = Foot(
        variation=sheet.variation,
        step=sheet.step,
        little=content.plan.marks.little,
        width=width / scale,
        weeks=lines_of(content, sheet),
    )

    def dealt(more: float) -> tuple[Arrangement, ...]:
        return arrange(
            tuple(system.height for system in sheet.plate.systems),
            room=height,
            head=head,
            foot=facts + foot.height * scale + more,
            neck=neck_room(sheet.variation) * scale,
            scale=scale,
        )

    plain, arranged = dealt(0.0), dealt(loop_height(sheet, scale))
    looped = sheet.loop is not None and len(arranged) == len(plain)
    arranged = arranged if looped else plain
    drawn = foot.plate(neck=arranged[-1].neck, log=arranged[-1].log)
    systems = iter(gallery.hang(f"music{view.number}", sheet.plate))
    pages = tuple(
        PageView(
            systems=tuple(next(systems) for _ in range(page.systems)), gap=page.gap, lead=page.lead, push=page.push
        )
        for page in arranged
    )
    hung = gallery.hang(f"foot{view.number}", impression(drawn), scale=scale)
    loop = gallery.hang(f"loop{view.number}", sheet.loop)[0] if looped and sheet.loop else None
    return replace(view, pages=pages, foot=hung[0], loop=loop)


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
