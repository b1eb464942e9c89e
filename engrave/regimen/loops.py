"""The few notes of a hard spot as a small passage of their own, to go round and round."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from math import ceil

from engrave.axes.orders import PLANT
from engrave.axes.retiming import Span, rewritten, spans
from engrave.model import Bar, Direction, Metre, Passage, Spot, Variation, replace_unchecked
from engrave.model.hand_signs import barre_marks, position_marks, told_places
from engrave.model.strokes import stroke_words
from engrave.model.wording import numeral
from engrave.textures.onsets import onset_groups

_UNITS = (4, 8, 16, 32)


def loop_of(variation: Variation, spot: Spot) -> Variation | None:
    """`variation` cut to the notes of a spot, in full bars, mostly one; None where they make none.

    That is where part of a tuplet is cut off, where a grace note belongs to them, or a slur leads into them or out.

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
    if any(note.slurred_from in names and note.id not in names for note in passage.notes):
        return None
    if _cuts_a_tuplet(passage, names):
        return None
    bare = replace(passage, directions=(), slurs=())
    start, end = inside[0].onset, _end(passage, inside[-1].onset)
    first = next(event for event in passage.events if any(note.id in names for note in event.notes))
    # a rest behind the notes makes whole beats of it, where there is room
    metre = passage.bars[first.bar].metre
    whole = start + ceil((end - start) / metre.beat) * metre.beat
    onsets = [group.onset for group in inside]
    kept = _in_bars(onsets, end, metre.length)
    ways = [(end, last, one) for last in dict.fromkeys((whole, end)) for one in _metres(last - start, metre)]
    full = _barred(bare, names, (start, kept, kept), metre) if kept is not None else None
    made = [full] if full else [_barred(bare, names, (start, at, last), one) for at, last, one in ways]
    found = [one for one in made if one is not None]
    # a bar in which no note has to be tied, where there is one
    music = next((one for one in found if not any(note.tied_on for note in one.notes)), next(iter(found), None))
    if music is None:
        return None
    left = {note.id for note in music.notes}
    arcs = tuple(s for s in passage.slurs if s.start in left and s.stop in left)
    words = _stroke_words(passage, music, start) + _planting(passage, music, start) + _numerals(passage, music, start)
    return replace(variation, passage=replace(music, slurs=arcs, directions=words), notices=())


def _cuts_a_tuplet(passage: Passage, names: set[str]) -> bool:
    """Whether some of a tuplet lies outside the notes called `names`, all of the rest of it within."""
    struck = [event for event in passage.events if any(note.id in names for note in event.notes)]
    inside, start = {t.id for event in struck for t in event.tuplets}, min(event.onset for event in struck)
    return any(
        event.onset < start or any(note.id not in names for note in event.notes)
        for event in passage.events
        if not event.grace and any(t.id in inside for t in event.tuplets)
    )


def _stroke_words(page: Passage, loop: Passage, start: Fraction) -> tuple[Direction, ...]:
    """What `page` says of its strokes where the loop begins, `start` quarters in, and at each change within it."""
    said = [d for d in page.directions if d.kind == "strokes"]
    if not said:
        # its notes tell their strokes themselves, but for a loop all free of a page that is not
        plain = stroke_words(loop, named=True) if stroke_words(page) and not stroke_words(loop) else ()
        return tuple(Direction(kind="strokes", text=word.text, bar=0, onset=Fraction(0)) for word in plain)
    last = start + max(event.onset for event in loop.events if event.notes)
    before, inside = [d for d in said if d.onset <= start], [d for d in said if start < d.onset <= last]
    moved = [replace(d, onset=max(d.onset - start, Fraction(0))) for d in (*before[-1:], *inside)]
    return _in_its_bars(moved, loop)


def _planting(page: Passage, loop: Passage, start: Fraction) -> tuple[Direction, ...]:
    """Where within a loop that begins `start` quarters in all the fingers of a chord are set before it is played."""
    begins = {event.onset for event in loop.events if event.notes}
    moved = [
        replace(word, onset=word.onset - start)
        for word in page.directions
        if word.kind == "words" and word.text == PLANT and word.onset - start in begins
    ]
    return _in_its_bars(moved, loop)


def _numerals(page: Passage, loop: Passage, start: Fraction) -> tuple[Direction, ...]:
    """The positions of a loop that begins `start` quarters in: those of its page, and before them where the hand is.

    That is said at the first note that lies in the place, if the page has said it, the place is not the first position
    and no barre says it. Never empty, so that none is worked out of the loop's notes alone.
    """
    begins = {event.onset for event in loop.events if event.notes}
    marks = {event.onset - start: place for event, place in position_marks(page.events)}
    said = {onset: place for onset, place in marks.items() if onset in begins}
    here = _place_at_start(page, loop, start, min(said, default=loop.bars[-1].end))
    if here is not None:
        said[here[0]] = here[1]
    shown = [Direction(kind="numeral", text=numeral(p), bar=0, onset=at, fret=p) for at, p in sorted(said.items())]
    silent = Direction(kind="numeral", text="", bar=0, onset=Fraction(0))
    return _in_its_bars(shown or [silent], loop)


def _place_at_start(page: Passage, loop: Passage, start: Fraction, until: Fraction) -> tuple[Fraction, int] | None:
    """When, before `until`, the first note lies in the place in which a loop begins, and the place; None if unsaid."""
    told = told_places(page.events)
    barred = {barre.fret for barre in barre_marks(loop.events)}
    place = next(told[event.id] for event in page.events if event.onset >= start and event.id in told)
    if place == 1 or place in barred:
        return None
    for event in page.events:
        lies = any(n.placement and n.placement.fret and n.placement.home == place for n in event.notes)
        if start <= event.onset < start + until and told.get(event.id) == place and lies:
            return event.onset - start, place
    return None


def _in_its_bars(words: Iterable[Direction], loop: Passage) -> tuple[Direction, ...]:
    """Words on a loop, each in the bar in which it stands."""
    return tuple(
        replace(word, bar=next(at for at, bar in enumerate(loop.bars) if word.onset < bar.end)) for word in words
    )


def _in_bars(onsets: list[Fraction], end: Fraction, bar: Fraction) -> Fraction | None:
    """Where a loop ends that is some full bars of the page's metre; None where it makes none of them, or half a one.

    Its last notes may be cut for that. A loop of one bar or less has a metre of its own length.
    """
    start = onsets[0]
    many = (end - start) // bar
    cut = start + many * bar
    if end - start <= bar or onsets[-1] >= cut or not {start + n * bar for n in range(many)} <= set(onsets):
        return None
    return cut


def _barred(
    passage: Passage, names: set[str], times: tuple[Fraction, Fraction, Fraction], metre: Metre
) -> Passage | None:
    """The notes called `names` in bars of `metre`; None where none fit.

    `times`: when they begin, when they end, and when the last bar does.
    """
    start, end, last = times
    voices = {voice: row for voice in passage.voices if (row := _cut(spans(passage, voice), start, end, last, names))}
    first = next(event for event in passage.events if any(note.id in names for note in event.notes))
    many = int((last - start) / metre.length)
    bars = tuple(
        Bar(
            label=str(number + 1), onset=number * metre.length, length=metre.length, metre=metre,
            key=passage.bars[first.bar].key, repeat_start=number == 0, repeat_end=2 if number == many - 1 else 0,
        )
        for number in range(many)
    )  # fmt: skip
    try:
        return rewritten(passage, voices, bars, lambda time: time)
    except ValueError:
        return None


def _end(passage: Passage, last: Fraction) -> Fraction:
    """Where a loop ends whose last notes begin at `last`: with the first of them, or where something else begins."""
    ends = [event.end for event in passage.events if event.onset == last and not event.grace and event.notes]
    begins = [event.onset for event in passage.events if event.onset > last and event.notes and not event.grace]
    return min(*ends, *begins) if begins else min(ends)


def _metres(length: Fraction, page: Metre) -> list[Metre]:
    """Metres for a bar so many quarters long: its page's, else one that counts the same beats, and one in halves."""
    compound = page.beat * page.unit == 12 and (length / page.beat).denominator == 1
    units = [unit for unit in ((page.unit, *_UNITS) if compound else _UNITS) if (length * unit / 4).denominator == 1]
    made = [Metre(beats=(int(length * unit / 4),), unit=unit) for unit in units[:1]]
    if not compound and (length / 2).denominator == 1:
        made.append(Metre(beats=(int(length / 2),), unit=2))
    return [page] if length == page.length else made


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
                # within the loop a note is tied to nothing outside
                notes=tuple(replace_unchecked(n, tied_back=False, tied_on=False) for n in span.notes) if struck else (),
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
