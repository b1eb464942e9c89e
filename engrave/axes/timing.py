"""Changes of rhythm as maps of time: what they do to the spans of a passage, and when they cannot."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from engrave.axes.barring import one_metre, piecewise, rebarred, repeats_inside
from engrave.axes.cleanup import without_unplayable_slurs
from engrave.axes.retiming import Span, TimeMap, rewritten, spans
from engrave.axes.setting import noted, unfit
from engrave.model import MARKS, Bar, Event, Metre, Passage, Value, Variation, replace_unchecked
from engrave.model.said import say, say_count
from engrave.model.texture import LAYERS, TREMOLO
from engrave.textures import stretches
from engrave.textures.onsets import commonest, upper_voice

HALF, WHOLE = Fraction(1, 2), Fraction(1)
LONG_SHORT = (Fraction(3, 2), Fraction(1, 2))
SHORT_LONG = (Fraction(1, 2), Fraction(3, 2))
"""lengths of a pair in units of the equal notes it was"""
TOO_SHORT = say("some notes would be shorter, or end elsewhere, than can be written")
NO_NOTES = say("the upper voice has no notes")
SEVERAL = say("its notes are of several lengths: written so they could hardly be read")
MOST_OTHERS, MOST_TIED = Fraction(3, 5), Fraction(1, 4)
"""part of the notes that may have another length than most where all are moved against the beat, and part that may be
tied because of it (house figures)"""


def long_at(place: int, size: int) -> tuple[Fraction, ...]:
    """Lengths of `size` equal notes when the one at `place` (from 1) takes two and the others share what is left."""
    rest = Fraction(size - 2, size - 1)
    return tuple(Fraction(2) if n == place else rest for n in range(1, size + 1))


def line_of(passage: Passage) -> tuple[Span, ...]:
    """The spans of the upper voice that sound."""
    return tuple(s for s in spans(passage, upper_voice(passage)) if s.notes)


def unit(passage: Passage) -> Fraction | None:
    """The commonest length of the upper voice's notes, ties joined; of equally common ones the shortest."""
    lengths = [s.end - s.start for s in line_of(passage)]
    return commonest(lengths)[0] if lengths else None


def redone(
    variation: Variation,
    voices: dict[int, tuple[Span, ...]],
    bars: tuple[Bar, ...],
    move: TimeMap,
) -> Variation:
    """`variation` with its music written anew, or why that cannot be."""
    try:
        passage = rewritten(variation.passage, voices, bars, move)
    except ValueError as fault:
        raise unfit(TOO_SHORT) from fault
    return without_unplayable_slurs(replace(variation, passage=passage))


def mapped(variation: Variation, move: TimeMap, bars: tuple[Bar, ...]) -> Variation:
    """Every voice moved by one map of time into `bars`."""
    end = bars[-1].end
    voices = {
        voice: tuple(
            [
                replace_unchecked(span, start=start, end=min(move(span.end), end))
                for span in spans(variation.passage, voice)
                if (start := move(span.start)) < end
            ]
        )
        for voice in variation.passage.voices
    }
    return redone(variation, voices, bars, move)


def uneven(variation: Variation, pattern: tuple[Fraction, ...]) -> Variation:
    """Groups of equal notes that start where such groups start in the bar get unequal lengths, the same in sum.

    Of three notes to the beat a pair is the first two: it would cross the beat, and be early or late on the next.
    """
    passage = variation.passage
    length = unit(passage)
    if length is None:
        raise unfit(NO_NOTES)
    threes = len(pattern) == 2 and passage.bars[0].metre.beat == 3 * length
    lengths = (*pattern, WHOLE) if threes else pattern
    points: list[tuple[Fraction, Fraction]] = [(Fraction(0), Fraction(0))]
    found = 0
    for group in _groups(passage, length, len(lengths)):
        found += 1
        at = group[0].start
        points.append((at, at))
        for span, share in zip(group, lengths, strict=True):
            at += share * length
            points.append((span.end, at))
    if not found:
        reason = say("no {n} equal notes follow each other from where such a group starts in the bar", n=len(lengths))
        raise unfit(reason)
    return mapped(variation, piecewise(points), passage.bars)


def _groups(passage: Passage, length: Fraction, size: int) -> list[tuple[Span, ...]]:
    line = line_of(passage)
    equal = [s.end - s.start == length for s in line]
    whole = length * size
    found: list[tuple[Span, ...]] = []
    index = 0
    while index + size <= len(line):
        group = line[index : index + size]
        bar = passage.bars[group[0].event.bar]
        if (
            all(equal[index : index + size])
            and not (group[0].start - bar.onset + bar.offset) % whole
            and all(a.end == b.start for a, b in pairwise(group))
            and group[-1].end <= bar.end
        ):
            found.append(group)
            index += size
        else:
            index += 1
    return found


def bursts(variation: Variation, size: int, start: int) -> Variation:
    """`size` quick notes as they are, then one held until a beat, at least a beat and twice its length; and so on.

    Quick is what is shorter than a beat. A note that lasts a beat or longer, and a rest, ends a burst that is not full.
    """
    passage = variation.passage
    reason = one_metre(passage)
    if reason:
        raise unfit(reason)
    line = line_of(passage)
    if len(line) < size + start:
        few = say_count(
            "the line has {n} note: too few for a burst of {size} there",
            "the line has {n} notes: too few for a burst of {size} there",
            len(line),
            size=size,
        )
        raise unfit(few)
    beat, offset = passage.bars[0].metre.beat, passage.bars[0].offset
    held = _held_after(line, beat, size, start)
    if 2 * size * len(held) < len(line):
        few = say("fewer than half of its notes stand in groups of {n} that are shorter than a beat each", n=size)
        raise unfit(few)
    if start > 1 and line[start - 2].end - line[start - 2].start < beat:
        held.add(start - 2)
    points: list[tuple[Fraction, Fraction]] = [(Fraction(0), Fraction(0))]
    gained = Fraction(0)
    for number, span in enumerate(line):
        if number not in held:
            continue
        begin = span.start + gained
        least = begin + max(beat, 2 * (span.end - span.start)) + offset
        stop = -(-least // beat) * beat - offset
        points += [(span.start, begin), (span.end, stop)]
        gained = stop - span.end
    return _into_new_bars(variation, piecewise(points))


def _held_after(line: tuple[Span, ...], beat: Fraction, size: int, start: int) -> set[int]:
    """Places of the notes that are held after a burst of `size` notes, the first of which is the one at `start`."""
    found: set[int] = set()
    quick = 0
    for number in range(start - 1, len(line)):
        span = line[number]
        joined = not quick or line[number - 1].end == span.start
        if quick == size and joined:
            found.add(number)
            quick = 0
        elif span.end - span.start >= beat:
            quick = 0
        else:
            quick = quick + 1 if joined else 1
    return found


def regrouped(variation: Variation, size: int) -> Variation:
    """The commonest note value becomes a `size`-th of the beat, everything in proportion."""
    passage = variation.passage
    reason, length = one_metre(passage), unit(passage)
    if reason or length is None:
        raise unfit(reason or NO_NOTES)
    beat = passage.bars[0].metre.beat
    now = beat / length
    if now == size:
        raise unfit(say("the line runs in groups of {size} already", size=size))
    if now == 1:
        raise unfit(say("its commonest notes last a beat each: there are no groups to change"))
    if now.denominator != 1:
        raise unfit(say("its commonest notes do not divide the beat: there are no groups to change"))
    if _mixed(passage, length):
        raise unfit(SEVERAL)
    factor = now / size
    made = _into_new_bars(variation, lambda time: time * factor)
    return _paced(_readable(made, passage), factor)


def _mixed(passage: Passage, length: Fraction) -> bool:
    """Whether too many notes of all voices last other than `length` to be moved against the beat together."""
    rows = [s for voice in passage.voices for s in spans(passage, voice) if s.notes]
    return sum(s.end - s.start != length for s in rows) > MOST_OTHERS * len(rows)


def _readable(made: Variation, before: Passage) -> Variation:
    """`made`. Raises UnfitError where too many of its notes are tied that were not tied before."""
    tied, were = (sum(n.tied_on and not n.tied_back for n in music.notes) for music in (made.passage, before))
    struck = sum(not n.tied_back for n in made.passage.notes)
    if tied - were > MOST_TIED * struck:
        raise unfit(SEVERAL)
    return made


def _paced(made: Variation, by: Fraction) -> Variation:
    """A variation whose values are `by` times those of the line, at the tempo that keeps the speed of its notes."""
    tempo = made.passage.tempo and made.passage.tempo * by
    return replace(made, passage=replace_unchecked(made.passage, tempo=tempo), pace=made.pace * by)


def _into_new_bars(variation: Variation, move: TimeMap) -> Variation:
    passage = variation.passage
    metre = passage.bars[0].metre
    pickup = move(passage.bars[0].end) if passage.bars[0].offset else Fraction(0)
    # a pickup that would start inside a tuplet gets the rests before it, back to the beat
    whole = pickup if _plain(pickup) else -(-pickup // metre.beat) * metre.beat
    lead = whole - pickup
    total = move(passage.bars[-1].end) + lead
    return mapped(variation, lambda time: move(time) + lead, rebarred(passage, total, whole % metre.length))


def _plain(time: Fraction) -> bool:
    """Whether a time lies on the grid of halves, where no tuplet is needed."""
    return time.denominator & (time.denominator - 1) == 0


def later(variation: Variation, share: Fraction) -> Variation:
    """The whole line later by `share` of its commonest note; the last note gives way where it can."""
    passage = variation.passage
    length = unit(passage)
    if length is None:
        raise unfit(NO_NOTES)
    shift = length * share
    if shift % passage.bars[0].metre.beat and _mixed(passage, length):
        raise unfit(SEVERAL)
    if repeats_inside(passage):
        raise unfit(say("repeats inside the passage tie it to its bars: it cannot start late"))
    lasts = [max((s.start for s in spans(passage, v) if s.notes), default=Fraction(0)) for v in passage.voices]
    bars = passage.bars
    if max(lasts) + shift >= bars[-1].end:
        reason = one_metre(passage)
        if reason:
            raise unfit(reason)
        pickup = bars[0].length if bars[0].offset else Fraction(0)
        bars = rebarred(passage, bars[-1].end + shift, pickup)
    moved = mapped(variation, lambda time: time + shift, bars)
    # half a note late, every note on a beat is tied over the next: that is the study
    return _readable(moved, passage) if share == WHOLE else moved


def stopped(variation: Variation) -> Variation:
    """A staccato on every note of the upper voice that is not slurred on."""
    passage = variation.passage
    voice = upper_voice(passage)
    onward = {note.slurred_from for note in passage.notes}

    def short(event: Event) -> bool:
        held = any(note.tied_on or note.id in onward for note in event.notes)
        return bool(event.notes) and event.voice == voice and not event.grace and not held

    if not any(short(event) for event in passage.events):
        raise unfit(NO_NOTES)
    events = tuple(
        replace_unchecked(e, marks=tuple(m for m in MARKS if m in e.marks or m == "staccato")) if short(e) else e
        for e in passage.events
    )
    return replace(variation, passage=replace_unchecked(passage, events=events))


RINGING = (TREMOLO, LAYERS)
"""textures whose bass lasts while the fingers play on"""
PLANTED = Fraction(1, 2)
"""quarters: a note as short as an eighth still gives half its length to a rest that can be read (house figure)"""


def planting(variation: Variation) -> Variation:
    """Each note of the upper voice half as long, then a rest; what is slurred, tied on or quick stays whole.

    A bass rings on instead. Where most notes are sixteenths or quicker all values are doubled first: rests between
    them could not be read.
    """
    passage = variation.passage
    upper = upper_voice(passage)
    onward = {note.slurred_from for note in passage.notes}
    basses = {name for span in stretches(variation) if span.kind in RINGING for name in span.basses}
    made: list[Span] = []
    quick = slow = whole = 0
    for span in spans(passage, upper):
        held = any(note.tied_on or note.id in onward for note in span.notes)
        rings = bool(span.notes) and all(note.id in basses for note in span.notes)
        whole += bool(span.notes) and not rings and (held or span.end - span.start < PLANTED)
        if not span.notes or held or rings or span.event.bar_rest:
            made.append(span)
            continue
        if span.end - span.start < PLANTED:
            quick += 1
            made.append(span)
            continue
        slow += 1
        middle = (span.start + span.end) / 2
        made.append(replace(span, end=middle))
        made.append(Span(start=middle, end=span.end, event=replace(span.event, marks=()), notes=()))
    if quick > slow:
        slowed = planting(scaled(variation, Fraction(2)))
        return noted(slowed, say("all values are doubled, so that there is room for the rests"))
    if not slow:
        raise unfit(NO_NOTES)
    voices = {voice: spans(passage, voice) for voice in passage.voices} | {upper: tuple(made)}
    text = say_count(
        "{n} note keeps its length: it is shorter than an eighth, or another is slurred or tied to it",
        "{n} notes keep their length: they are shorter than an eighth, or others are slurred or tied to them",
        whole,
    )
    return noted(redone(variation, voices, passage.bars, lambda time: time), text)


def scaled(variation: Variation, by: Fraction) -> Variation:
    """All values times `by` (2 or a half), bars and tempo with them."""
    passage = variation.passage
    try:
        bars = tuple(
            replace(b, onset=b.onset * by, length=b.length * by, offset=b.offset * by, metre=_metre(b.metre, by))
            for b in passage.bars
        )
        events = tuple(
            replace(
                e, onset=e.onset * by, duration=e.duration * by, value=e.value if e.bar_rest else _value(e.value, by)
            )
            for e in passage.events
        )
    except ValueError as fault:
        raise unfit(TOO_SHORT) from fault
    directions = tuple(
        replace(d, onset=d.onset * by, end=None if d.end is None else d.end * by) for d in passage.directions
    )
    music = replace(passage, bars=bars, events=events, directions=directions)
    return _paced(replace(variation, passage=music), by)


def _metre(metre: Metre, by: Fraction) -> Metre:
    unit_ = Fraction(metre.unit) / by
    if unit_.denominator != 1 or unit_ > 32:
        raise ValueError("no such metre")
    return Metre(beats=metre.beats, unit=int(unit_))


def _value(value: Value, by: Fraction) -> Value:
    if value.kind == 0 or (value.kind == 1 and by > 1):
        if by > 1 and value.kind == 0:
            raise ValueError("no longer value")
        return Value(kind=1 if value.kind == 0 else 0, dots=value.dots)
    return Value(kind=int(Fraction(value.kind) / by), dots=value.dots)
