"""A part of tablature that stands beside the part read: its strings and frets, as those of a tablature staff.

Some programs write the two staves of a guitar as two parts. The neighbouring part is taken for the same music where all
its clefs are TAB, it has as many bars, and most of its notes have a partner of the same time and pitch.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engrave.reading.limits import Limits
from engrave.reading.musicxml.parts import Part
from engrave.reading.musicxml.timed_notes import TimedNote, Walked
from engrave.reading.musicxml.timeline import Walk
from engrave.reading.tally import Tally

STAFF = 100
"""number given to the staff of a neighbouring part; above any a file can use"""


def is_tablature(part: Part) -> bool:
    """Whether a part has TAB clefs only."""
    signs = [(found.text or "").strip() for found in part.element.iterfind("measure/attributes/clef/sign")]
    return bool(signs) and set(signs) == {"TAB"}


def beside(parts: Sequence[Part], chosen: Part) -> Part | None:
    """The tablature part next to the one chosen, if there is one of the same length."""
    length = len(chosen.element.findall("measure"))
    for part in parts:
        near = abs(part.number - chosen.number) == 1
        if near and is_tablature(part) and not is_tablature(chosen) and len(part.element.findall("measure")) == length:
            return part
    return None


def join(walk: Walk, tab: Part, start: int, limits: Limits) -> bool:
    """Puts the notes of a tablature part beside those of `walk`, as staff STAFF, if they are the same; tells if so."""
    other = Walk(walk.name, Tally(), limits)
    measures = tab.element.findall("measure")
    for measure in measures[:start]:
        other.skip(measure)
    for measure, bar in zip(measures[start : start + len(walk.bars)], walk.bars, strict=True):
        other.read(measure, bar.label)
    if other.faults or not _same(walk.bars, other.bars):
        return False
    for bar, beside_it in zip(walk.bars, other.bars, strict=True):
        bar.items += [_moved(item) for item in beside_it.items]
    walk.now.details.update({STAFF + number: found for number, found in other.now.details.items()})
    return True


def _moved(item: TimedNote) -> TimedNote:
    heads = tuple(replace(head, id=f"t{head.id}") for head in item.heads)
    return replace(item, id=f"t{item.id}", heads=heads, staff=STAFF)


def _same(bars: Sequence[Walked], tabs: Sequence[Walked]) -> bool:
    found = total = 0
    for bar, tab in zip(bars, tabs, strict=True):
        plain = {(item.onset, head.pitch.midi % 12) for item in bar.items for head in item.heads}
        told = [(item.onset, head.pitch.midi % 12) for item in tab.items for head in item.heads]
        total += len(told)
        found += sum(1 for one in told if one in plain)
    return total > 0 and 2 * found > total
