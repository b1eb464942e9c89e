"""What the templates print, worked out: they hold words and layout and decide nothing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from engrave.model import Plate, Variation
from engrave.pages import words
from engrave.pages.content import BookContent, Sheet
from engrave.pages.fonts import lines, shortened
from engrave.pages.layout import BAND, Arrangement, arrange
from engrave.pages.neck import neck, neck_height
from engrave.pages.paper import paper_of
from engrave.pages.picture import Gallery
from engrave.pages.typeset import Typesetter

BODY, TITLE = 10.5, 17.0
"""sizes of type in points"""
_PT = 25.4 / 72


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """An image and its words."""

    address: str
    alt: str
    width: float
    height: float
    """mm"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """One finger's part of the work."""

    finger: str
    count: int
    width: float
    """length of its bar in mm"""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetView:
    """One variation as its page prints it."""

    number: int
    section: str
    """heading, where the variation is the first of its section"""
    running: str
    """the section as the running head prints it"""
    title: str
    purpose: str
    cue: str
    reason: str
    systems: tuple[Picture, ...]
    neck: Picture | None
    arrangement: Arrangement
    plucking: tuple[Share, ...]
    fretting: tuple[Share, ...]
    plucking_facts: tuple[str, ...]
    fretting_facts: tuple[str, ...]
    beat: str
    tempo: tuple[int, ...]
    tempo_text: str
    times: int
    boxes: int
    """boxes a tempo step has for its times through; 0 where they are too many to tick"""
    minutes: str
    house: bool
    notices: tuple[str, ...]


BAR = 34.0
"""longest bar of a share in mm"""
MOST_BOXES = 6


def sheet_views(content: BookContent, gallery: Gallery, setter: Typesetter) -> tuple[SheetView, ...]:
    """The variation pages in order."""
    made, before = [], None
    for sheet in content.sheets:
        made.append(_sheet_view(sheet, content, gallery, setter, first=sheet.step.section != before))
        before = sheet.step.section
    return tuple(made)


def _sheet_view(sheet: Sheet, content: BookContent, gallery: Gallery, setter: Typesetter, *, first: bool) -> SheetView:
    variation, step, figures = sheet.variation, sheet.step, sheet.variation.figures
    little = content.plan.marks.little
    width, height = paper_of(content.plan).room
    title = setter.text(variation.title, f"heading of variation {sheet.number}") or f"Variation {sheet.number}"
    plucking = shares(((words.finger_name(f, little), n) for f, n in figures.strokes))
    fretting = shares(((str(f), n) for f, n in figures.frettings))
    facts = words.plucking_facts(figures, little), words.fretting_facts(figures)
    notices = tuple(setter.text(str(n), f"a notice of variation {sheet.number}") for n in variation.notices)
    section = setter.text(step.section, "a section's heading")
    arrangement = arrange(
        sheet.plate,
        room=height,
        head=_head_height(title, variation, notices, width, section if first else ""),
        foot=_foot_height(plucking, fretting, facts, len(step.tempo), width),
        neck=neck_height(len(variation.instrument.strings)),
    )
    boxes = step.times if step.times <= MOST_BOXES else 0
    return SheetView(
        number=sheet.number,
        section=section if first else "",
        running=shortened(section, 9, width / 2 - 4),
        title=title,
        purpose=variation.purpose,
        cue=variation.cue,
        reason=step.reason,
        systems=plate_pictures(sheet.plate, f"plate{sheet.number}", gallery),
        neck=neck_picture(variation, width, f"neck{sheet.number}", gallery) if arrangement.neck else None,
        arrangement=arrangement,
        plucking=plucking,
        fretting=fretting,
        plucking_facts=facts[0],
        fretting_facts=facts[1],
        beat=words.beat_sign(step.beat),
        tempo=step.tempo,
        tempo_text=words.tempo_text(step),
        times=step.times,
        boxes=boxes,
        minutes="" if step.minutes is None else f"{max(1, round(step.minutes))}",
        house=step.house,
        notices=notices,
    )


def shares(counts: Iterable[tuple[str, int]]) -> tuple[Share, ...]:
    """Bars for counts, the longest BAR mm."""
    rows = [(finger, number) for finger, number in counts if number]
    most = max((number for _, number in rows), default=1)
    return tuple(Share(finger=finger, count=n, width=round(BAR * n / most, 2)) for finger, n in rows)


def plate_pictures(plate: Plate, name: str, gallery: Gallery) -> tuple[Picture, ...]:
    """One picture a system, so that a page can break between them."""
    return tuple(
        Picture(
            address=gallery.hang(f"plate:{name}-{index}", system, plate.outlines),
            alt=system.words or "One line of music.",
            width=system.width,
            height=system.height,
        )
        for index, system in enumerate(plate.systems, start=1)
    )


def neck_picture(variation: Variation, width: float, name: str, gallery: Gallery) -> Picture:
    """The neck with the variation's placements."""
    system, drawing = neck(variation, width)
    address = gallery.hang(f"plate:{name}", system, drawing.outlines)
    return Picture(address=address, alt=system.words, width=system.width, height=system.height)


def _head_height(title: str, variation: Variation, notices: tuple[str, ...], width: float, section: str) -> float:
    """Height in mm of everything above the music."""
    body, small = BODY * 1.36 * _PT, 9 * 1.36 * _PT
    height = lines(title, TITLE, width - 13, "semibold") * TITLE * 1.2 * _PT + 5
    height += (lines(variation.purpose, BODY, width) + lines(variation.cue, BODY, width)) * body + 2
    height += sum(lines(text, 9, width) for text in notices) * small + (1 if notices else 0)
    return height + (7 if section else 0)


def _foot_height(
    plucking: tuple[Share, ...],
    fretting: tuple[Share, ...],
    facts: tuple[tuple[str, ...], ...],
    steps: int,
    width: float,
) -> float:
    """Height in mm of the figures: the tallest of three columns."""
    column, row, body = (width - 2 * BAND) / 3, 4.6, 9 * 1.36 * _PT
    tall = [
        len(bars) * row + sum(lines(fact, 9, column) for fact in said) * body + 1
        for bars, said in zip((plucking, fretting), facts, strict=True)
    ]
    return 8 + max(*tall, steps * 6.2 + 12)


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading of the index and the variations under it."""

    title: str
    sheets: tuple[SheetView, ...]


def sections(views: tuple[SheetView, ...]) -> tuple[Section, ...]:
    """The index: variations in practice order under the headings they stand beneath."""
    made: list[Section] = []
    for view in views:
        if view.section or not made:
            made.append(Section(title=view.section or view.running, sheets=(view,)))
        else:
            made[-1] = Section(title=made[-1].title, sheets=(*made[-1].sheets, view))
    return tuple(made)
