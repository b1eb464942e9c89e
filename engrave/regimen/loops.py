"""The few notes of a hard spot as a small passage of their own, to go round and round."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import ceil

from engrave.axes.retiming import Span, rewritten, spans
from engrave.model import Bar, Metre, Note, Passage, Spot, Variation, replace_unchecked, with_notes
from engrave.model.neck import barre_marks
from engrave.textures.onsets import onset_groups

_UNITS = (4, 8, 16, 32)
LABEL = "1"


def loop_of(variation: Variation, spot: Spot) -> Variation | None:
    """`variation` cut to the notes of a spot, one bar long and full; None where they make no bar of their own.

    That is where part of a tuplet is cut off, where a grace note belongs to them, or a slur leads into them.

    Both hands do what they do on the page. What began before and still sounds is left out, what lasts longer ends with
    the loop.
    """
    passage = variation.passage
    names = set(spot.notes)
    inside = [group for group in onset_groups(passage) if any(sound.note.id in names for sound in group.sounds)]
    sounds = [sound for group in inside for sound in group.sounds]
    if len(inside) < 2 or any(group.grace for group in inside):
        return None
    if any(sound.note.slurred_from and sound.note.slurred_from not in names for sound in sounds):
        return None
    bare = _with_whole_barres(replace(passage, directions=(), slurs=()))
    start, end = inside[0].onset, _end(passage, inside[-1].onset)
    first = next(event for event in passage.events if any(note.id in names for note in event.notes))
    # a rest behind the notes makes whole beats of it, where there is room
    beat = passage.bars[first.bar].metre.beat
    whole = start + ceil((end - start) / beat) * beat
    tried = (_bar(bare, start, end, last, names) for last in dict.fromkeys((whole, end)))
    music = next((made for made in tried if made is not None), None)
    if music is None:
        return None
    left = {note.id for note in music.notes}
    kept = tuple(s for s in passage.slurs if s.start in left and s.stop in left)
    # what the page says of its strokes holds in the loop, too
    said = [d for d in passage.directions if d.kind == "strokes" and d.onset <= start]
    words = tuple(replace(d, bar=0, onset=Fraction(0)) for d in said[-1:])
    return replace(variation, passage=replace(music, slurs=kept, directions=words), notices=())


def _bar(passage: Passage, start: Fraction, end: Fraction, last: Fraction, names: set[str]) -> Passage | None:
    """The notes called `names`, which sound from `start` to `end`, in one bar until `last`; None if none fits."""
    metre = _metre(last - start)
    if metre is None:
        return None
    voices = {voice: row for voice in passage.voices if (row := _cut(spans(passage, voice), start, end, last, names))}
    first = next(event for event in passage.events if any(note.id in names for note in event.notes))
    bar = Bar(
        label=LABEL, onset=Fraction(0), length=last - start, metre=metre, key=passage.bars[first.bar].key,
        repeat_start=True, repeat_end=2,
    )  # fmt: skip
    try:
        return rewritten(passage, voices, (bar,), lambda time: time)
    except ValueError:
        return None


def _with_whole_barres(passage: Passage) -> Passage:
    """`passage` with each barre of the kind that the page calls it from laying to lifting."""
    kinds: dict[str, Note] = {}
    for barre in barre_marks(passage.events):
        for event in passage.events:
            if barre.first.onset <= event.onset <= barre.last.onset:
                for note in event.notes:
                    if note.placement and note.placement.barre:
                        placement = replace(note.placement, barre=barre.kind)
                        kinds[note.id] = replace_unchecked(note, placement=placement)
    return with_notes(passage, kinds) if kinds else passage


def _end(passage: Passage, last: Fraction) -> Fraction:
    """Where a loop ends whose last notes begin at `last`: with the first of them, or where something else begins."""
    ends = [event.end for event in passage.events if event.onset == last and not event.grace and event.notes]
    begins = [event.onset for event in passage.events if event.onset > last and event.notes and not event.grace]
    return min(*ends, *begins) if begins else min(ends)


def _metre(length: Fraction) -> Metre | None:
    """The metre of a bar so many quarters long."""
    for unit in _UNITS:
        beats = length * unit / 4
        if beats.denominator == 1:
            return Metre(beats=(int(beats),), unit=unit)
    return None


def _cut(row: tuple[Span, ...], start: Fraction, end: Fraction, last: Fraction, names: set[str]) -> tuple[Span, ...]:
    """What a voice does from `start` to `end`, told from 0, and rests until `last`; nothing where it only rests."""
    found: list[Span] = []
    for span in row:
        if span.end <= start or span.start >= end:
            continue
        struck = span.start >= start and any(note.id in names for note in span.notes)
        found.append(
            replace_unchecked(
                span,
                start=max(span.start, start) - start,
                end=min(span.end, end) - start,
                notes=tuple(_alone(note) for note in span.notes) if struck else (),
                graces=(),
                space=span.space or bool(span.notes and not struck),
            )
        )
    if not any(span.notes for span in found):
        return ()
    if last > end:
        bare = replace_unchecked(found[-1].event, marks=())
        rest = replace_unchecked(found[-1], event=bare, start=end - start, end=last - start, notes=(), space=False)
        found.append(rest)
    return tuple(found)


def _alone(note: Note) -> Note:
    """A note as it is within the loop: tied to nothing outside."""
    return replace_unchecked(note, tied_back=False, tied_on=False)
