"""MusicXML becomes a Passage: the choice of part, staff, voice and bars, then the parser, then what the parser loses.

The line: bytes → tree (safexml) → part and bars (parts, bars) → exact times (timeline) → voices (staves) → a clean small score
(skeleton) → music21 → Passage (streams) with marks (notations, curves, signs) → octave and strings (guitar) → loose ends (cut).
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
from engrave.reading import bars as by_number
from engrave.reading.curves import slurs
from engrave.reading.cut import mended
from engrave.reading.extras import BarMarks, EventMarks, Extras
from engrave.reading.guitar import damped, settle, tuning_of
from engrave.reading.limits import LIMITS, Limits
from engrave.reading.notations import event_marks, head_marks
from engrave.reading.parts import Part, all_parts, choose_part, partwise, text_of
from engrave.reading.safexml import parse
from engrave.reading.signs import read_signs
from engrave.reading.skeleton import Lane, score
from engrave.reading.staves import Chosen, all_lanes, choose_staff, from_tablature
from engrave.reading.streams import passage_from_score
from engrave.reading.tally import Tally
from engrave.reading.timeline import Walk, Walked

_STAFF = re.compile(r"(.*)/\s*(\d{1,2})\s*\Z", re.DOTALL)


def read_musicxml(data: bytes, name: str, *, part: str = "", voice: str = "", bars: str = "") -> Passage:
    """The passage in an unpacked MusicXML file.

    Args:
        data: the file.
        name: what messages and `Passage.source` call it.
        part: id, name, abbreviation or number of a part; "NAME/2" for its second staff.
        voice: number of a voice as the file counts, or several with commas.
        bars: printed numbers such as "5-8".

    Raises:
        ReadError: with one fault a line.
    """
    tree = partwise(parse(data, name), name)
    parts = all_parts(tree, name)
    wanted, staff = part, None
    split = _STAFF.match(part)
    if split and not any(part.strip().casefold() == p.name.casefold() for p in parts):
        wanted, staff = split[1], int(split[2])
    chosen = choose_part(parts, wanted, name)
    tally = Tally()
    walk, first = _walk(chosen, bars, name, tally, LIMITS)
    if walk.faults:
        raise ReadError(*walk.faults)
    return _passage(tree, parts, chosen, walk, tally, name, staff=staff, voice=voice, bars=bars, first=first)


def _walk(part: Part, asked: str, name: str, tally: Tally, limits: Limits) -> tuple[Walk, int]:
    """The bars asked for, read; and the index of the first of them."""
    measures = part.element.findall("measure")
    if not measures:
        raise ReadError(Fault(fact=f"part {part.label!r} has no bars", place=Place(file=name)))
    labels = _labels(measures)
    start, stop = by_number.bar_range(labels, asked, name) if asked.strip() else (0, len(measures) - 1)
    if stop - start + 1 > limits.bars:
        fact = f"{stop - start + 1:,} bars, the limit for one passage is {limits.bars}"
        hint = (
            f"choose some of bars {labels[start]} to {labels[stop]}, e.g. --bars {labels[start]}-{labels[start + 15]}"
        )
        raise ReadError(Fault(fact=fact, hint=hint, place=Place(file=name)))
    walk = Walk(name, tally, limits)
    for measure in measures[:start]:
        walk.skip(measure)
    for measure, label in zip(measures[start : stop + 1], labels[start : stop + 1], strict=True):
        walk.read(measure, label)
    count = sum(len(bar.items) for bar in walk.bars)
    if count > limits.notes:
        fact = f"{count:,} notes and rests, the limit for one passage is {limits.notes:,}"
        raise ReadError(Fault(fact=fact, hint="choose fewer bars with --bars", place=Place(file=name)), *walk.faults)
    return walk, start


def _labels(measures: Sequence[Element]) -> list[str]:
    """Bar numbers as printed: the pickup is 0, what the file does not number is counted on."""
    labels: list[str] = []
    for index, measure in enumerate(measures):
        label = one_line(measure.get("number") or "", 20).replace(" ", "")
        if not label:
            before = labels[-1] if labels else "0"
            label = str(int(before) + 1) if before.isdecimal() else str(index + 1)
        labels.append(label)
    after = labels[1] if len(labels) > 1 else ""
    if measures[0].get("implicit") == "yes" and (not labels[0].isdecimal() or labels[0] == after == "1"):
        labels[0] = "0"
    return labels


def _passage(
    tree: Element,
    parts: Sequence[Part],
    part: Part,
    walk: Walk,
    tally: Tally,
    name: str,
    *,
    staff: int | None,
    voice: str,
    bars: str,
    first: int,
) -> Passage:
    walked = walk.bars
    tabs = frozenset(s for s, (sign, _) in walk.now.clefs.items() if sign.upper() == "TAB")
    chosen = choose_staff(walked, tabs, staff, name)
    lanes, left = all_lanes(walked, chosen.staff, voice, name, tally)
    if not any(item.heads for row in lanes for one in row for item in one.items):
        where = f"bars {one_line(bars, 60)}" if bars.strip() else "the part"
        known = "; ".join(f"{p.number} {p.label}" for p in parts if p.has_notes())
        fault = Fault(fact=f"there is no note in {where} of part {part.label!r}", hint=f"parts with notes: {known}")
        raise ReadError(replace(fault, place=Place(file=name)))
    heads = {
        head.id: head_marks(head.element, bar.label, tally)
        for bar in walked
        for item in bar.items
        if item.staff == chosen.staff or item.staff in chosen.tabs
        for head in item.heads
    }
    heads, stands_for = from_tablature(walked, chosen, heads, tally)
    signs = read_signs(walked, chosen.staff, chosen.tabs, tally)
    tuning, capo = tuning_of((walk.now.details[s] for s in sorted(walk.now.details)), tally)
    curves = slurs(walked, (chosen.staff, *chosen.tabs), stands_for, tally)
    extras = Extras(
        heads=heads,
        events=_events(walked, lanes, tally),
        bars=_bars(walked, first, tally, part.element),
        slurs=curves,
        signs=signs.signs,
        title=_title(tree),
        composer=_creator(tree),
        rights=text_of(tree, "identification/rights"),
        part=part.label if len(parts) > 1 else "",
        tempo=signs.tempo,
        tuning=tuning,
        capo=capo,
    )
    passage = passage_from_score(_parsed(score(walked, lanes), name), name, extras=extras)
    passage = replace(passage, cut=one_line(bars, 40))
    strings = tuning is not None or any(
        m.given.string or m.given.fret is not None or m.given.pluck for m in heads.values()
    )
    clefs = {} if chosen.staff not in walk.now.clefs else dict((walk.now.clefs[chosen.staff],))
    passage = settle(passage, fretted=part.fretted or strings, clefs=clefs or {"G": 0}, told=bool(walk.now.moves))
    passage = mended(damped(passage, tally))
    said = (*_choices(parts, part, chosen, left), *passage.notices, *tally.notices())
    return replace(passage, notices=tuple(dict.fromkeys(said)))


def _choices(parts: Sequence[Part], part: Part, chosen: Chosen, left: Sequence[str]) -> tuple[Notice, ...]:
    """What was passed over when part, staff and voices were chosen."""
    notices: list[Notice] = []
    others = [p.label for p in parts if p is not part and p.has_notes()]
    if others:
        notices.append(Notice(text=f"part read: {part.label}; left out: {', '.join(others)}"))
    if chosen.others:
        known = ", ".join(f"{part.label}/{s}" for s in chosen.others)
        notices.append(Notice(text=f"staff {chosen.staff} is read; left out: {known}"))
    if left:
        notices.append(Notice(text=f"left out: voice {', '.join(left)}"))
    return tuple(notices)


def _events(walked: Sequence[Walked], lanes: Sequence[Sequence[Lane]], tally: Tally) -> dict[str, EventMarks]:
    marks: dict[str, EventMarks] = {}
    for bar, row in zip(walked, lanes, strict=True):
        for one in row:
            for item in one.items:
                notes = [head.element for head in item.heads] or [item.element]
                grace = item.element.find("grace")
                marks[item.id] = EventMarks(
                    voice=one.voice,
                    marks=event_marks(notes, bar.label, tally) if item.heads else (),
                    slash=grace is not None and grace.get("slash") == "yes",
                    space=item.hidden,
                    bar_rest=item.bar_rest,
                )
    return marks


_LINES = {
    "light-light": "double",
    "light-heavy": "final",
    "heavy-heavy": "final",
    "heavy-light": "double",
    "heavy": "final",
    "dashed": "dashed",
    "dotted": "dotted",
    "none": "invisible",
}


def _bars(walked: Sequence[Walked], first: int, tally: Tally, part: Element) -> tuple[BarMarks, ...]:
    """Repeats, endings and bar lines as the file draws them."""
    made: list[BarMarks] = []
    ending = ""
    for index, bar in enumerate(walked):
        start, times, line, closes = False, 0, "single", False
        for found in bar.element.findall("barline"):
            repeat = found.find("repeat")
            if repeat is not None and repeat.get("direction") == "forward":
                start = True
            elif repeat is not None and repeat.get("direction") == "backward":
                asked = repeat.get("times", "2")
                times = int(asked) if asked.isdecimal() and len(asked) < 3 and int(asked) >= 2 else 2
            volta = found.find("ending")
            if volta is not None and volta.get("type") == "start":
                ending = one_line(volta.get("number") or volta.text or "1", 20)
            elif volta is not None:
                closes = True
            if found.get("location", "right") == "right":
                line = _LINES.get((found.findtext("bar-style") or "").strip(), "single")
            if found.find("fermata") is not None:
                tally.add("left out: a fermata on a bar line", bar.label)
        made.append(
            BarMarks(
                label=bar.label,
                implicit=bar.element.get("implicit") == "yes",
                first=first + index == 0,
                repeat_start=start,
                repeat_end=times,
                ending=ending,
                barline=line,
                unmetred=bar.unmetred,
            )
        )
        if start or times or ending:
            tally.add("repeats and endings are printed, not written out", bar.label)
        if closes:
            ending = ""
    del part
    return tuple(made)


def _title(tree: Element) -> str:
    work, movement = text_of(tree, "work/work-title"), text_of(tree, "movement-title")
    if work and movement and work.casefold() != movement.casefold():
        return f"{work}: {movement}"
    return work or movement or _credit(tree, "title")


def _creator(tree: Element) -> str:
    found = tree.findall("identification/creator")
    kinds = ("composer", "arranger", "")
    for kind in kinds:
        for creator in found:
            if (creator.get("type") or "") == kind and (creator.text or "").strip():
                said = one_line(creator.text or "", LIMITS.words)
                return f"arr. {said}" if kind == "arranger" else said
    return _credit(tree, "composer")


def _credit(tree: Element, kind: str) -> str:
    for credit in tree.findall("credit"):
        if (credit.findtext("credit-type") or "").strip() == kind:
            return text_of(credit, "credit-words")
    return ""


def _parsed(tree: Element, name: str) -> Any:
    """The parser's score. Whatever it stumbles over is told as a fault of the file."""
    from music21.musicxml import xmlToM21  # noqa: PLC0415  (slow to import: only when needed)

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            importer: Any = xmlToM21.MusicXMLImporter
            return importer().xmlRootToScore(tree)
    except Exception as error:
        fact = f"the score cannot be followed: {one_line(str(error), 120) or type(error).__name__}"
        raise ReadError(
            Fault(fact=fact, hint="save it again from the program it came from", place=Place(file=name))
        ) from None
