"""The fretting hand: candidates, costs in mm, an exact search, schemes and figures."""

from engrave.fretting.candidates import Limits
from engrave.fretting.figures import HandFigures, hand_figures
from engrave.fretting.fret import fret
from engrave.fretting.refret import refret
from engrave.fretting.schemes import GRAMMAR, SCHEMES, Scheme, find_scheme
from engrave.fretting.slurs import can_slide, can_slur
from engrave.fretting.survey import Fingering, Survey, survey
from engrave.fretting.weights import Taste

__all__ = [
    "GRAMMAR",
    "SCHEMES",
    "Fingering",
    "HandFigures",
    "Limits",
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
