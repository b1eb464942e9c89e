"""A variation as a plate: the plain staff, then the guitar layer mark by mark, then millimetres."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import TypeAlias

from engrave.languages import letters_plain, told
from engrave.model import Mark, Marks, Passage, Plate, Segment, Staff, System, Variation
from engrave.plates import staff as plain
from engrave.plates.accents import draw_accents
from engrave.plates.breaks import bar_widths, last_width, line_breaks
from engrave.plates.choice import digits_wanted, letters_wanted, strings_wanted
from engrave.plates.curves import draw_arpeggios, draw_slurs, draw_sweeps
from engrave.plates.description import in_words
from engrave.plates.digits import draw_digits
from engrave.plates.draft import Draft, Ink
from engrave.plates.guides import draw_guides, draw_slides, guided
from engrave.plates.mei import shown_accidentals
from engrave.plates.over_staff import (
    HeldSign,
    barre_spans,
    draw_endings,
    draw_number,
    draw_spans,
    position_spans,
    source_spans,
    stroke_spans,
)
from engrave.plates.rows import draw_letters
from engrave.plates.score import IndexedScore
from engrave.plates.split import parted
from engrave.plates.string_circles import Govern, draw_strings
from engrave.plates.tablature import draw_tablature
from engrave.plates.tuplets import draw_tuplets

PAD = 0.9
"""white above and below a system's ink, in spaces"""
PREFIX = 4.0
"""width in spaces of the clef and the room round it; a key signature adds about one space a sign"""
METRE = 2.2
"""width in spaces of the metre on the first line"""
NEAREST = 2.3
"""least distance in spaces from the left of a head to that of the next onset group's, so that a digit fits between"""
TRIES = 4
"""how often bars whose digits find no good place are given more room"""
WIDEN = 1.3
CLOSE = 0.82
"""share of its comfortable width that a bar keeps where little room is asked for, its heads and digits side by side"""
CHORD = 2
"""notes struck together with which bars can still stand closer"""
STAFF = 7.2
"""default height of the staff in mm"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Music:
    """A passage as it is set: bars too long for a line in parts."""

    passage: Passage
    origin: tuple[int, ...]
    """index in the passage as it came of the bar that each bar is or is part of"""
    shown: Mapping[str, int]
    """its accidentals (see mei)"""
    widths: list[float]
    """comfortable width of each bar in spaces"""
    space: float
    """mm"""


@dataclass(slots=True)
class _Layer:
    """What the guitar layer prints on every system."""

    score: IndexedScore
    digits: frozenset[str]
    upper: frozenset[str]
    """events with letters"""
    glides: dict[str, bool]
    strings: list[Govern]
    positions: list[HeldSign]
    barres: list[HeldSign]
    words: list[HeldSign]


def draw(
    variation: Variation,
    *,
    width: float,
    staff: float = STAFF,
    marks: Marks | None = None,
    tab: bool = False,
    close: bool = False,
) -> Plate:
    """`variation` engraved in systems `width` mm wide, the staff `staff` mm high from outer line to outer line.

    `close`: more bars on a line than is comfortable, no closer than they can be read.

    A bar too long for a line is parted at a beat. Where its notes do not allow that, the staff is made smaller; the
    plate says how high it is.
    """
    music = _music(variation.passage, _needs(variation.passage), width, staff, close=close)
    space, widths = music.space, music.widths
    layer = _layer(replace(variation, passage=music.passage), marks or Marks())
    outlines: dict[str, tuple[Segment, ...]] = {}
    for _ in range(TRIES):
        sheets = _staves(music, widths, width / space, outlines)
        for draft in sheets:
            draw_accents(draft, layer.score)
            _note_crowds(draft, layer.score)
            draw_digits(draft, layer.score, layer.digits)
        crowded = {bar for draft in sheets for bar in draft.crowded}
        if not crowded:
            break
        widths = [w * WIDEN if i in crowded else w for i, w in enumerate(widths)]
    for draft in sheets:
        _lay(draft, layer, len(variation.instrument.strings) if tab else 0)
    systems = tuple(_finished(draft, layer.score, music.origin, width, space) for draft in sheets)
    used = {mark.outline for system in systems for mark in system.over}
    # asked of the plain staves themselves: to lower each of their marks into place was a tenth of drawing
    used |= {mark.outline for system in systems if system.staff for mark in system.staff.marks}
    return Plate(
        staff=4 * space,
        systems=systems,
        outlines=MappingProxyType({key: path for key, path in sorted(outlines.items()) if key in used}),
    )


def lines(variation: Variation, *, width: float, staves: Iterable[float]) -> Iterator[int]:
    """How many systems `draw` makes of a variation on each staff, where digits find their places without more room."""
    needs = _needs(variation.passage)
    for staff in staves:
        music = _music(variation.passage, needs, width, staff)
        full, first = _rooms(music.passage, width / music.space)
        yield len(line_breaks(music.widths, room=full, first=first)) + 1


_Needs: TypeAlias = tuple[Mapping[str, int], list[float], list[float]]
"""accidentals of a passage, and of each bar the comfortable width and the least"""


def _needs(passage: Passage) -> _Needs:
    shown = shown_accidentals(passage)
    return shown, *bar_widths(passage, shown)


def _music(passage: Passage, needs: _Needs, width: float, staff: float, *, close: bool = False) -> _Music:
    """A passage that needs as much, as it is set on lines `width` mm wide."""
    space = staff / 4
    before = _prefix(passage) + METRE
    whole, (passage, origin) = passage, parted(passage, needs[2], width / space - before)
    shown, widths, least = needs if passage is whole else _needs(passage)
    # digits of chords need all the room there is
    if close and all(len(event.notes) <= CHORD for event in passage.events):
        widths = [max(CLOSE * comfortable, needed) for comfortable, needed in zip(widths, least, strict=True)]
    space = min(space, width / (max(least) + before))
    return _Music(passage=passage, origin=origin, shown=shown, widths=widths, space=space)


def _note_crowds(draft: Draft, score: IndexedScore) -> None:
    """Note the bars in which heads of neighbouring onset groups, grace notes apart, stand closer than NEAREST."""
    before: tuple[Fraction, float] | None = None
    for event in score.on(draft.first, draft.last):
        if event.grace or not draft.heads_of(event):
            continue
        left = draft.left_of(event)
        if before is not None and event.onset > before[0] and left - before[1] < NEAREST:
            draft.crowded.add(event.bar)
        before = event.onset, left


def _prefix(passage: Passage) -> float:
    return PREFIX + max(abs(bar.key.fifths) for bar in passage.bars)


def _rooms(passage: Passage, width: float) -> tuple[float, float]:
    """What clef, key and metre leave of a line `width` spaces wide, and of the first one."""
    full = width - _prefix(passage)
    return full, full - METRE


def _staves(music: _Music, widths: list[float], room: float, outlines: dict[str, tuple[Segment, ...]]) -> list[Draft]:
    """The plain staff in evenly filled lines `room` spaces wide, a short last line set no wider than the others."""
    full, first = _rooms(music.passage, room)
    breaks = line_breaks(widths, room=full, first=first)
    wanted = last_width(widths, breaks, room=full, first=first)
    short = (full if breaks else first) - wanted
    return plain.engrave(
        music.passage, breaks=breaks, width=room, last=room - max(short, 0.0), outlines=outlines, shown=music.shown
    )


def _layer(variation: Variation, marks: Marks) -> _Layer:
    score = IndexedScore(variation.passage, marks)
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


def _lay(draft: Draft, layer: _Layer, strings: int) -> None:
    """The guitar layer of one system after its digits, from the heads outwards."""
    score = layer.score
    draw_arpeggios(draft, score)
    draw_sweeps(draft, score)
    draw_tuplets(draft, score)
    draw_slides(draft, score)
    draw_guides(draft, layer.glides)
    draw_slurs(draft, score)
    draw_letters(draft, score, layer.upper, below=False)
    draw_letters(draft, score, layer.upper, below=True)
    draw_strings(draft, score, layer.strings, below=not score.several, voice_below=False)
    draw_strings(draft, score, layer.strings, below=True, voice_below=True)
    draw_spans(draft, score, layer.positions + layer.barres)
    draw_spans(draft, score, layer.words)
    draw_endings(draft, score)
    draw_number(draft, score)
    if strings:
        draw_tablature(draft, score, strings)


def _finished(draft: Draft, score: IndexedScore, origin: tuple[int, ...], width: float, space: float) -> System:
    """The draft in millimetres, as high as its ink."""
    base = draft.base
    assert base is not None
    over = draft.ink[len(base.ink) :]
    top, bottom = _edges(draft)
    top, bottom = top - PAD, bottom + PAD
    return System(
        width=width,
        height=(bottom - top) * space,
        first=origin[draft.first],
        last=origin[draft.last],
        over=tuple(_mark(ink, space, -top) for ink in over),
        staff=_staff(base, space),
        down=-top * space,
        # said at once: as sentences they are a tree for every note, a tenth of what a long book holds
        words=letters_plain(told(in_words(score, draft.first, draft.last), score.marks.language)),
    )


def _edges(draft: Draft) -> tuple[float, float]:
    """Top and bottom of a system's ink, in spaces."""
    boxes = [box for ink in draft.ink for box in ink.boxes]
    return min(0.0, *(box[1] for box in boxes)), max(4.0, *(box[3] for box in boxes))


@lru_cache(maxsize=48)
def _staff(base: Draft, space: float) -> Staff:
    """A plain staff in millimetres: the same object for the same staff, which is printed from one form."""
    top, bottom = _edges(base)
    return Staff(marks=tuple(_mark(ink, space, 0.0) for ink in base.ink), top=top * space, bottom=bottom * space)


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
