"""Tuplets of one voice in one bar: as the file draws them where that explains every ratio, else counted."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from xml.etree.ElementTree import Element

from engrave.reading.extras import TupletBracket
from engrave.reading.limits import LIMITS
from engrave.reading.musicxml.notations import each
from engrave.reading.musicxml.timed_notes import TimedNote
from engrave.reading.note_values import brackets
from engrave.reading.numbers import whole

_Chain = list[tuple[int, int, int]]
"""(key of the bracket, actual, normal), outermost first"""


def grouped(items: Sequence[TimedNote]) -> tuple[tuple[TupletBracket, ...], ...]:
    """The brackets over each item, outermost first; none over grace notes."""
    drawn = _drawn(items)
    chains = _counted(items) if drawn is None else drawn
    timed = [index for index, item in enumerate(items) if not item.grace]
    after = dict(pairwise(timed))
    before = {later: earlier for earlier, later in after.items()}
    out: list[tuple[TupletBracket, ...]] = []
    for index, chain in enumerate(chains):
        earlier = {key for key, _, _ in chains[before[index]]} if index in before else set()
        later = {key for key, _, _ in chains[after[index]]} if index in after else set()
        out.append(
            tuple(
                TupletBracket(actual=a, normal=n, start=key not in earlier, stop=key not in later)
                for key, a, n in chain
            )
        )
    return tuple(out)


def _drawn(items: Sequence[TimedNote]) -> list[_Chain] | None:
    """The brackets the file draws; None where it draws none, or other ratios than the notes have."""
    keys = 0
    opened: list[tuple[str, tuple[int, int, int]]] = []
    chains: list[_Chain] = []
    for item in items:
        if item.grace:
            chains.append([])
            continue
        ends = list(each(item.element, "tuplet"))
        starts = sorted((e for e in ends if e.get("type") == "start"), key=lambda e: e.get("number", "1"))
        for place, found in enumerate(starts):
            ratio = _own_ratio(found) or _left(item, opened, last=place == len(starts) - 1)
            keys += 1
            opened.append((found.get("number", "1"), (keys, *ratio)))
        if len(opened) > LIMITS.tuplet_depth:
            return None
        chain = [one for _, one in opened]
        if _product(chain) != Fraction(*item.ratio) or any((a, n) == (1, 1) for _, a, n in chain):
            return None
        chains.append(chain)
        stops = {e.get("number", "1") for e in ends if e.get("type") == "stop"}
        opened = [one for one in opened if one[0] not in stops]
    return chains if keys else None


def _left(item: TimedNote, opened: Sequence[tuple[str, tuple[int, int, int]]], *, last: bool) -> tuple[int, int]:
    """The ratio a bracket without figures of its own must have: what the brackets around it leave over."""
    held = _product([one for _, one in opened])
    if held == 1 and last:
        return item.ratio
    rest = Fraction(*item.ratio) / held
    return rest.numerator, rest.denominator


def _product(chain: _Chain) -> Fraction:
    product = Fraction(1)
    for _, actual, normal in chain:
        product *= Fraction(actual, normal)
    return product


def _own_ratio(found: Element) -> tuple[int, int] | None:
    actual = whole(found.findtext("tuplet-actual/tuplet-number"), 1, LIMITS.tuplet)
    normal = whole(found.findtext("tuplet-normal/tuplet-number"), 1, LIMITS.tuplet)
    return (actual, normal) if actual and normal else None


def _counted(items: Sequence[TimedNote]) -> list[_Chain]:
    timed = [item for item in items if not item.grace]
    run = [(i.length, i.value.quarters if i.value else i.length, i.ratio, _joined(i.element)) for i in timed]
    starts = iter(brackets(run))
    key = 0
    chains: list[_Chain] = []
    for item in items:
        if item.grace:
            chains.append([])
            continue
        key += next(starts)
        chains.append([] if item.ratio == (1, 1) else [(key, *item.ratio)])
    return chains


def _joined(note: Element) -> bool:
    return any(b.get("number", "1") == "1" and b.text in ("begin", "continue") for b in note.findall("beam"))
