"""Slurs, hammer-ons, pull-offs and slides of a part, matched from their two ends.

Rules: ends are matched in the order of time, within a voice first, then across voices; a stop on a note counts before a start
on it; a curve of technique takes the place of a plain slur over the same two notes.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree.ElementTree import Element

from engrave.model import Slur
from engrave.reading.notations import each, technical
from engrave.reading.tally import Tally
from engrave.reading.timeline import Walked

_KINDS = {"slur": "slur", "hammer-on": "hammer-on", "pull-off": "pull-off", "slide": "slide", "glissando": "slide"}


def slurs(bars: Sequence[Walked], staves: Sequence[int], stands_for: dict[str, str], tally: Tally) -> tuple[Slur, ...]:
    """Every curve between two heads of the given staves; `stands_for` renames heads of a tablature staff."""
    opened: dict[tuple[str, str, str, int], str] = {}
    made: list[Slur] = []
    for bar in bars:
        for item in sorted((i for i in bar.items if i.staff in staves), key=lambda i: (i.onset, not i.grace)):
            for stop in (True, False):
                for head in item.heads:
                    name = stands_for.get(head.id, head.id)
                    for kind, number in _ends(head.element, stop=stop):
                        key = (kind, number, item.voice, item.staff)
                        if not stop:
                            if key in opened:
                                tally.add("left out: slurs without an end", bar.label)
                            opened[key] = name
                            continue
                        start = _take(opened, key)
                        if start is None:
                            tally.add("left out: slurs without a beginning", bar.label)
                        elif start != name:
                            made.append(Slur(start=start, stop=name, kind=_KINDS[kind]))
    for _ in opened:
        tally.add("left out: slurs without an end", bars[-1].label)
    return _single(made)


def _ends(note: Element, *, stop: bool) -> list[tuple[str, str]]:
    wanted = "stop" if stop else "start"
    found = [e for tag in ("slur", "slide", "glissando") for e in each(note, tag)]
    found += [e for e in technical(note) if e.tag in ("hammer-on", "pull-off")]
    return [(e.tag, e.get("number", "1")) for e in found if e.get("type") == wanted]


def _take(opened: dict[tuple[str, str, str, int], str], key: tuple[str, str, str, int]) -> str | None:
    if key in opened:
        return opened.pop(key)
    other = next((k for k in opened if k[:2] == key[:2]), None)
    return opened.pop(other) if other else None


def _single(made: list[Slur]) -> tuple[Slur, ...]:
    played = {(slur.start, slur.stop) for slur in made if slur.kind != "slur"}
    kept = (slur for slur in made if slur.kind != "slur" or (slur.start, slur.stop) not in played)
    return tuple(dict.fromkeys(kept))
