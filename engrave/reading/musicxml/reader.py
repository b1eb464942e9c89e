"""MusicXML becomes a Passage: the choice of part, staff, voice and bars, then the parser, then what the parser loses.

The line: bytes → tree (safe_xml) → part and bars (parts, bar_numbers) → exact times (timeline) → staff and voices
(staves) → a clean small score (clean_score) → music21 → Passage (from_music21) with its marks (notations,
typed_letters, slur_ends, directions, barlines) → octave and strings (guitar_parts) → loose ends (cut).
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Sequence
from dataclasses import replace
from typing import Any
from xml.etree.ElementTree import Element

from engrave.model import Fault, Notice, Passage, Place, ReadError
from engrave.model.errors import one_line
from engrave.model.said import say
from engrave.reading.bar_numbers import bar_range, span
from engrave.reading.cut import mended, voices_left_out
from engrave.reading.extras import EventMarks, Extras
from engrave.reading.from_music21 import passage_from_score
from engrave.reading.limits import LIMITS, Limits, allow
from engrave.reading.music21_loading import music21
from engrave.reading.musicxml import guitar_parts, tablature_part, titles
from engrave.reading.musicxml.barlines import bar_marks
from engrave.reading.musicxml.clean_score import skeleton
from engrave.reading.musicxml.directions import read_signs
from engrave.reading.musicxml.metres import supply
from engrave.reading.musicxml.notations import event_marks, hand_marks
from engrave.reading.musicxml.parts import Part, all_parts, choose_part, labels_of, partwise
from engrave.reading.musicxml.slur_ends import curves
from engrave.reading.musicxml.staves import ChosenStaff, Voices, choose_staff, choose_voices
from engrave.reading.musicxml.tablature_staff import merged
from engrave.reading.musicxml.timeline import Walk
from engrave.reading.musicxml.typed_letters import letters_as_text
from engrave.reading.safe_xml import parse
from engrave.reading.tally import Tally

_STAFF = re.compile(r"(.*?)\s*/\s*(\d{1,2})\s*\Z", re.DOTALL)


def read_musicxml(
    data: bytes, name: str, *, part: str = "", voice: str = "", bars: str = "", limits: Limits = LIMITS
) -> Passage:
    """The passage in an unpacked MusicXML file.

    Args:
        data: the file.
        name: what messages and `Passage.source` call it.
        part: id, name, abbreviation or number of a part; "NAME/2" for its second staff.
        voice: number of a voice as the file counts, or several with commas.
        bars: printed numbers such as "5-8".
        limits: bounds of what is read.

    Raises:
        ReadError: with one fault a line.
    """
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
        raise ReadError(_no_notes(parts, chosen, bars, name))
    facts = _extras(walk, read, voices, first, tally)
    facts = replace(
        facts,
        title=titles.title_of(score),
        composer=titles.composer_of(score),
        rights=titles.rights_of(score),
        part=_part_label(parts, chosen, read, staff),
        notices=_passed_over([part for part in parts if part is not tab], chosen, read, voices),
    )
    parsed = _parsed(skeleton(walk.bars, voices.lanes), name)
    passage = replace(passage_from_score(parsed, name, extras=facts), cut=_cut(walk, bars))
    return _settled(passage, chosen, walk, read, tally, first=first)


def _walked(part: Part, asked: str, name: str, tally: Tally, limits: Limits) -> tuple[Walk, int]:
    """The bars asked for, with exact times; and the index in the piece of the first of them."""
    measures = part.element.findall("measure")
    if not measures:
        raise ReadError(Fault(fact=f"part {part.label!r} has no bars", place=Place(file=name)))
    labels = labels_of(measures)
    start, stop = bar_range(labels, asked, name) if asked.strip() else (0, len(measures) - 1)
    if stop - start >= limits.bars:
        fact = f"{stop - start + 1:,} bars, the limit for one passage is {limits.bars}"
        some = span(labels[start], labels[min(start + min(16, limits.bars) - 1, stop)])
        hint = f"choose some of bars {labels[start]} to {labels[stop]}, e.g. --bars {some}"
        hint += f"; {allow('bars', stop - start + 1)}"
        raise ReadError(Fault(fact=fact, hint=hint, place=Place(file=name)))
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
                place = Place(file=name, bar=label)
                raise ReadError(Fault(fact=fact, hint="choose fewer bars with --bars", place=place))
    return walk, start


def _cut(walk: Walk, asked: str) -> str:
    """The bars read, as printed; empty where none were asked for."""
    return span(walk.bars[0].label, walk.bars[-1].label) if asked.strip() else ""


def _no_notes(parts: Sequence[Part], part: Part, bars: str, name: str) -> Fault:
    where = f"bars {one_line(bars, 60)} of part" if bars.strip() else "part"
    known = "; ".join(f"{p.number} {p.label}" for p in parts[:30] if p.has_notes()) or "none"
    return Fault(
        fact=f"there is no note in {where} {part.label!r}", hint=f"parts with notes: {known}", place=Place(file=name)
    )


def _extras(walk: Walk, staff: ChosenStaff, voices: Voices, first: int, tally: Tally) -> Extras:
    """Everything the parser loses, from the notes that are read and the tablature beside them."""
    bars = walk.bars
    events = {
        item.id: EventMarks(
            voice=lane.voice,
            marks=event_marks(item, bar.label, tally),
            slash=any(grace.get("slash") == "yes" for grace in item.element.findall("grace")),
            space=item.hidden,
            bar_rest=item.bar_rest,
            brackets=brackets,
            onset=item.onset,
            length=item.length,
            value=item.value,
        )
        for bar, row in zip(bars, voices.lanes, strict=True)
        for lane in row
        for item, brackets in zip(lane.items, lane.brackets, strict=True)
    }
    staves = (staff.number, *staff.tabs)
    heads = {
        name: marks
        for bar in bars
        for item in bar.items
        if item.id in events or item.staff in staff.tabs
        for name, marks in hand_marks(item, bar.label, tally).items()
    }
    heads, stands_for = merged(bars, staff, heads, tally)
    heads, used = letters_as_text(bars, staff.number, heads, tally)
    for bar in bars:
        for item in bar.items:
            if item.id in events and any(found not in used for found in item.element.findall("lyric")):
                tally.add(say("left out: lyrics"), bar.label)
    signs = read_signs(bars, staves, walk.earlier, used, tally)
    tuning, capo = guitar_parts.strings_of([walk.now.details[number] for number in sorted(walk.now.details)], tally)
    return Extras(
        heads=heads,
        events=events,
        bars=bar_marks(bars, first, tally),
        slurs=curves(bars, heads, stands_for, tally),
        signs=signs.signs,
        tempo=signs.tempo,
        tuning=tuning,
        capo=capo,
    )


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
    passage = mended(guitar_parts.damped(passage, tally), whole_start=first == 0)
    return replace(passage, notices=tuple(dict.fromkeys((*passage.notices, *tally.notices()))))


def _parsed(tree: Element, name: str) -> Any:
    """The parser's score. Whatever it stumbles over is told as a fault of the file."""
    importer = music21("musicxml.xmlToM21").MusicXMLImporter
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return importer().xmlRootToScore(tree)
    except Exception as error:
        fact = f"the score cannot be followed: {one_line(str(error), 120) or type(error).__name__}"
        hint = "save it again from the program it came from"
        raise ReadError(Fault(fact=fact, hint=hint, place=Place(file=name))) from None
