"""MusicXML becomes a Passage: the choice of part, staff, voice and bars, then their notes and marks.

The line: bytes → tree (safe_xml) → part and bars (parts, bar_numbers) → exact times (timeline) → staff and voices
(staves) → their marks (notations, typed_letters, slur_ends, directions, barlines) → Passage (from_bars) → octave and
strings (guitar_parts) → loose ends (cut).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from engrave.model import Note, Notice, Passage, ReadError
from engrave.model.errors import one_line
from engrave.model.said import say
from engrave.reading.bar_numbers import bar_range, span
from engrave.reading.cut import voices_left_out, without_loose_ends
from engrave.reading.from_bars import passage_from_bars
from engrave.reading.limits import LIMITS, Limits, allow
from engrave.reading.musicxml import guitar_parts, tablature_part, titles
from engrave.reading.musicxml.barlines import framed
from engrave.reading.musicxml.directions import read_signs
from engrave.reading.musicxml.metres import supply
from engrave.reading.musicxml.notations import HeadMarks, event_marks, hand_marks, tied
from engrave.reading.musicxml.parts import Part, all_parts, choose_part, labels_of, partwise
from engrave.reading.musicxml.slur_ends import curves
from engrave.reading.musicxml.staves import ChosenStaff, Lane, Voices, choose_staff, choose_voices
from engrave.reading.musicxml.tablature_staff import merged
from engrave.reading.musicxml.timed_notes import NoteHead
from engrave.reading.musicxml.timeline import Walk
from engrave.reading.musicxml.typed_letters import letters_as_text
from engrave.reading.safe_xml import parse
from engrave.reading.source_bars import Extras, SourceBar, SourceEvent
from engrave.reading.tally import Tally

_STAFF = re.compile(r"(.*?)\s*/\s*(\d{1,2})\s*\Z", re.DOTALL)


def read_musicxml(
    data: bytes, name: str, *, part: str = "", voice: str = "", bars: str = "", limits: Limits = LIMITS
) -> Passage:
    """The passage in an unpacked MusicXML file; arguments as of `engrave.reading.read`. Raises ReadError."""
    score = partwise(parse(data, name, limits), name)
    parts = all_parts(score, name, limits)
    split = _STAFF.match(part)
    asked, staff = part, None
    if split and part.strip().casefold() not in {p.name.casefold() for p in parts}:
        asked, staff = split[1], int(split[2])
    chosen = choose_part(parts, asked, name)
    tally = Tally()
    walk, first = _walked(chosen, bars, name, tally, limits)
    if walk.faults:
        raise ReadError(*walk.faults[: limits.faults])
    tab = tablature_part.beside(parts, chosen)
    if tab is not None and not tablature_part.join(walk, tab, first, limits):
        tab = None
    supply(walk.bars, tally)
    tabs = {number for number, clefs in walk.now.clefs.items() if any(sign == "TAB" for sign, _ in clefs)}
    tabs |= {tablature_part.STAFF} if tab is not None else set()
    read = choose_staff(walk.bars, tabs, staff, name)
    voices = choose_voices(walk.bars, read.number, asked=voice, name=name, tally=tally, limits=limits)
    if not any(item.heads for row in voices.lanes for lane in row for item in lane.items):
        raise _no_notes(parts, chosen, bars, name)
    source, extras = _source(walk, read, voices, first, tally)
    extras = replace(
        extras,
        title=titles.title_of(score),
        composer=titles.composer_of(score),
        rights=titles.rights_of(score),
        part=_part_label(parts, chosen, read, staff),
        notices=_passed_over([part for part in parts if part is not tab], chosen, read, voices),
    )
    cut = span(walk.bars[0].label, walk.bars[-1].label) if bars.strip() else ""
    passage = replace(passage_from_bars(source, name, extras), cut=cut)
    return _settled(passage, chosen, walk, read, tally, first=first)


def _walked(part: Part, asked: str, name: str, tally: Tally, limits: Limits) -> tuple[Walk, int]:
    """The bars asked for, with exact times; and the index in the piece of the first of them."""
    measures = part.element.findall("measure")
    if not measures:
        raise ReadError.at(name, f"part {part.label!r} has no bars")
    labels = labels_of(measures)
    start, stop = bar_range(labels, asked, name) if asked.strip() else (0, len(measures) - 1)
    if stop - start >= limits.bars:
        fact = f"{stop - start + 1:,} bars, the limit for one passage is {limits.bars}"
        some = span(labels[start], labels[min(start + min(16, limits.bars) - 1, stop)])
        hint = f"choose some of bars {labels[start]} to {labels[stop]}, e.g. --bars {some}"
        hint += f"; {allow('bars', stop - start + 1)}"
        raise ReadError.at(name, fact, hint)
    walk = Walk(name, tally, limits)
    for measure in measures[:start]:
        walk.skip(measure)
    notes = directions = 0
    for measure, label in zip(measures[start : stop + 1], labels[start : stop + 1], strict=True):
        walk.read(measure, label)
        notes += len(walk.bars[-1].items)
        directions += len(walk.bars[-1].directions)
        for count, limit, what in (
            (notes, limits.notes, "notes and rests"),
            (directions, limits.directions, "directions"),
        ):
            if count > limit:
                fact = f"more than {limit:,} {what} up to here, the limit for one passage"
                raise ReadError.at(name, fact, "choose fewer bars with --bars", bar=label)
    return walk, start


def _no_notes(parts: Sequence[Part], part: Part, bars: str, name: str) -> ReadError:
    where = f"bars {one_line(bars, 60)} of part" if bars.strip() else "part"
    known = "; ".join(f"{p.number} {p.label}" for p in parts[:30] if p.has_notes()) or "none"
    return ReadError.at(name, f"there is no note in {where} {part.label!r}", f"parts with notes: {known}")


def _source(walk: Walk, staff: ChosenStaff, voices: Voices, first: int, tally: Tally) -> tuple[list[SourceBar], Extras]:
    """The bars with the notes that are read, what the tablature beside them tells, and what the part says besides."""
    bars = walk.bars
    marks = {
        item.id: event_marks(item, bar.label, tally)
        for bar, row in zip(bars, voices.lanes, strict=True)
        for lane in row
        for item in lane.items
    }
    staves = (staff.number, *staff.tabs)
    heads = {
        name: found
        for bar in bars
        for item in bar.items
        if item.id in marks or item.staff in staff.tabs
        for name, found in hand_marks(item, bar.label, tally).items()
    }
    heads, stands_for = merged(bars, staff, heads, tally)
    heads, used = letters_as_text(bars, staff.number, heads, tally)
    for bar in bars:
        for item in bar.items:
            if item.id in marks and any(found not in used for found in item.element.findall("lyric")):
                tally.add(say("left out: lyrics"), bar.label)
    signs = read_signs(bars, staves, walk.earlier, used, tally)
    tuning, capo = guitar_parts.strings_of([walk.now.details[number] for number in sorted(walk.now.details)], tally)
    empty = framed(bars, first, tally)
    extras = Extras(
        slurs=curves(bars, heads, stands_for, tally), signs=signs.signs, tempo=signs.tempo, tuning=tuning, capo=capo
    )
    return [
        replace(bar, events=tuple(event for lane in row for event in _events(lane, marks, heads)))
        for bar, row in zip(empty, voices.lanes, strict=True)
    ], extras


def _events(lane: Lane, marks: Mapping[str, tuple[str, ...]], heads: Mapping[str, HeadMarks]) -> Iterator[SourceEvent]:
    for item, tuplets in zip(lane.items, lane.tuplets, strict=True):
        yield SourceEvent(
            voice=lane.voice,
            onset=item.onset,
            length=item.length,
            value=item.value,
            tuplets=tuplets,
            notes=tuple(_note(head, heads[head.id]) for head in item.heads),
            marks=marks[item.id],
            slash=any(grace.get("slash") == "yes" for grace in item.element.findall("grace")),
            space=item.hidden,
            bar_rest=item.bar_rest,
        )


def _note(head: NoteHead, marks: HeadMarks) -> Note:
    back, on = tied(head.element, "stop"), tied(head.element, "start")
    return Note(id=head.id, pitch=head.pitch, tied_back=back, tied_on=on, given=marks.given, muted=marks.muted)


def _part_label(parts: Sequence[Part], part: Part, staff: ChosenStaff, asked: int | None) -> str:
    label = part.label if len(parts) > 1 else ""
    if staff.others or (asked is not None and staff.number != 1):
        return f"{part.label}/{staff.number}"
    return label


def _passed_over(parts: Sequence[Part], part: Part, staff: ChosenStaff, voices: Voices) -> tuple[Notice, ...]:
    """What was not chosen."""
    notices: list[Notice] = []
    others = [p.label for p in parts if p is not part and p.has_notes()]
    if others:
        names = ", ".join(others[:12]) + (", …" if len(others) > 12 else "")
        notices.append(
            Notice(text=say("part read: {part}; left out: {names}", part=part.label, names=one_line(names, 300)))
        )
    if staff.others:
        names = ", ".join(f"{part.label}/{number}" for number in staff.others)
        read = f"{part.label}/{staff.number}"
        notices.append(Notice(text=say("staff read: {staff}; left out: {names}", staff=read, names=names)))
    if voices.left_out:
        notices.append(voices_left_out(voices.left_out))
    return tuple(notices)


def _settled(passage: Passage, part: Part, walk: Walk, staff: ChosenStaff, tally: Tally, *, first: int) -> Passage:
    """The passage in the octave it is meant in, without loose ends, with every notice."""
    clefs = tuple(walk.now.clefs.get(staff.number, [("G", 0)]))
    guitar_parts.tell_writing(clefs, walk.now.heard, tally)
    passage = guitar_parts.settle(
        passage, named=part.fretted, nameless=part.nameless, clefs=clefs, told=bool(walk.now.moves)
    )
    passage = without_loose_ends(guitar_parts.damped(passage, tally), whole_start=first == 0)
    return replace(passage, notices=tuple(dict.fromkeys((*passage.notices, *tally.notices()))))
