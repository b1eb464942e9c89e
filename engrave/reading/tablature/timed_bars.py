"""Bars of tablature with their time worked out: lengths, metres, keys, and whether they add up."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from engrave.model import Bar, Key, Metre, Notice
from engrave.model.errors import beat_text
from engrave.model.said import Said, say, say_count
from engrave.model.spelling import likely_key
from engrave.reading.tablature.durations import BarFrame, TimedStroke, by_columns, by_row, by_spacing
from engrave.reading.tablature.page import Page
from engrave.reading.tablature.typed import Cell, Findings, TabBar

_COMMON = Metre(beats=(4,), unit=4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Timed:
    """A bar with its time worked out."""

    typed: TabBar
    bar: Bar
    strokes: list[TimedStroke]


def work_out(page: Page, findings: Findings) -> list[Timed]:
    """Every bar with its length and the values of what stands in it; what does not fit goes to `findings`."""
    key = _key(page)
    if all(bar.terms.metre is None for bar in page.bars):
        page.notices.append(Notice(text=say("no metre is given; read in 4/4")))
    played: list[list[TimedStroke]] = []
    tuplet = 1
    for index, typed in enumerate(page.bars):
        strokes = _strokes(typed, page.header.pickup if index == 0 else None, tuplet, findings)
        if strokes is not None:
            played.append(strokes)
            tuplet = 1 + max((t.id for s in strokes for p in s.pieces for t in p.tuplets), default=tuplet - 1)
    if len(played) < len(page.bars):
        return []
    metres = [typed.terms.metre or _COMMON for typed in page.bars]
    lengths = [
        sum((stroke.length for stroke in strokes), Fraction(0)) or metre.length
        for strokes, metre in zip(played, metres, strict=True)
    ]
    _check_lengths(page, lengths, metres, findings)
    timed: list[Timed] = []
    onset = Fraction(0)
    pickup = bool(lengths) and lengths[0] < metres[0].length and len(lengths) > 1
    for index, (typed, strokes) in enumerate(zip(page.bars, played, strict=True)):
        full, length = metres[index].length, lengths[index]
        completes = index > 0 and length < full and lengths[index - 1] + length == full
        first_offset = full - length if index == 0 else Fraction(0)
        bar = Bar(
            label=str(index + (not pickup)),
            onset=onset,
            length=length,
            metre=metres[index],
            key=typed.terms.key or key,
            offset=lengths[index - 1] if completes else first_offset,
            repeat_start=typed.repeat_start,
            repeat_end=2 if typed.repeat_end else 0,
            barline=_barline(page, index),
        )
        timed.append(Timed(typed=typed, bar=bar, strokes=strokes))
        onset += length
    return timed


def _barline(page: Page, index: int) -> str:
    if index == len(page.bars) - 1:
        return "final"
    return "double" if page.bars[index].double and not page.bars[index].repeat_end else "single"


def _strokes(typed: TabBar, pickup: Fraction | None, tuplet: int, findings: Findings) -> list[TimedStroke] | None:
    """What is played in one bar, timed by its row, by the value of a column or by the spacing."""
    metre = typed.terms.metre or _COMMON
    length = pickup or metre.length
    if length > metre.length:
        findings.fault(f"the pickup lasts {beat_text(length)} quarters, a bar of {metre} {beat_text(metre.length)}")
        return None
    frame = BarFrame(metre=metre, length=length, offset=metre.length - length, tuplet=tuplet)
    if typed.values is None:
        if typed.terms.column:
            return by_columns(typed, frame, typed.terms.column, findings)
        return by_spacing(typed, frame, findings)
    strokes = by_row(typed, findings, tuplet)
    if strokes is not None and pickup and sum(s.length for s in strokes) != pickup:
        findings.fault(f"the first bar does not last {beat_text(pickup)} quarters, as its pickup says", "", typed.line)
    return strokes


def _check_lengths(page: Page, lengths: list[Fraction], metres: list[Metre], findings: Findings) -> None:
    """A bar is full, or the pickup, or with its other half (at a repeat, at the end) full."""
    last = len(lengths) - 1
    for index, (typed, length, metre) in enumerate(zip(page.bars, lengths, metres, strict=True)):
        full = metre.length
        if length == full or (index == 0 and last and length < full):
            continue
        before = lengths[index - 1] if index else Fraction(0)
        after = lengths[index + 1] if index < last else Fraction(0)
        ends = typed.repeat_end or index == last
        begins = typed.repeat_start or (index > 0 and page.bars[index - 1].repeat_end)
        if (ends and full - length in (lengths[0], after)) or (begins and before + length == full):
            continue
        where = f"bar {index + (not (last and lengths[0] < metres[0].length))}"
        hint = "check the rhythm row"
        findings.fault(
            f"the values of {where} add up to {beat_text(length)} quarters, {metre} has {beat_text(full)}",
            hint,
            typed.line,
        )


def _key(page: Page) -> Key:
    """The key where the header gives none: the signature with the fewest accidentals."""
    if any(bar.terms.key for bar in page.bars):
        return Key()
    heard = [midi_of(page, cell) for bar in page.bars for column in bar.columns for cell in column.cells]
    key = likely_key(heard)
    if key.fifths:
        page.notices.append(Notice(text=_guessed(key)))
    return key


def _guessed(key: Key) -> Said:
    """With which signs music is written that names no key."""
    if key.fifths > 0:
        return say_count(
            "no key is given; written with {n} sharp, which needs the fewest accidentals",
            "no key is given; written with {n} sharps, which needs the fewest accidentals",
            key.fifths,
        )
    return say_count(
        "no key is given; written with {n} flat, which needs the fewest accidentals",
        "no key is given; written with {n} flats, which needs the fewest accidentals",
        -key.fifths,
    )


def midi_of(page: Page, cell: Cell) -> int:
    """MIDI note number of a cell; a damped string counts as open."""
    return page.instrument.midi(cell.string, cell.fret or 0)
