"""One passage of guitar music in, a printed book of practice out.

    passage = engrave.read(data, "line.musicxml")
    line = engrave.fret(passage, engrave.find_instrument("standard"), engrave.find_hand("standard"))
    variation = engrave.vary(line, engrave.Study(pluck="a-m-i"))
    plate = engrave.draw(variation, width=175, staff=7.2, marks=engrave.Marks())

Names are loaded when they are first used, so importing the package costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from engrave.axes import vary
    from engrave.fretting.fingered import fret
    from engrave.instruments import find_hand, find_instrument
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
    "choose": "regimen", "draw": "plates", "find_hand": "instruments", "find_instrument": "instruments",
    "fret": "fretting", "press": "pages", "read": "reading", "read_plan": "regimen", "vary": "axes",
}  # fmt: skip
"""public name → the room it comes from"""

__all__ = [
    "Declined", "EngraveError", "Hand", "Instrument", "Marks", "Passage", "Plan", "Plate", "Regimen", "Study",
    "Variation",
    "choose", "draw", "find_hand", "find_instrument", "fret", "press", "read", "read_plan", "vary",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'engrave' has no attribute {name!r}")
    return getattr(import_module(f"engrave.{_HOME[name]}"), name)
