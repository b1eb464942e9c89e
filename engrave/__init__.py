"""One passage of guitar music in, a printed book of practice out.

Five functions make what the commands make, from bytes to bytes; each says what goes in, comes out and is raised:

    pdf = engrave.book(data, plan, name="line.musicxml")
    pdf = engrave.week(data, plan, name="line.musicxml", start=date(2027, 3, 1))
    pdf = engrave.handout(data, plan, name="line.musicxml", pages=1)
    pdf = engrave.reissue(old_pdf, data, name="other.musicxml")
    files = engrave.export(data, plan, name="line.musicxml", form="midi")

And the steps between, on values that can be looked at:

    passage = engrave.read(data, "line.musicxml")
    line = engrave.fret(passage, engrave.find_instrument("standard"), engrave.find_hand("standard"))
    variation = engrave.vary(line, engrave.Study(pluck="a-m-i"))
    plate = engrave.draw(variation, width=175, staff=7.2, marks=engrave.Marks())

Times are Fractions of a quarter, lengths are mm, pitches sound. What is wrong with an input raises EngraveError, with a
line for each fault. Names are loaded when they are first used, so importing the package costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    __version__: str

    from engrave.axes import vary
    from engrave.fretting.fingered import fret
    from engrave.instruments import find_hand, find_instrument
    from engrave.library import book, export, handout, reissue, week
    from engrave.model import (
        Declined,
        EngraveError,
        Hand,
        Instrument,
        Marks,
        Passage,
        Plan,
        Plate,
        Regimen,
        Study,
        Variation,
    )
    from engrave.pages.book import press
    from engrave.plates import draw
    from engrave.reading import read
    from engrave.regimen import choose, read_plan

_HOME = {
    "Declined": "model", "EngraveError": "model", "Hand": "model", "Instrument": "model", "Marks": "model",
    "Passage": "model", "Plan": "model", "Plate": "model", "Regimen": "model", "Study": "model", "Variation": "model",
    "book": "library", "choose": "regimen", "draw": "plates", "export": "library",
    "find_hand": "instruments", "find_instrument": "instruments",
    "fret": "fretting.fingered", "handout": "library", "press": "pages", "read": "reading", "read_plan": "regimen",
    "reissue": "library", "vary": "axes", "week": "library",
}  # fmt: skip
"""public name → the room it comes from"""

__all__ = [
    "Declined", "EngraveError", "Hand", "Instrument", "Marks", "Passage", "Plan", "Plate", "Regimen", "Study",
    "Variation",
    "book", "choose", "draw", "export", "find_hand", "find_instrument", "fret", "handout", "press", "read", "read_plan",
    "reissue", "vary", "week",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    if name == "__version__":
        from importlib.metadata import version  # noqa: PLC0415 (reads a file)

        return version("passage-studies")
    if name not in _HOME:
        raise AttributeError(f"module 'engrave' has no attribute {name!r}")
    return getattr(import_module(f"engrave.{_HOME[name]}"), name)


def __dir__() -> list[str]:
    return sorted((*__all__, "__version__"))
