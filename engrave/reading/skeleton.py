"""A clean, small score for the parser proper: exact lengths, whole brackets, one staff, nothing it would stumble over.

Each head and rest carries its id in the `color` attribute: of a note's attributes the parser keeps that one unread.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from xml.etree.ElementTree import Element, SubElement

from engrave.reading.notations import each
from engrave.reading.timeline import TYPES, Head, Item, Walked, metre_pairs, number
from engrave.reading.values import brackets

_NAMES = {kind: name for name, kind in TYPES.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bracket:
    """A tuplet over a note: depth from 1 (outermost), ratio, and whether it begins or ends here."""

    actual: int
    normal: int
    start: bool
    stop: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """One voice of one bar: items in order, none over another."""

    voice: int
    items: tuple[Item, ...]
    brackets: tuple[tuple[Bracket, ...], ...]
    """of each item, outermost first"""


def lane(voice: int, items: Sequence[Item]) -> Lane:
    """A voice with its tuplets grouped."""
    return Lane(voice=voice, items=tuple(items), brackets=_grouped(items))


def score(bars: Sequence[Walked], lanes: Sequence[Sequence[Lane]]) -> Element:
    """The part as a score-partwise element with one part."""
    root = Element("score-partwise", {"version": "4.0"})
    listed = SubElement(SubElement(root, "part-list"), "score-part", {"id": "P1"})
    SubElement(listed, "part-name").text = "Passage"
    part = SubElement(root, "part", {"id": "P1"})
    denominators = {
        f.denominator for row in lanes for one in row for item in one.items for f in (item.onset, item.length)
    }
    divisions = lcm(*denominators) if denominators else 1
    for index, bar in enumerate(bars):
        measure = SubElement(part, "measure", {"number": str(index + 1)})
        attributes = SubElement(measure, "attributes")
        if index == 0:
            SubElement(attributes, "divisions").text = str(divisions)
        if bar.key is not None:
            key = SubElement(attributes, "key")
            SubElement(key, "fifths").text = str(bar.key[0])
            if bar.key[1] in ("major", "minor"):
                SubElement(key, "mode").text = bar.key[1]
        _metre(attributes, bar)
        at = Fraction(0)
        for one in lanes[index]:
            _move(measure, at, Fraction(0), divisions, one.voice)
            at = _voice(measure, one, divisions)
    return root


def _metre(attributes: Element, bar: Walked) -> None:
    pairs = metre_pairs(bar.metre)
    if not pairs or bar.metre is None:
        return
    sign = bar.metre.get("symbol", "")
    time = SubElement(attributes, "time", {"symbol": sign} if sign in ("common", "cut") else {})
    for tops, unit in pairs:
        SubElement(time, "beats").text = "+".join(map(str, tops))
        SubElement(time, "beat-type").text = str(unit)


def _move(measure: Element, at: Fraction, to: Fraction, divisions: int, voice: int) -> None:
    if at == to:
        return
    jump = SubElement(measure, "backup" if to < at else "forward")
    SubElement(jump, "duration").text = str(int(abs(to - at) * divisions))
    if to > at:
        SubElement(jump, "voice").text = str(voice)


def _voice(measure: Element, one: Lane, divisions: int) -> Fraction:
    at = Fraction(0)
    for item, over in zip(one.items, one.brackets, strict=True):
        _move(measure, at, item.onset, divisions, one.voice)
        at = item.end
        for place, head in enumerate(item.heads or (None,)):
            _note(measure, item, head, over, divisions, one.voice, chord=place > 0)
    return at


def _note(
    measure: Element,
    item: Item,
    head: Head | None,
    over: tuple[Bracket, ...],
    divisions: int,
    voice: int,
    *,
    chord: bool,
) -> None:
    note = SubElement(measure, "note", {"color": head.id if head else item.id})
    if item.grace:
        SubElement(note, "grace")
    if chord:
        SubElement(note, "chord")
    if head is None:
        SubElement(note, "rest")
    else:
        pitch = SubElement(note, "pitch")
        SubElement(pitch, "step").text = head.pitch.step
        SubElement(pitch, "alter").text = str(head.pitch.alter)
        SubElement(pitch, "octave").text = str(head.pitch.octave)
    if not item.grace:
        SubElement(note, "duration").text = str(int(item.length * divisions))
    for kind in ("stop", "start") if head else ():
        if head is not None and tied(head.element, kind):
            SubElement(note, "tie", {"type": kind})
    SubElement(note, "voice").text = str(voice)
    if item.value is not None and not item.bar_rest:
        SubElement(note, "type").text = _NAMES[item.value.kind]
        for _ in range(item.value.dots):
            SubElement(note, "dot")
    elif item.grace:
        SubElement(note, "type").text = "eighth"
    if over:
        _tuplets(note, item, over, marked=not chord)


def _tuplets(note: Element, item: Item, over: tuple[Bracket, ...], *, marked: bool) -> None:
    changed = SubElement(note, "time-modification")
    SubElement(changed, "actual-notes").text = str(item.ratio[0])
    SubElement(changed, "normal-notes").text = str(item.ratio[1])
    if not marked:
        return
    notations = SubElement(note, "notations")
    for depth, bracket in enumerate(over, start=1):
        if bracket.start:
            tuplet = SubElement(notations, "tuplet", {"type": "start", "number": str(depth)})
            SubElement(SubElement(tuplet, "tuplet-actual"), "tuplet-number").text = str(bracket.actual)
            SubElement(SubElement(tuplet, "tuplet-normal"), "tuplet-number").text = str(bracket.normal)
    for depth, bracket in enumerate(over, start=1):
        if bracket.stop:
            SubElement(notations, "tuplet", {"type": "stop", "number": str(depth)})


def tied(note: Element, kind: str) -> bool:
    """Whether a <note> has a tie of this kind (start or stop), sounding or only drawn."""
    if any(found.get("type") == kind for found in note.findall("tie")):
        return True
    return any(found.get("type") in (kind, "continue") for found in each(note, "tied"))


def _grouped(items: Sequence[Item]) -> tuple[tuple[Bracket, ...], ...]:
    """Brackets as the file draws them, where that explains every ratio; else counted."""
    drawn = _drawn(items)
    chains = drawn if drawn is not None else _counted(items)
    out: list[tuple[Bracket, ...]] = []
    timed = [index for index, item in enumerate(items) if not item.grace]
    after = dict(zip(timed, timed[1:], strict=False))
    before = {b: a for a, b in after.items()}
    for index, item in enumerate(items):
        chain = chains[index]
        if item.grace or not chain:
            out.append(())
            continue
        earlier = {key for key, _, _ in chains[before[index]]} if index in before else set()
        later = {key for key, _, _ in chains[after[index]]} if index in after else set()
        out.append(
            tuple(Bracket(actual=a, normal=n, start=key not in earlier, stop=key not in later) for key, a, n in chain)
        )
    return tuple(out)


_Chain = list[tuple[int, int, int]]
"""(key of the bracket, actual, normal), outermost first"""


def _drawn(items: Sequence[Item]) -> list[_Chain] | None:
    keys = 0
    opened: list[tuple[str, tuple[int, int, int]]] = []
    chains: list[_Chain] = []
    any_drawn = False
    for item in items:
        if item.grace:
            chains.append([])
            continue
        starts = [found for found in each(item.element, "tuplet") if found.get("type") == "start"]
        stops = [found.get("number", "1") for found in each(item.element, "tuplet") if found.get("type") == "stop"]
        for place, found in enumerate(starts):
            any_drawn = True
            held = Fraction(1)
            for _, (_, actual, normal) in opened:
                held *= Fraction(actual, normal)
            ratio = _own_ratio(found)
            if ratio is None:
                left = Fraction(*item.ratio) / held
                plain = held == 1 and place == len(starts) - 1
                ratio = item.ratio if plain else (left.numerator, left.denominator)
            if ratio == (1, 1):
                return None
            keys += 1
            opened.append((found.get("number", "1"), (keys, *ratio)))
        chain = [one for _, one in opened]
        product = Fraction(1)
        for _, actual, normal in chain:
            product *= Fraction(actual, normal)
        if product != Fraction(*item.ratio):
            return None
        chains.append(chain)
        for stop in stops:
            opened = [one for one in opened if one[0] != stop]
    return chains if any_drawn else None


def _own_ratio(found: Element) -> tuple[int, int] | None:
    actual = number(found.findtext("tuplet-actual/tuplet-number"), 1, 64)
    normal = number(found.findtext("tuplet-normal/tuplet-number"), 1, 64)
    return (actual, normal) if actual and normal else None


def _counted(items: Sequence[Item]) -> list[_Chain]:
    timed = [item for item in items if not item.grace]
    starts = iter(
        brackets([(i.length, i.value.quarters if i.value else i.length, i.ratio, _joined(i.element)) for i in timed])
    )
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
