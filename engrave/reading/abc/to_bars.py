"""The voices of an ABC tune as bars of events."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import count

from engrave.model import MARKS, Given, Note, Pitch, Slur, Value
from engrave.model.said import say
from engrave.reading.abc.tune import AbcBar, Scan, TuneHead, TuneNote
from engrave.reading.note_values import Chain, counted, written
from engrave.reading.source_bars import SourceBar, SourceEvent


@dataclass(slots=True)
class _Run:
    """What runs on from bar to bar in one voice."""

    scan: Scan
    ids: Iterator[int]
    slurs: list[Slur]
    """those that are closed, of all voices"""
    opened: list[str] = field(default_factory=list)
    """heads where slurs are open"""
    tied: dict[int, dict[Pitch, TuneHead]] = field(default_factory=dict)
    """lane → pitch → head that is tied on"""


def bars_of(scan: Scan, octaves: dict[str, int]) -> tuple[list[SourceBar], list[Slur]]:
    """The bars with all voices, each moved by its octaves, and the slurs; the first voice is the uppermost."""
    slurs: list[Slur] = []
    ids = count(1)
    bars = _empty_bars(scan)
    number = 1
    for voice in scan.voices.values():
        run = _Run(scan, ids, slurs)
        for bar in voice.bars:
            for lane, items in enumerate(bar.lanes):
                _join(items, run, lane)
        if run.opened or any(run.tied.values()):
            scan.leave(say("a slur or tie that leads to no note"))
        for index, bar in enumerate(voice.bars):
            events = [
                event
                for lane, items in enumerate(bar.lanes)
                for event in _events(bar, items, number + lane, octaves[voice.name])
            ]
            bars[index] = replace(bars[index], events=(*bars[index].events, *events))
        number += max(len(bar.lanes) for bar in voice.bars)
    return bars, slurs


def _join(items: list[TuneNote], run: _Run, lane: int) -> None:
    """Name the heads of one voice of one bar, from low to high, and tie and slur them to those before."""
    tied = run.tied.setdefault(lane, {})
    for item in items:
        item.heads.sort(key=lambda head: head.pitch.midi)
        for head in item.heads:
            head.id = f"n{next(run.ids)}"
        if item.grace:
            continue
        waiting = dict(tied)
        tied.clear()
        for head in item.heads:
            before = waiting.pop(head.pitch, None)
            if before is not None:
                before.tied_on = head.tied_back = True
            if head.tie:
                tied[head.pitch] = head
        if not item.heads:
            continue
        for _ in waiting:
            run.scan.leave(say("a tie to another pitch"))
        last = item.heads[-1].id
        run.opened += [last] * item.opens
        for _ in range(min(item.closes, len(run.opened))):
            start = run.opened.pop()
            if start != last:
                run.slurs.append(Slur(start=start, stop=last))


def _events(bar: AbcBar, items: list[TuneNote], voice: int, octaves: int) -> Iterator[SourceEvent]:
    """The events of one voice of one bar."""
    at = Fraction(0)
    for item, tuplets in zip(items, _chains(items), strict=True):
        length = _lasts(item, bar)
        yield SourceEvent(
            voice=voice,
            onset=at,
            length=length,
            value=_value(item)[0],
            tuplets=tuplets,
            notes=tuple(_note(head, octaves) for head in item.heads),
            marks=tuple(mark for mark in MARKS if mark in item.marks),
            slash=item.slash,
            space=item.space,
            bar_rest=item.whole,
        )
        at += length


def _note(head: TuneHead, octaves: int) -> Note:
    pitch = replace(head.pitch, octave=head.octave + octaves)
    given = Given(finger=head.finger)
    return Note(id=head.id, pitch=pitch, tied_back=head.tied_back, tied_on=head.tied_on, given=given)


def _value(item: TuneNote) -> tuple[Value | None, tuple[int, int]]:
    """The value a note is written with, None where it takes several; and the tuplet that its length asks for."""
    cut = written(item.length)
    return (cut[0][0], cut[1]) if cut and len(cut[0]) == 1 else (None, (1, 1))


def _chains(items: list[TuneNote]) -> list[Chain]:
    """The tuplets over each item: what its length asks for, and what is typed; none over grace notes."""
    timed = [(item.length, *_value(item)) for item in items if not item.grace]
    asked = iter(counted((length, value.quarters if value else length, ratio, False) for length, value, ratio in timed))
    return [() if item.grace else (*next(asked), *_typed(item)) for item in items]


def _typed(item: TuneNote) -> Chain:
    if item.tuplet is None:
        return ()
    number, actual, normal = item.tuplet
    return ((-number, actual, normal),)


def _lasts(item: TuneNote, bar: AbcBar) -> Fraction:
    """Quarters that an item lasts."""
    if item.grace:
        return Fraction(0)
    if item.whole:
        return bar.metre.length if bar.metre else Fraction(4)
    return item.length * Fraction(item.tuplet[2], item.tuplet[1]) if item.tuplet else item.length


def _empty_bars(scan: Scan) -> list[SourceBar]:
    """Numbers, repeats and bar lines of the voice with the most bars; metre and key of the uppermost that is there."""
    voices = [voice.bars for voice in scan.voices.values()]
    longest = max(voices, key=len)
    first = longest[0]
    lasts = max(sum((_lasts(item, first) for item in lane), Fraction(0)) for lane in first.lanes)
    pickup = first.metre is not None and lasts < first.metre.length and len(longest) > 1
    made: list[SourceBar] = []
    for index, bar in enumerate(longest):
        upper = next(bars[index] for bars in voices if index < len(bars))
        made.append(
            SourceBar(
                label=str(index + (not pickup)),
                events=(),
                metre=upper.metre,
                key=upper.signature.key,
                first=index == 0,
                repeat_start=bar.repeat_start,
                repeat_end=2 if bar.repeat_end else 0,
                ending=bar.ending,
                barline=bar.barline,
                unmetred=bar.metre is None,
            )
        )
    return made
