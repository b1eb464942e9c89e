"""What wound strings ask for: the cue that stands on every page whose line lies on the basses."""

from __future__ import annotations

from fractions import Fraction

from engrave.model import Variation
from engrave.model.said import say
from engrave.model.texture import LINE
from engrave.textures import kind_of
from engrave.textures.onsets import onset_groups

WOUND = say("On wound strings the fingers lift before they move, or the string squeaks.")
"""common practice"""
WOUND_OPEN = say("A wound string rasps under a nail that meets it askew: look at the nails afterwards.")
"""what to listen for on the basses where no finger stops a note; common practice"""
MOSTLY = Fraction(2, 3)
"""part of a line's plucked notes that lie on wound strings from which it lies on the basses; house figure"""


def on_basses(variation: Variation) -> str:
    """The cue for a line on the basses, of nail and of noise; empty where the line does not lie there."""
    where = kind_of(variation)
    row = [s for m in onset_groups(variation.passage) for s in m.plucked]
    line = [s for s in row if (span := where.get(s.note.id)) is None or span.kind == LINE]
    low = [s for s in line if s.placement.string in variation.instrument.wound]
    if not low or len(low) < MOSTLY * len(row):
        return ""
    return WOUND if any(s.placement.fret for s in low) else WOUND_OPEN
