"""The fretting hand: candidates, costs in mm, an exact search, schemes and figures."""

from engrave.fretting.candidates import Limits
from engrave.fretting.fret import fret
from engrave.fretting.slurs import can_slide, can_slur
from engrave.fretting.weights import Taste

__all__ = ["Limits", "Taste", "can_slide", "can_slur", "fret"]
