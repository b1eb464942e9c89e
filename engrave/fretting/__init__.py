"""The fretting hand: candidates, costs in mm, an exact search, schemes and figures.

The search is loaded when it is first asked for: it and numpy take as long as all other rooms together, and a book whose
line is fingered already does without.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from engrave.fretting.effort import HandFigures, hand_figures
from engrave.fretting.joining import can_slide, can_slur
from engrave.fretting.schemes import GRAMMAR, SCHEMES, Scheme, find_scheme
from engrave.fretting.taste import Taste

if TYPE_CHECKING:
    from engrave.fretting.fingered import fret
    from engrave.fretting.refingered import refret
    from engrave.fretting.surveyed import Fingering, Survey, survey

__all__ = [
    "GRAMMAR",
    "SCHEMES",
    "Fingering",
    "HandFigures",
    "Scheme",
    "Survey",
    "Taste",
    "can_slide",
    "can_slur",
    "find_scheme",
    "fret",
    "hand_figures",
    "refret",
    "survey",
]

_HOME = {
    "Fingering": "surveyed",
    "Survey": "surveyed",
    "fret": "fingered",
    "refret": "refingered",
    "survey": "surveyed",
}
"""name → the module that is loaded for it"""


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'engrave.fretting' has no attribute {name!r}")
    return getattr(import_module(f"engrave.fretting.{_HOME[name]}"), name)
