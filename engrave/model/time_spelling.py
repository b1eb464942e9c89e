"""How a span of time in a bar is written: values, dots, ties and tuplets.

Rules, all common practice:
- A bar is a tree: bar, half bars or beat groups, beats, halves of beats … A compound beat has three parts, a simple
  one two.
- A note may be one value if it fills a node of the tree; if it is a dotted value that starts or ends with a node cut
  in two (half bar, beat); or if it is a syncopation in the middle of such a node, as quarter-half-quarter is in 4/4.
  In a node of three parts it may fill two neighbouring ones, run one part and a half from the start of a part (within
  a compound beat also to the end of one), or lie over one border from the middle of a part to the middle of the next.
- Anything else is cut at the strongest border it crosses and tied, so the middle of the bar and the beats can be seen.
- A rest stays within its node: it fills it, or two thirds of a compound beat from its start, or starts a beat (or a
  part of one) as a dotted rest.
- One dot at most: a longer chain is tied.
- A stretch in which notes start off the grid of halves is a tuplet; its bracket runs from the last place on the grid
  to the next one.

Lengths and places are Fractions of a quarter; a place is counted from the start of a full bar, so a pickup starts late.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import accumulate
from math import lcm

from engrave.model.passage import Metre, Tuplet, Value

SHORTEST = Fraction(1, 64)
"""the shortest value that can be written, a 256th, in quarters"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One written value of a span; the pieces of a note are tied to each other, those of a rest just follow."""

    length: Fraction
    """how long it lasts, in quarters"""
    value: Value
    tuplets: tuple[Tuplet, ...] = ()


_Span = tuple[int, Fraction, bool]
"""index of the span it is part of, length in quarters, is a rest"""


@dataclass(frozen=True, slots=True)
class _Node:
    """A stretch of the bar as a player counts it: cut in two, cut in three, or a row of groups."""

    start: Fraction
    end: Fraction
    parts: tuple[_Node, ...]
    """empty below which every node is halved again and again"""

    @property
    def length(self) -> Fraction:
        return self.end - self.start

    def children(self) -> tuple[_Node, ...]:
        if self.parts:
            return self.parts
        middle = (self.start + self.end) / 2
        return (_Node(self.start, middle, ()), _Node(middle, self.end, ()))

    @property
    def halves(self) -> bool:
        """Whether it is cut in the middle."""
        return not self.parts or (len(self.parts) == 2 and self.parts[0].length == self.parts[1].length)


def single(length: Fraction, most_dots: int = 1) -> Value | None:
    """The value with no more than so many dots that lasts `length` quarters, or None."""
    for dots in range(most_dots + 1):
        plain = length / (2 - Fraction(1, 2**dots))
        if plain == 8:
            return Value(kind=0, dots=dots)
        kind = 4 / plain if plain > 0 else Fraction(0)
        if kind.denominator == 1 and kind <= 256 and _power_of_two(kind.numerator):
            return Value(kind=kind.numerator, dots=dots)
    return None


def ratio(length: Fraction, parts: int) -> tuple[int, int]:
    """(actual, normal) of a tuplet in which a stretch of `length` quarters is cut into `parts` equal ones.

    `normal` is the largest number below `parts` that divides the stretch into plain values: 3:2 and 5:4 in a beat, 5:3
    in three beats. Raises ValueError where the stretch itself cannot be written.
    """
    if not _power_of_two(length.denominator) or parts < 2:
        raise ValueError(f"no tuplet of {parts} in {length} quarters")
    normal = odd_part(length.numerator)
    while normal * 2 < parts:
        normal *= 2
    return parts, normal


def split(start: Fraction, length: Fraction, metre: Metre, *, rest: bool = False) -> tuple[Value, ...]:
    """The values, to be tied one to the next, that write a note (or rest) of `length` quarters at `start` in a bar.

    The sum is exact. A span that runs past the metre goes on in a next bar of the same kind. Raises ValueError where
    the length is not made of plain values down to SHORTEST: see `write` for tuplets.
    """
    if start < 0 or length <= 0:
        raise ValueError(f"no note lasts {length} quarters at {start}")
    if any(x % SHORTEST for x in (start, length)):
        raise ValueError(f"{length} quarters at {start} is not made of plain values")
    tree = _bar(metre)
    skipped = start // tree.length * tree.length
    start, end = start - skipped, start - skipped + length
    values: list[Value] = []
    while start < end:
        stop = min(end, tree.length)
        values += _cut(start, stop, tree, rest, metre.beat)
        start, end = Fraction(0), end - stop
    return tuple(values)


def write(
    spans: Sequence[tuple[Fraction, bool]], metre: Metre, *, offset: Fraction = Fraction(0), first_tuplet: int = 1
) -> tuple[tuple[Piece, ...], ...]:
    """How the spans of one voice in one bar are written: for each span its pieces, in order.

    `spans` are (length in quarters, is a rest), one after another from the start of the bar; `offset` is where in the
    metre the bar starts (a pickup); tuplets get ids from `first_tuplet` on. Raises ValueError where a tuplet does not
    close before the bar ends.
    """
    made: list[list[Piece]] = [[] for _ in spans]
    tuplet = first_tuplet
    for start, run in _runs(spans, metre, offset):
        length = sum((span for _, span, _ in run), Fraction(0))
        if len(run) == 1 and _plain(start + length):
            index, _, rest = run[0]
            made[index] += [Piece(length=v.quarters, value=v) for v in split(start, length, metre, rest=rest)]
        else:
            _write_tuplet(run, length, tuplet, made)
            tuplet += 1
    return tuple(tuple(pieces) for pieces in made)


def _runs(spans: Sequence[tuple[Fraction, bool]], metre: Metre, offset: Fraction) -> list[tuple[Fraction, list[_Span]]]:
    """(start, spans) of each stretch from grid to grid: a single span, or what stands under one bracket.

    A bracket longer than a beat holds parts of its own size only (a triplet of quarters); else it is cut at the beats.
    """
    runs: list[tuple[Fraction, list[_Span]]] = []
    start = place = offset
    run: list[_Span] = []
    for index, (length, rest) in enumerate(spans):
        if length <= 0:
            raise ValueError(f"no note lasts {length} quarters")
        run.append((index, length, rest))
        place += length
        if _plain(place):
            whole = len(run) == 1 or place - start <= metre.beat or _even(run, place - start)
            runs += [(start, run)] if whole else _at_beats(start, run, metre.beat)
            start, run = place, []
    if run:
        raise ValueError(f"a tuplet that starts at {start} is not complete at {place}")
    return runs


def _even(run: list[_Span], length: Fraction) -> bool:
    """Whether all spans are whole parts of the tuplet that fills `length`."""
    part = length / lcm(*(odd_part(span.denominator) for _, span, _ in run))
    return all(span % part == 0 for _, span, _ in run)


def _at_beats(start: Fraction, run: list[_Span], beat: Fraction) -> list[tuple[Fraction, list[_Span]]]:
    """A run cut at the beats; whole beats of one span stay together."""
    runs: list[tuple[Fraction, list[_Span]]] = []
    place, here = start, list[_Span]()
    for index, length, rest in run:
        end = place + length
        while place < end:
            border = (place // beat + 1) * beat
            if not here and end >= border:
                border = max(border, end // beat * beat)
            stop = min(end, border)
            here.append((index, stop - place, rest))
            place = stop
            if _plain(place):
                runs.append((start, here))
                start, here = place, []
    return runs


def _write_tuplet(run: list[_Span], length: Fraction, number: int, made: list[list[Piece]]) -> None:
    """Write the spans of one bracket into `made`."""
    places = accumulate(span for _, span, _ in run)
    parts = lcm(*(odd_part(place.denominator) for place in places))
    actual, normal = ratio(length, parts)
    mark = Tuplet(id=number, actual=actual, normal=normal)
    stretch = Fraction(actual, normal)
    part = length * stretch / parts
    tree = _row([_Node(part * i, part * (i + 1), ()) for i in range(parts)])
    at = Fraction(0)
    for index, span, rest in run:
        written = span * stretch
        if written % SHORTEST or at % SHORTEST:
            raise ValueError(f"{span} quarters under {actual}:{normal} cannot be written")
        for value in _cut(at, at + written, tree, rest, part):
            made[index].append(Piece(length=value.quarters / stretch, value=value, tuplets=(mark,)))
        at += written


@cache
def _bar(metre: Metre) -> _Node:
    """The tree of a bar."""
    unit = Fraction(4, metre.unit)
    groups: list[_Node] = []
    at = Fraction(0)
    for length in metre.groups:
        groups.append(_row([_Node(at + unit * i, at + unit * (i + 1), ()) for i in range(int(length / unit))]))
        at += length
    return _row(groups)


def _row(nodes: list[_Node]) -> _Node:
    """One node over a row of nodes: pairs of pairs, threes, or the larger half first."""
    if len(nodes) == 1:
        return nodes[0]
    if len(nodes) <= 3:
        return _Node(nodes[0].start, nodes[-1].end, tuple(nodes))
    if len(nodes) % 3 == 0 and len(nodes) % 2:
        return _row([_row(nodes[i : i + 3]) for i in range(0, len(nodes), 3)])
    middle = (len(nodes) + 1) // 2
    return _Node(nodes[0].start, nodes[-1].end, (_row(nodes[:middle]), _row(nodes[middle:])))


def _cut(start: Fraction, end: Fraction, node: _Node, rest: bool, beat: Fraction) -> list[Value]:
    """Write start to end, which lies in `node`: as one value where the rules allow, else cut and tied."""
    value = single(end - start)
    if value is not None and _readable(start, end, node, rest, beat):
        return [value]
    children = node.children()
    if len(children) == 3 and node.parts:
        stop = _stop_in_three(start, end, node, rest, beat)
    else:
        stop = next((c.end for c in children if start < c.end < end), end)
    if stop < end:
        return _cut(start, stop, node, rest, beat) + _cut(stop, end, node, rest, beat)
    inside = next(c for c in children if c.start <= start and end <= c.end)
    return _cut(start, end, inside, rest, beat)


def _stop_in_three(start: Fraction, end: Fraction, node: _Node, rest: bool, beat: Fraction) -> Fraction:
    """Where to cut a span in a node of three: after as many whole parts as one value can hold."""
    borders = [child.end for child in node.parts if start < child.end < end]
    if any(child.start == start for child in node.parts):
        for border in reversed(borders):
            if single(border - start) is not None and _readable(start, border, node, rest, beat):
                return border
    return borders[0] if borders else end


def _readable(start: Fraction, end: Fraction, node: _Node, rest: bool, beat: Fraction) -> bool:
    """Whether one value from start to end keeps the borders of `node` visible."""
    if start == node.start and end == node.end:
        return True
    children = node.children()
    crossed = [child.end for child in children if start < child.end < end]
    if not crossed:
        return False
    length = end - start
    if node.halves:
        quarter = node.length / 4
        dotted = length == 3 * quarter and all(child.halves for child in children)
        if rest:
            return dotted and start == node.start and node.length <= beat
        middle = length == 2 * quarter and start == node.start + quarter and all(child.halves for child in children)
        return (dotted and (start == node.start or end == node.end)) or middle
    if len(children) != 3:
        return False
    part = children[0].length
    if len({child.length for child in children}) > 1:
        return False
    on_border = (start - node.start) % part == 0
    if rest:
        return on_border and start == node.start and length == 2 * part and node.length <= beat
    if on_border:
        return length == 2 * part or 2 * length == 3 * part
    if 2 * length == 3 * part and (end - node.start) % part == 0 and node.length <= beat:
        return True
    half = (start - node.start) % part == part / 2
    return half and length == part and all(child.halves for child in children)


def _power_of_two(number: int) -> bool:
    return number > 0 and number & (number - 1) == 0


def odd_part(number: int) -> int:
    """A number without its factors of two."""
    while number % 2 == 0:
        number //= 2
    return number


def _plain(place: Fraction) -> bool:
    return _power_of_two(place.denominator)
