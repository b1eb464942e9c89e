"""The voices of an ABC tune as a score of the parser (music21), with what the parser does not keep beside it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from engrave.model import MARKS, Given, Slur
from engrave.model.said import say
from engrave.reading.abc.tune import AbcBar, Scan, TuneHead, TuneNote
from engrave.reading.extras import BarMarks, EventMarks, HeadMarks
from engrave.reading.music21_loading import music21


@dataclass(slots=True)
class Score:
    """A score and its extras while it is put together."""

    scan: Scan
    whole: Any = None
    heads: dict[str, HeadMarks] = field(default_factory=dict)
    events: dict[str, EventMarks] = field(default_factory=dict)
    slurs: list[Slur] = field(default_factory=list)
    bars: tuple[BarMarks, ...] = ()
    count: int = 0

    def name(self) -> str:
        """An id for the next head or rest."""
        self.count += 1
        return f"n{self.count}"


@dataclass(slots=True)
class _Run:
    """What runs on from bar to bar in one voice."""

    octaves: int
    first: int
    """number of its first lane as a voice of the passage"""
    slurs: list[str] = field(default_factory=list)
    """heads where slurs are open"""
    tied: dict[int, dict[str, Any]] = field(default_factory=dict)
    """lane → pitch → head that is tied on"""


def build(scan: Scan, octaves: dict[str, int]) -> Score:
    """The score of all voices, each moved by its octaves; the first voice is the uppermost."""
    stream = music21("stream")
    score = Score(scan, stream.Score())
    number = 1
    for voice in scan.voices.values():
        part = stream.Part()
        run = _Run(octaves[voice.name], number)
        before: AbcBar | None = None
        for bar in voice.bars:
            measure = stream.Measure()
            _signatures(measure, bar, before)
            before = bar
            for lane, items in enumerate(bar.lanes):
                target = measure if len(bar.lanes) == 1 else stream.Voice()
                for made in _lane(score, bar, items, run, lane):
                    target.append(made)
                if target is not measure:
                    measure.insert(0, target)
            part.append(measure)
        number += max((len(bar.lanes) for bar in voice.bars), default=1)
        score.whole.insert(0, part)
        if run.slurs or any(run.tied.values()):
            scan.leave(say("a slur or tie that leads to no note"))
    score.bars = _bars(scan)
    return score


def _signatures(measure: Any, bar: AbcBar, before: AbcBar | None) -> None:
    """Put metre and key where they change."""
    key, meter = music21("key"), music21("meter")
    if bar.metre is not None and (before is None or bar.metre != before.metre):
        made = meter.TimeSignature("+".join(f"{beats}/{bar.metre.unit}" for beats in bar.metre.beats))
        made.symbol = bar.metre.sign
        measure.insert(0, made)
    if before is None or bar.signature.key != before.signature.key:
        printed = bar.signature.key
        plain = key.KeySignature(printed.fifths)
        measure.insert(0, plain.asKey(printed.mode) if printed.mode else plain)


def _lane(score: Score, bar: AbcBar, items: list[TuneNote], run: _Run, lane: int) -> Iterator[Any]:
    """The elements of one voice of one bar."""
    tied = run.tied.setdefault(lane, {})
    for place, item in enumerate(items):
        made, heads = _element(score, item, bar, run.octaves)
        tags = [str(head.style.color) for head in heads]
        score.events[tags[0]] = EventMarks(
            voice=run.first + lane,
            marks=tuple(mark for mark in MARKS if mark in item.marks),
            slash=item.slash,
            space=item.space,
            bar_rest=item.whole,
        )
        if item.grace:
            yield made.getGrace()
            continue
        _tuplet(made, items, place)
        if item.heads:
            _ties(item, heads, tied, score.scan)
            run.slurs += [tags[-1]] * item.opens
            for _ in range(min(item.closes, len(run.slurs))):
                start = run.slurs.pop()
                if start != tags[-1]:
                    score.slurs.append(Slur(start=start, stop=tags[-1]))
        else:
            tied.clear()
        yield made


def _element(score: Score, item: TuneNote, bar: AbcBar, octaves: int) -> tuple[Any, list[Any]]:
    """The parser's note, chord or rest, and its heads (or itself) from low to high, each with an id."""
    chord, duration, note = music21("chord"), music21("duration"), music21("note")
    length = item.length
    if item.whole:
        length = bar.metre.length if bar.metre else Fraction(4)
    made: Any
    if not item.heads:
        made = note.Rest(duration=duration.Duration(length))
        made.style.color = score.name()
        return made, [made]
    item.heads.sort(key=lambda head: head.pitch.midi)
    heads = []
    for head in item.heads:
        made = note.Note(_name(head, octaves))
        made.style.color = score.name()
        score.heads[made.style.color] = HeadMarks(given=Given(finger=head.finger))
        heads.append(made)
    if len(heads) == 1:
        heads[0].duration = duration.Duration(length)
        return heads[0], heads
    return chord.Chord(heads, duration=duration.Duration(length)), heads


def _name(head: TuneHead, octaves: int) -> str:
    """A pitch as the parser names it."""
    signs = {-2: "--", -1: "-", 0: "", 1: "#", 2: "##"}
    return f"{head.step}{signs[head.alter]}{head.octave + octaves}"


def _ties(item: TuneNote, heads: list[Any], tied: dict[str, Any], scan: Scan) -> None:
    """Tie heads to those before, and remember those that are tied on."""
    tie = music21("tie")
    waiting = dict(tied)
    tied.clear()
    for head, made in zip(item.heads, heads, strict=True):
        name = made.pitch.nameWithOctave
        before = waiting.pop(name, None)
        if before is not None:
            before.tie = tie.Tie("continue" if before.tie is not None and before.tie.type == "stop" else "start")
            made.tie = tie.Tie("stop")
        elif len(heads) > 1 and not head.tie:
            made.tie = tie.Tie("let-ring")  # says that this head is not tied, else the chord's first tie speaks for it
        if head.tie:
            tied[name] = made
    for _ in waiting:
        scan.leave(say("a tie to another pitch"))


def _tuplet(made: Any, items: list[TuneNote], place: int) -> None:
    """Put a note under its bracket."""
    duration = music21("duration")
    over = items[place].tuplet
    if over is None:
        return
    number, actual, normal = over
    bracket = duration.Tuplet(actual, normal)
    others = [index for index, item in enumerate(items) if item.tuplet and item.tuplet[0] == number]
    first, last = place == others[0], place == others[-1]
    bracket.type = "startStop" if first and last else "start" if first else "stop" if last else None
    made.duration.appendTuplet(bracket)


def _bars(scan: Scan) -> tuple[BarMarks, ...]:
    """Numbers, repeats and bar lines, from the voice with the most bars."""
    bars = max((voice.bars for voice in scan.voices.values()), key=len)
    short = _length(bars[0]) < (bars[0].metre.length if bars[0].metre else 0) and len(bars) > 1
    return tuple(
        BarMarks(
            label=str(index + (not short)),
            first=index == 0,
            repeat_start=bar.repeat_start,
            repeat_end=2 if bar.repeat_end else 0,
            ending=bar.ending,
            barline=bar.barline,
            unmetred=bar.metre is None,
        )
        for index, bar in enumerate(bars)
    )


def _length(bar: AbcBar) -> Fraction:
    """Quarters in the longest lane of a bar."""
    lanes = [
        sum(
            (i.length * Fraction(i.tuplet[2], i.tuplet[1]) if i.tuplet else i.length for i in lane if not i.grace),
            Fraction(0),
        )
        for lane in bar.lanes
    ]
    whole = any(item.whole for lane in bar.lanes for item in lane)
    return bar.metre.length if whole and bar.metre else max(lanes)
