"""Faults a user can mend, and how they are said.

Rules: one line a fault; the place first (file, bar, beat), then the fact with its value and the limit, then a hint.
All faults of one file are gathered before anything is raised. Whoever raises never prints: only the command line turns
an error into a message. Anything that is not an EngraveError is a bug of ours and keeps its traceback.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Self

from engrave.model.said import say, strung

if TYPE_CHECKING:
    from fractions import Fraction

_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]+")
"""control characters, ends of lines, and marks that turn the direction of what follows (Unicode UAX #9)"""


def one_line(text: str, limit: int = 300) -> str:
    """`text` on a single line: control characters become spaces, and what is longer than `limit` characters is cut."""
    flat = _CONTROL.sub(" ", text).strip()
    return flat if len(flat) <= limit else flat[: limit - 1] + "…"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a fault or a notice is; every part may be missing."""

    file: str = ""
    """name of the file as the user gave it"""
    line: int | None = None
    """line of a text file, from 1"""
    bar: str = ""
    """bar number as printed"""
    beat: Fraction | None = None
    """beat in the bar, from 1, in units of the metre's beat"""

    def __str__(self) -> str:
        parts: list[str] = [self.file] if self.file else []
        if self.line is not None:
            parts.append(say("line {line}", line=self.line))
        if self.bar:
            parts.append(say("bar {bar}", bar=self.bar))
        if self.beat is not None:
            parts.append(_at_beat(self.beat))
        return strung(parts, ", ")

    @property
    def inside(self) -> str:
        """Where in its file it is."""
        return str(replace(self, file=""))


def _at_beat(beat: Fraction) -> str:
    """A place in a bar as one says it: by halves, thirds, quarters and eighths of a beat, else by what lies near."""
    whole, rest = divmod(beat, 1)
    if "+" not in (text := beat_text(beat)):
        return say("beat {beat}", beat=text)
    if rest * 3 < 1:
        return say("just after beat {beat}", beat=whole)
    if rest * 3 > 2:
        return say("at the end of beat {beat}", beat=whole)
    return say("in the middle of beat {beat}", beat=whole)


def beat_text(beat: Fraction) -> str:
    """A beat as a player reads it: 1, 2½, 3⅓, or 2+3/5 where there is no sign for the rest."""
    signs = {"1/2": "½", "1/4": "¼", "3/4": "¾", "1/3": "⅓", "2/3": "⅔"}
    signs |= {"1/8": "⅛", "3/8": "⅜", "5/8": "⅝", "7/8": "⅞"}
    whole, rest = divmod(beat, 1)
    if not rest:
        return str(whole)
    return f"{whole}{signs.get(str(rest), f'+{rest}')}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing that is wrong, as a line the user can act on."""

    fact: str
    """what was found, with its value and the limit it breaks"""
    hint: str = ""
    """what to do about it"""
    place: Place = Place()

    def __str__(self) -> str:
        where = str(self.place)
        said = f"{where}: {self.fact}" if where else self.fact
        return one_line(f"{said} ({self.hint})" if self.hint else said, limit=600)


class EngraveError(Exception):
    """A fault of the input, not of the program.

    `faults` holds every fault found, in the order of their places; str() gives one line for each.
    """

    def __init__(self, *faults: Fault) -> None:
        if not faults:
            raise ValueError("an EngraveError needs at least one fault")
        super().__init__(*faults)
        self.faults: tuple[Fault, ...] = faults

    @classmethod
    def at(cls, file: str, fact: str, hint: str = "", *, line: int | None = None, bar: str = "") -> Self:
        """The error of a single fault of a file."""
        return cls(Fault(fact=fact, hint=hint, place=Place(file=file, line=line, bar=bar)))

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.faults)


class ReadError(EngraveError):
    """The passage cannot be read."""


class PlanError(EngraveError):
    """The plan, an option or the name of a setting is wrong."""


class UnplayableError(EngraveError):
    """The passage cannot be played on this instrument by this hand."""


class PressError(EngraveError):
    """The pages cannot be printed or written."""
