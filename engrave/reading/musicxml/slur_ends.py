"""Slurs, hammer-ons, pull-offs and slides of a part, matched from their two ends.

Rules: ends are matched in the order of time, within a voice first, then across voices; a stop on a note counts before a
start on it; a curve of technique takes the place of a plain slur over the same two notes.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from xml.etree.ElementTree import Element

from engrave.model import Slur
from engrave.model.said import say
from engrave.reading.musicxml.notations import each, technical
from engrave.reading.musicxml.timed_notes import NoteHead, TimedNote, Walked
from engrave.reading.numbers import whole
from engrave.reading.tally import Tally

_KINDS = {"slur": "slur", "hammer-on": "hammer-on", "pull-off": "pull-off", "slide": "slide", "glissando": "slide"}
_LOOSE = say("left out: slurs of which only one end is there")
_Open = dict[tuple[str, int], dict[tuple[str, int], tuple[str, str]]]
"""(element, number) → (voice, staff) → id of the head it begins on, label of its bar"""


def curves(
    bars: Sequence[Walked], heads: Container[str], stands_for: Mapping[str, str], tally: Tally
) -> tuple[Slur, ...]:
    """Every curve between two of the given heads; `stands_for` renames heads of a tablature staff."""
    opened: _Open = {}
    made: list[Slur] = []
    for bar, item, head in _in_time(bars, heads):
        name = stands_for.get(head.id, head.id)
        for kind, number in _ends(head.element, "stop"):
            start = _take(opened.get((kind, number), {}), (item.voice, item.staff))
            if start is None:
                tally.add(_LOOSE, bar.label)
            elif start[0] != name:
                made.append(Slur(start=start[0], stop=name, kind=_KINDS[kind]))
        for kind, number in _ends(head.element, "start"):
            begun = opened.setdefault((kind, number), {})
            if (item.voice, item.staff) in begun:
                tally.add(_LOOSE, begun[item.voice, item.staff][1])
            begun[item.voice, item.staff] = (name, bar.label)
    for _, label in (one for begun in opened.values() for one in begun.values()):
        tally.add(_LOOSE, label)
    played = {(slur.start, slur.stop) for slur in made if slur.kind != "slur"}
    kept = (slur for slur in made if slur.kind != "slur" or (slur.start, slur.stop) not in played)
    return tuple(dict.fromkeys(kept))


def _in_time(bars: Sequence[Walked], heads: Container[str]) -> Iterator[tuple[Walked, TimedNote, NoteHead]]:
    for bar in bars:
        for item in sorted(bar.items, key=lambda i: (i.onset, not i.grace)):
            for head in item.heads:
                if head.id in heads:
                    yield bar, item, head


def _ends(note: Element, wanted: str) -> list[tuple[str, int]]:
    found = [e for tag in ("slur", "slide", "glissando") for e in each(note, tag)]
    found += [e for e in technical(note) if e.tag in ("hammer-on", "pull-off")]
    return [(e.tag, whole(e.get("number"), 1, 16) or 1) for e in found if e.get("type") == wanted]


def _take(begun: dict[tuple[str, int], tuple[str, str]], where: tuple[str, int]) -> tuple[str, str] | None:
    """The beginning that belongs to an end: of its voice and staff, else the oldest of another."""
    if where not in begun and not begun:
        return None
    return begun.pop(where if where in begun else next(iter(begun)))
