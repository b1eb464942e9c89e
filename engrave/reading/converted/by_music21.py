"""A score of the parser (music21) as MusicXML, so that parts, bars and notices are those of every score."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Callable
from contextlib import redirect_stderr
from fractions import Fraction
from importlib import import_module
from typing import Any

from engrave.model import Fault, Place, ReadError
from engrave.model.errors import one_line
from engrave.reading.limits import LIMITS

_SAVE = "export the score as MusicXML"
_METRE = "write the metre at the beginning; " + _SAVE
_SMALLEST = 64
"""beat of the shortest metre that is made for a bar without one"""
_PASSED_OVER = re.compile(r"parsing event \((.*?)\) at line (\d+)")
"""what the parser says on standard error of a note it leaves out: nothing may be lost in silence"""


def music21(name: str) -> Any:
    """A module of music21, by its name there: loading takes a third of a second, where there is something to read."""
    package = import_module("music21").__name__
    return import_module(f"{package}.{name}")


def as_musicxml(make: Callable[[], Any], kind: str, name: str) -> bytes:
    """The MusicXML of the score that `make` gives; `kind` is what a message calls the file.

    Raises ReadError for whatever the parser stumbles over.
    """
    said = io.StringIO()
    try:
        with warnings.catch_warnings(), redirect_stderr(said):
            warnings.simplefilter("ignore")
            score = make()
            _named(score)
            _metred(score, name)
            written: bytes = music21("musicxml.m21ToXml").GeneralObjectExporter(score).parse()
    except ReadError:
        raise
    except Exception as error:
        fact = f"the {kind} cannot be followed: {one_line(str(error), 120) or type(error).__name__}"
        raise ReadError.at(name, fact, _SAVE) from None
    passed_over = [
        Fault(fact=f"{one_line(found[1], 40)} cannot be read", place=Place(file=name, line=int(found[2])))
        for found in _PASSED_OVER.finditer(said.getvalue())
    ]
    if passed_over:
        raise ReadError(*passed_over[: LIMITS.faults])
    return _without_defaults(written)


def _named(score: Any) -> None:
    """Parts without a name are called by their number, not by an id of the parser's own."""
    for number, part in enumerate(getattr(score, "parts", ()), start=1):
        if not part.partName:
            part.partName = f"Part {number}"


def _metred(score: Any, name: str) -> None:
    """Bars before the first written metre get one from their length.

    The parser looks for the best metre of such a bar, and where its notes are no plain parts of each other it looks on
    through metres of thousands of beats.
    """
    for part in getattr(score, "parts", ()):
        known: Fraction | None = None
        for bar in part.getElementsByClass("Measure"):
            if bar.timeSignature is not None:
                break
            length = Fraction(bar.highestTime).limit_denominator(1000) / 4
            if not length or length == known:
                continue
            beat = max(length.denominator, 4)
            if _SMALLEST % length.denominator or 4 * length > LIMITS.bar_quarters:
                fact = f"a bar of {4 * length} quarters before any metre"
                raise ReadError.at(name, fact, _METRE, bar=str(bar.number))
            bar.timeSignature = music21("meter").TimeSignature(f"{length * beat}/{beat}")
            known = length


def _without_defaults(written: bytes) -> bytes:
    """What the parser writes where a score names no title and no composer is no name of theirs."""
    defaults = music21("defaults")
    for text in (defaults.title, defaults.author):
        written = re.sub(rb"<([a-z-]+)( [^>]*)?>\s*" + re.escape(str(text).encode()) + rb"\s*</\1>", b"", written)
    return written
