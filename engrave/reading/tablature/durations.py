"""When the columns of a bar sound: from a rhythm row, from the value of one column, or from the spacing."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, pairwise
from math import gcd
from operator import itemgetter

from engrave.model import Metre, Tuplet, Value
from engrave.model.said import say
from engrave.model.time_spelling import Piece, ratio, single, write
from engrave.reading.tablature.typed import Column, Findings, TabBar, Token

_LETTERS = {"w": 1, "h": 2, "q": 4, "e": 8, "s": 16, "t": 32}
_VALUE = r"[whqest]\.{0,2}[35679]?"
TOKEN = re.compile(rf"\+?{_VALUE}(?:\+{_VALUE}){{0,3}}|g")
"""a word of the rhythm row"""
FINEST = Fraction(1, 8)
"""finest step in quarters that spacing alone is trusted with: a 32nd"""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedStroke:
    """One thing the voice does in a bar."""

    column: Column | None
    """None for a rest or a held note"""
    pieces: tuple[Piece, ...]
    """its written values; one of length 0 for a grace note"""
    held: bool = False
    """the notes before sound on"""
    grace: bool = False

    @property
    def length(self) -> Fraction:
        """Quarters it lasts."""
        return sum((piece.length for piece in self.pieces), Fraction(0))


@dataclass(frozen=True, slots=True, kw_only=True)
class BarFrame:
    """The time a bar has."""

    metre: Metre
    length: Fraction
    """quarters to fill"""
    offset: Fraction
    """where in the metre it starts, in quarters"""
    tuplet: int
    """id of its first tuplet"""


@dataclass(slots=True)
class _Brackets:
    """The tuplets of one bar, opened and filled word by word."""

    number: int
    """id of the next tuplet"""
    filled: Fraction = Fraction(0)
    """quarters under the open bracket; 0 if none is open"""

    def piece(self, text: str) -> Piece | None:
        """The piece a word such as q. or e3 stands for; None where an open bracket does not take it."""
        actual = int(text[-1]) if text[-1].isdigit() else 0
        value = Value(kind=_LETTERS[text[0]], dots=text.count("."))
        if not actual:
            return None if self.filled else Piece(length=value.quarters, value=value)
        mark = Tuplet(id=self.number, actual=actual, normal=ratio(Fraction(1), actual)[1])
        length = value.quarters * mark.normal / mark.actual
        self.filled += length
        if self.filled.denominator & (self.filled.denominator - 1) == 0:
            self.filled = Fraction(0)
            self.number += 1
        return Piece(length=length, value=value, tuplets=(mark,))


def written_length(word: str) -> Fraction:
    """Quarters that a word of the rhythm row lasts; a grace note lasts none."""
    brackets = _Brackets(1)
    words = [] if word in ("g", "") else word.lstrip("+").split("+")
    return sum((piece.length for piece in map(brackets.piece, words) if piece is not None), Fraction(0))


def by_row(bar: TabBar, findings: Findings, first_tuplet: int) -> list[TimedStroke] | None:
    """The bar as its rhythm row says, or None where the row is at fault."""
    made: list[TimedStroke] = []
    left = list(bar.columns)
    brackets = _Brackets(first_tuplet)
    faults, spoilt = len(findings.faults), False
    for token in bar.values or ():
        column = next((c for c in left if c.at <= token.at < c.at + c.width), None)
        if column is not None:
            left.remove(column)
        held = token.text.startswith("+")
        fault = _misplaced(token, column)
        if not token.text:
            spoilt = True
        elif fault:
            findings.fault(f"column {token.column}: {fault}", "", token.line)
        elif token.text == "g":
            piece = Piece(length=Fraction(0), value=Value(kind=8))
            made.append(TimedStroke(column=column, pieces=(piece,), grace=True))
        else:
            pieces = [brackets.piece(word) for word in token.text.lstrip("+").split("+")]
            if None in pieces:
                _unfinished(findings, token)
                brackets.filled = Fraction(0)
            made.append(TimedStroke(column=column, pieces=tuple(p for p in pieces if p is not None), held=held))
    if spoilt:
        return None
    if brackets.filled and bar.values:
        _unfinished(findings, bar.values[-1])
    for column in left:
        cell = column.cells[0]
        hint = "write one of w h q e s t above each note"
        findings.fault(f"column {cell.column}: no value stands above this note", hint, cell.line)
    return made if len(findings.faults) == faults else None


def _misplaced(token: Token, column: Column | None) -> str:
    """Why a word cannot stand where it does, or nothing."""
    if token.text == "g" and column is None:
        return "a grace note (g) above no note"
    if token.text.startswith("+") and column is not None:
        return f"{token.text!r} holds the note before, but another note stands below it"
    return ""


def _unfinished(findings: Findings, token: Token) -> None:
    hint = "a triplet has three equal parts: e3 e3 e3, or q3 e3"
    findings.fault(f"column {token.column}: the tuplet is not complete", hint, token.line)


def by_columns(bar: TabBar, frame: BarFrame, column: Fraction, findings: Findings) -> list[TimedStroke] | None:
    """The bar where each column of characters lasts `column` quarters; None where the columns do not fill it."""
    wanted = frame.length / column
    for narrow in (False, True):
        ats, width = _places(bar, narrow=narrow)
        for lead, tail in ((0, 0), (1, 0), (1, 1), (0, 1)):
            if width - lead - tail != wanted or (ats and (ats[0] < lead or ats[-1] >= width - tail)):
                continue
            onsets = [column * (at - lead) for at in ats]
            return _strokes(bar, onsets, frame, findings)
    findings.fault(
        f"the bar that starts at column {bar.column} has {bar.width} columns, {wanted} are needed",
        "a dash after each bar line may be added; two digits of one fret may count as one column", bar.line,
    )  # fmt: skip
    return None


def by_spacing(bar: TabBar, frame: BarFrame, findings: Findings) -> list[TimedStroke] | None:
    """The bar where only the spacing tells the rhythm: the columns fill it. None where there are too many."""
    if not bar.columns:
        return _strokes(bar, [], frame, findings)
    grids = [
        grid for narrow in (False, True) for grid in _grids(*_places(bar, narrow=narrow), frame.length, frame.metre)
    ]
    if grids:
        _, onsets = min(grids, key=itemgetter(0))
        return _strokes(bar, onsets, frame, findings)
    rough = _rough(bar, frame.length)
    if rough is None:
        findings.fault(
            f"the bar that starts at column {bar.column} has {len(bar.columns)} notes, too many for {frame.metre}",
            "check the bar lines, or add a rhythm row",
            bar.line,
        )
        return None
    findings.leave(say("the rhythm of a bar whose columns are not evenly spaced, which is guessed"), bar.line)
    return _strokes(bar, rough, frame, findings)


def _grids(ats: list[int], width: int, length: Fraction, metre: Metre) -> list[tuple[Fraction, list[Fraction]]]:
    """(cost, onsets) of each even grid the columns stand on: few steps, plain values, little padding are cheap."""
    found: list[tuple[Fraction, list[Fraction]]] = []
    closest = min((b - a for a, b in pairwise(ats)), default=0)
    starts = {0, 1, 2, ats[0]} if ats[0] <= max(2, closest) else {0, 1, 2}
    for start in sorted(start for start in starts if start <= ats[0]):
        for tail in (0, 1, -1):
            total = width - start + tail
            step = gcd(total, *(at - start for at in ats))
            if total <= ats[-1] - start:
                continue
            steps = total // step
            unit = length / steps
            weight = _weight(unit, metre)
            if weight == 2 and (3 * len(ats) < 2 * steps or tail):
                continue
            if weight and unit >= FINEST:
                padding = abs(tail) + (start not in (0, ats[0]))
                found.append((weight * steps + Fraction(padding, 10), [unit * ((at - start) // step) for at in ats]))
    return found


def _weight(unit: Fraction, metre: Metre) -> Fraction | None:
    """How readily a bar is cut into steps of `unit` quarters: plain values first, then dotted ones, then triplets."""
    value = single(unit)
    if value is not None:
        return Fraction(1) if not value.dots or unit == metre.beat else Fraction(3, 2)
    value = single(unit * 3 / 2)
    return Fraction(2) if value is not None and not value.dots else None


def _rough(bar: TabBar, length: Fraction) -> list[Fraction] | None:
    """Onsets for columns on no grid: all alike if that can be written, else the nearest places of a fine grid."""
    count = len(bar.columns)
    share = length / count
    value = single(share)
    if value is not None and share >= FINEST:
        return [share * i for i in range(count)]
    first = bar.columns[0].at
    width = bar.width - min(first, 2)
    for step in (Fraction(1, 4), FINEST):
        onsets = [length * (c.at - min(first, 2)) / width // step * step for c in bar.columns]
        if length % step == 0 and all(a < b for a, b in pairwise(onsets)):
            return onsets
    if count <= length / FINEST and length % FINEST == 0:
        return [FINEST * i for i in range(count)]
    return None


def _places(bar: TabBar, *, narrow: bool) -> tuple[list[int], int]:
    """Where the columns of a bar stand, and its width; if `narrow`, two digits of a fret count as one character."""
    wider = list(accumulate((narrow * (c.width - 1) for c in bar.columns), initial=0))
    return [c.at - before for c, before in zip(bar.columns, wider, strict=False)], bar.width - wider[-1]


def _strokes(bar: TabBar, onsets: list[Fraction], frame: BarFrame, findings: Findings) -> list[TimedStroke] | None:
    """Columns that last until the next one; what is before the first is a rest."""
    columns: list[Column | None] = list(bar.columns)
    ends = [*onsets[1:], frame.length]
    spans = [(end - onset, False) for onset, end in zip(onsets, ends, strict=True)] if onsets else []
    if not onsets or onsets[0]:
        spans.insert(0, (onsets[0] if onsets else frame.length, True))
        columns.insert(0, None)
    try:
        written = write(spans, frame.metre, offset=frame.offset, first_tuplet=frame.tuplet)
    except ValueError as error:
        findings.fault(f"the bar that starts at column {bar.column} cannot be written: {error}", "", bar.line)
        return None
    return [
        TimedStroke(column=column, pieces=pieces, held=bar.goes_on and column is None)
        for column, pieces in zip(columns, written, strict=True)
    ]
