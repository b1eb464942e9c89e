"""Systems typed without bar lines: cut into bars by their rhythm row, by the value of a column, or by the spacing."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from engrave.model import Metre
from engrave.model.said import say
from engrave.reading.tablature.durations import written_length
from engrave.reading.tablature.typed import Findings, TabBar, between

_EIGHTH = Fraction(1, 2)


def barred(bar: TabBar, pickup: Fraction | None, findings: Findings) -> list[TabBar]:
    """The bars of a system that has no bar line; `pickup` is the length of the first, if it is the passage's first."""
    metre = bar.terms.metre or Metre(beats=(4,), unit=4)
    first = pickup or metre.length
    if bar.values is not None:
        return _parts(bar, _by_row(bar, first, metre.length))
    column = bar.terms.column
    if column is None:
        if not bar.columns:
            return [bar]
        bar, column = _stepped(bar), _EIGHTH
        findings.leave(say("a system without bar lines, whose narrowest step is read as an eighth"), bar.line)
    cuts = [Fraction(0), first / column]
    while cuts[-1] < bar.width and len(cuts) <= findings.limits.bars + 1:
        cuts.append(cuts[-1] + metre.length / column)
    return [replace(part, terms=replace(bar.terms, column=column)) for part in _parts(bar, cuts)]


def _stepped(bar: TabBar) -> TabBar:
    """The bar with one character to each step, a step being the narrowest distance between two columns."""
    step = min((b.at - a.at for a, b in pairwise(bar.columns)), default=1)
    places = [0]
    for before, column in pairwise(bar.columns):
        places.append(places[-1] + max(1, round((column.at - before.at) / step)))
    columns = tuple(replace(c, at=at, width=1) for c, at in zip(bar.columns, places, strict=True))
    moved = {c.at: at for c, at in zip(bar.columns, places, strict=True)}
    fingers = tuple(replace(t, at=moved.get(t.at, -1)) for t in bar.fingers)
    letters = tuple(replace(t, at=moved.get(t.at, -1)) for t in bar.letters)
    return replace(bar, columns=columns, width=places[-1] + 1, fingers=fingers, letters=letters)


def _by_row(bar: TabBar, first: Fraction, full: Fraction) -> list[Fraction]:
    """Where the bars begin, by adding up the values of the row; the last number is the end."""
    cuts = [Fraction(0)]
    filled, wanted = Fraction(0), first
    for token in bar.values or ():
        if filled >= wanted:
            cuts.append(Fraction(token.at))
            filled, wanted = Fraction(0), full
        filled += written_length(token.text)
    return [*cuts, Fraction(bar.width)]


def _parts(bar: TabBar, cuts: list[Fraction]) -> list[TabBar]:
    """The bar cut at these columns."""
    return [
        replace(
            bar,
            column=bar.column + int(low),
            width=int(high - low),
            goes_on=bar.values is None and low > 0,
            columns=between(bar.columns, low, high),
            values=None if bar.values is None else between(bar.values, low, high),
            fingers=between(bar.fingers, low, high),
            letters=between(bar.letters, low, high),
        )
        for low, high in pairwise(cuts)
    ]
