"""Tuplets of one voice in one bar: as the file draws them where that explains every ratio, else counted."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from xml.etree.ElementTree import Element

from engrave.reading.limits import LIMITS
from engrave.reading.musicxml.notations import each
from engrave.reading.musicxml.timed_notes import TimedNote
from engrave.reading.note_values import Chain, counted
from engrave.reading.numbers import whole


def chains_over(items: Sequence[TimedNote]) -> tuple[Chain, ...]:
    """The tuplets over each item; none over grace notes."""
    timed = [item for item in items if not item.grace]
    found = iter(_drawn(timed) or counted(map(_run, timed)))
    return tuple(() if item.grace else next(found) for item in items)


def _run(item: TimedNote) -> tuple[Fraction, Fraction, tuple[int, int], bool]:
    value = item.value.quarters if item.value else item.length
    joined = any(b.get("number", "1") == "1" and b.text in ("begin", "continue") for b in item.element.findall("beam"))
    return item.length, value, item.ratio, joined


def _drawn(items: Sequence[TimedNote]) -> list[Chain] | None:
    """The brackets the file draws; None where it draws none, or other ratios than the notes have."""
    keys = 0
    opened: list[tuple[str, tuple[int, int, int]]] = []
    chains: list[Chain] = []
    for item in items:
        ends = list(each(item.element, "tuplet"))
        starts = sorted((e for e in ends if e.get("type") == "start"), key=lambda e: e.get("number", "1"))
        for place, found in enumerate(starts):
            ratio = _own_ratio(found) or _left(item, opened, last=place == len(starts) - 1)
            keys += 1
            opened.append((found.get("number", "1"), (keys, *ratio)))
        if len(opened) > LIMITS.tuplet_depth:
            return None
        chain = tuple(one for _, one in opened)
        if _product(chain) != Fraction(*item.ratio) or any((a, n) == (1, 1) for _, a, n in chain):
            return None
        chains.append(chain)
        stops = {e.get("number", "1") for e in ends if e.get("type") == "stop"}
        opened = [one for one in opened if one[0] not in stops]
    return chains if keys else None


def _left(item: TimedNote, opened: Sequence[tuple[str, tuple[int, int, int]]], *, last: bool) -> tuple[int, int]:
    """The ratio a bracket without figures of its own must have: what the brackets around it leave over."""
    held = _product(tuple(one for _, one in opened))
    if held == 1 and last:
        return item.ratio
    rest = Fraction(*item.ratio) / held
    return rest.numerator, rest.denominator


def _product(chain: Chain) -> Fraction:
    product = Fraction(1)
    for _, actual, normal in chain:
        product *= Fraction(actual, normal)
    return product


def _own_ratio(found: Element) -> tuple[int, int] | None:
    actual = whole(found.findtext("tuplet-actual/tuplet-number"), 1, LIMITS.tuplet)
    normal = whole(found.findtext("tuplet-normal/tuplet-number"), 1, LIMITS.tuplet)
    return (actual, normal) if actual and normal else None
