"""What stands on a page of text tablature, and what is found out while reading it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TypeVar

from engrave.model import Fault, Place
from engrave.model.said import Said
from engrave.reading.limits import LIMITS, Limits
from engrave.reading.tablature.header import Terms

MOST_FAULTS = 40
"""faults of one file beyond which nobody reads on"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One fret number or cross."""

    string: int
    line: int
    """line of the file, from 1"""
    column: int
    """character of the line, from 1"""
    at: int
    """character in the bar, from 0"""
    width: int
    fret: int | None
    """None for a damped string"""
    bracketed: bool = False
    link: str = ""
    """how the fretting hand comes to it from the note before on its string"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """The notes that start together, string 1 first."""

    at: int
    width: int
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Token:
    """A word of a row above or below the strings; its text is empty where it is at fault."""

    at: int
    line: int
    column: int
    text: str


_Placed = TypeVar("_Placed", Column, Token)


def between(row: Iterable[_Placed], low: Fraction | int, high: Fraction | int) -> tuple[_Placed, ...]:
    """What of a row stands from character `low` on and before `high`, counted from there."""
    return tuple(replace(one, at=one.at - int(low)) for one in row if low <= one.at < high)


@dataclass(frozen=True, slots=True, kw_only=True)
class TabBar:
    """One bar as typed."""

    line: int
    """line of its first string"""
    column: int
    """character of the line where it starts, from 1"""
    width: int
    """characters between its bar lines"""
    columns: tuple[Column, ...]
    values: tuple[Token, ...] | None = None
    """rhythm row; None if the system has none"""
    fingers: tuple[Token, ...] = ()
    letters: tuple[Token, ...] = ()
    repeat_start: bool = False
    repeat_end: bool = False
    double: bool = False
    goes_on: bool = False
    """whether the notes before it last until its first note (there is no bar line before it)"""
    terms: Terms = Terms()


@dataclass(slots=True, kw_only=True)
class Row:
    """A line above or below the strings."""

    kind: str
    """values, fingers or letters"""
    tokens: list[Token]
    """`at` counts from the start of the strings' bodies"""


@dataclass(slots=True, kw_only=True)
class SystemLines:
    """The lines of one system."""

    first: int
    """line number of its first string, from 1"""
    labels: list[str]
    starts: list[int]
    """where the body of each string begins in its line, from 0"""
    bodies: list[str]
    rows: list[Row]
    terms: Terms
    closed: bool = True
    """whether it has any bar line"""


@dataclass(slots=True)
class Findings:
    """What is found out while reading: faults, and signs left out with the place of the first."""

    file: str
    faults: list[Fault]
    left_out: dict[Said, tuple[Place, int]]
    limits: Limits = LIMITS
    untimed: bool = False
    """whether the header is at fault, so that adding up bars would only find more of the same"""

    def fault(self, fact: str, hint: str = "", line: int | None = None) -> None:
        """Note a fault; beyond a number nobody reads, only that there are more."""
        if len(self.faults) >= MOST_FAULTS:
            return
        if len(self.faults) == MOST_FAULTS - 1:
            fact, hint = "there are more faults from here on", "mend those above first"
        self.faults.append(Fault(fact=fact, hint=hint, place=Place(file=self.file, line=line)))

    def add(self, faults: Sequence[Fault]) -> None:
        """Note faults found elsewhere, within the same number."""
        for fault in faults:
            self.fault(fault.fact, fault.hint, fault.place.line)

    def leave(self, what: Said, line: int | None = None) -> None:
        """Note that something is left out or bent."""
        place, count = self.left_out.get(what, (Place(file=self.file, line=line), 0))
        self.left_out[what] = (place, count + 1)
