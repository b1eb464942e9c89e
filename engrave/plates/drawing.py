"""A variation as a plate: the plain staff, then the guitar layer mark by mark, then millimetres."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType

from engrave.model import Mark, Marks, Passage, Plate, Segment, Staff, System, Variation
from engrave.plates import staff as plain
from engrave.plates.accents import draw_accents
from engrave.plates.breaks import bar_widths, last_width, line_breaks
from engrave.plates.choice import digits_wanted, letters_wanted, strings_wanted
from engrave.plates.curves import draw_arpeggios, draw_slurs, draw_sweeps
from engrave.plates.digits import draw_digits
from engrave.plates.guides import draw_guides, draw_slides, guided
from engrave.plates.mei import shown_accidentals
from engrave.plates.rows import Govern, draw_letters, draw_strings
from engrave.plates.score import Score
from engrave.plates.sheet import Ink, Plain, Sheet
from engrave.plates.signs import (
    Span,
    barre_spans,
    draw_endings,
    draw_number,
    draw_spans,
    position_spans,
    source_spans,
    stroke_spans,
)
from engrave.plates.split import parted
from engrave.plates.tablature import draw_tablature
from engrave.plates.tuplets import draw_tuplets
from engrave.plates.words import in_words

PAD = 0.9
"""white above and below a system's ink, in spaces"""
PREFIX = 4.0
"""width in spaces of the clef and the room round it; a key signature adds about one space a sign"""
METRE = 2.2
"""width in spaces of the metre on the first line"""
NEAREST = 2.3
"""least distance in spaces from the left of a head to that of the next moment's, so that a digit fits between"""
TRIES = 4
"""how often bars whose digits find no good place are given more room"""
WIDEN = 1.3
STAFF = 7.2
"""default height of the staff in mm"""


@dataclass(slots=True)
class _Layer:
    """What the guitar layer prints on every system."""

    score: Score
    digits: frozenset[str]
    upper: frozenset[str]
    """events with letters"""
    glides: dict[str, bool]
    strings: list[Govern]
    positions: list[Span]
    barres: list[Span]
    words: list[Span]


def draw(
    variation: Variation, *, width: float, staff: float = STAFF, marks: Marks | None = None, tab: bool = False
) -> Plate:
    """`variation` engraved in systems `width` mm wide, the staff `staff` mm high from outer line to outer line.

    A bar too long for a line is parted at a beat. Where its notes do not allow that, the staff is made smaller; the
    plate says how high it is.
    """
    space = staff / 4
    passage = variation.passage
    before = _prefix(passage) + METRE
    shown = shown_accidentals(passage)
    widths, least = bar_widths(passage, shown)
    passage, origin = parted(passage, least, width / space - before)
    if passage is not variation.passage:
        shown = shown_accidentals(passage)
        widths, least = bar_widths(passage, shown)
    space = min(space, width / (max(least) + before))
    layer = _layer(replace(variation, passage=passage), marks or Marks())
    outlines: dict[str, tuple[Segment, ...]] = {}
    for _ in range(TRIES):
        sheets = _staves(passage, widths, width / space, outlines, shown)
        for sheet in sheets:
            draw_accents(sheet, layer.score)
            _note_crowds(sheet, layer.score)
            draw_digits(sheet, layer.score, layer.digits)
        crowded = {bar for sheet in sheets for bar in sheet.crowded}
        if not crowded:
            break
        widths = [w * WIDEN if i in crowded else w for i, w in enumerate(widths)]
    for sheet in sheets:
        _lay(sheet, layer, len(variation.instrument.strings) if tab else 0)
    systems = tuple(_finished(sheet, layer.score, origin, width, space) for sheet in sheets)
    used = {mark.outline for system in systems for mark in system.over}
    # asked of the plain staves themselves: to lower each of their marks into place was a tenth of drawing
    used |= {mark.outline for system in systems if system.staff for mark in system.staff.marks}
    return Plate(
        staff=4 * space,
        systems=systems,
        outlines=MappingProxyType({key: path for key, path in sorted(outlines.items()) if key in used}),
    )


def _note_crowds(sheet: Sheet, score: Score) -> None:
    """Note the bars in which heads of neighbouring moments, grace notes apart, stand closer than NEAREST."""
    before: tuple[Fraction, float] | None = None
    for event in score.on(sheet.first, sheet.last):
        lefts = [sheet.heads[n.id].left for n in event.notes if n.id in sheet.heads]
        if event.grace or not lefts:
            continue
        if before is not None and event.onset > before[0] and min(lefts) - before[1] < NEAREST:
            sheet.crowded.add(event.bar)
        before = event.onset, min(lefts)


def _prefix(passage: Passage) -> float:
    return PREFIX + max(abs(bar.key.fifths) for bar in passage.bars)


def _staves(
    passage: Passage,
    widths: list[float],
    room: float,
    outlines: dict[str, tuple[Segment, ...]],
    shown: Mapping[str, int],
) -> list[Sheet]:
    """The plain staff in evenly filled lines `room` spaces wide, a short last line set no wider than the others."""
    full, first = room - _prefix(passage), room - _prefix(passage) - METRE
    breaks = line_breaks(widths, room=full, first=first)
    wanted = last_width(widths, breaks, room=full, first=first)
    short = (full if breaks else first) - wanted
    return plain.engrave(
        passage, breaks=breaks, width=room, last=room - max(short, 0.0), outlines=outlines, shown=shown
    )


def _layer(variation: Variation, marks: Marks) -> _Layer:
    score = Score(variation.passage, marks)
    letters, sim = letters_wanted(score, variation)
    strokes = stroke_spans(score, named=variation.study.stroke not in ("as given", "free"))
    return _Layer(
        score=score,
        digits=digits_wanted(score),
        upper=letters,
        glides=guided(score),
        strings=strings_wanted(score, variation),
        positions=position_spans(score) if marks.positions else [],
        barres=barre_spans(score),
        words=source_spans(score) + strokes + sim,
    )


def _lay(sheet: Sheet, layer: _Layer, strings: int) -> None:
    """The guitar layer of one system after its digits, from the heads outwards."""
    score = layer.score
    draw_arpeggios(sheet, score)
    draw_sweeps(sheet, score)
    draw_tuplets(sheet, score)
    draw_slides(sheet, score)
    draw_guides(sheet, layer.glides)
    draw_slurs(sheet, score)
    draw_letters(sheet, score, layer.upper, below=False)
    draw_letters(sheet, score, layer.upper, below=True)
    draw_strings(sheet, score, layer.strings, below=not score.several, voice_below=False)
    draw_strings(sheet, score, layer.strings, below=True, voice_below=True)
    draw_spans(sheet, score, layer.positions + layer.barres)
    draw_spans(sheet, score, layer.words)
    draw_endings(sheet, score)
    draw_number(sheet, score)
    if strings:
        draw_tablature(sheet, score, strings)


def _finished(sheet: Sheet, score: Score, origin: tuple[int, ...], width: float, space: float) -> System:
    """The sheet in millimetres, as high as its ink."""
    base = sheet.base
    assert base is not None
    over = sheet.ink[len(base.ink) :]
    boxes = [box for ink in over for box in ink.boxes]
    top = min((b[1] for b in boxes), default=0.0)
    bottom = max((b[3] for b in boxes), default=0.0)
    top, bottom = min(top, base.top) - PAD, max(bottom, base.bottom) + PAD
    return System(
        width=width,
        height=(bottom - top) * space,
        first=origin[sheet.first],
        last=origin[sheet.last],
        over=tuple(_mark(ink, space, -top) for ink in over),
        staff=_staff(base, space),
        down=-top * space,
        words=in_words(score, sheet.first, sheet.last),
    )


@lru_cache(maxsize=200)
def _staff(base: Plain, space: float) -> Staff:
    """A plain staff in millimetres: the same object for the same staff, which is printed from one form."""
    marks = tuple(_mark(ink, space, 0.0) for ink in base.ink)
    return Staff(marks=marks, top=base.top * space, bottom=base.bottom * space)


def _mark(ink: Ink, space: float, down: float) -> Mark:
    if ink.outline:
        return Mark(
            role=ink.role,
            owner=ink.owner,
            outline=ink.outline,
            x=ink.x * space,
            y=(ink.y + down) * space,
            scale=ink.scale * space,
            text=ink.text,
        )
    lift = down * space
    path = tuple(
        # most segments are of one point; taken by itself, it needs no loop
        (kind, (points[0] * space, points[1] * space + lift))
        if len(points) == 2
        else (kind, tuple(v * space + lift if i % 2 else v * space for i, v in enumerate(points)))
        for kind, points in ink.path
    )
    return Mark(
        role=ink.role,
        owner=ink.owner,
        path=path,
        pen=ink.pen * space,
        dash=tuple(d * space for d in ink.dash),
        text=ink.text,
    )
