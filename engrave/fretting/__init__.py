"""The fretting hand: candidates, costs in mm, an exact search, schemes and figures.

What searches (`fingered`, `refingered`, `surveyed`) is imported where there is something to search: it and numpy take
as long as all other rooms together, and a book whose line is fingered already does without.
"""

from engrave.fretting.effort import hand_figures
from engrave.fretting.joining import can_slide, can_slur
from engrave.fretting.schemes import GRAMMAR, SCHEMES, Scheme, find_scheme
from engrave.fretting.taste import Taste

__all__ = ["GRAMMAR", "SCHEMES", "Scheme", "Taste", "can_slide", "can_slur", "find_scheme", "hand_figures"]
