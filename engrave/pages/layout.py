"""How the room of a page is shared out. Everything in mm.

Music comes first. What it leaves goes, in this order, to the picture of the neck, to air between the systems, and to
lines for a log; music that is too long for one page flows on at a system.
"""

from __future__ import annotations

from dataclasses import dataclass

from engrave.model import Plate

GAP = 4.0
"""least room between systems"""
AIRY = 10.0
"""most room between systems"""
LOG_HEAD = 8.0
LOG_ROW = 8.5
LOG_ROWS = 9
"""most lines of the log"""
BAND = 6.0
"""room between the bands of a page"""
SAFE = 2.5
"""kept free, since lines of text are counted without kerning"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrangement:
    """What goes on the page of a variation."""

    single: bool
    """all of it stands on one page, the figures at its foot"""
    gap: float
    """room between systems"""
    neck: bool
    """the picture of the neck is printed"""
    log: int
    """lines for a log"""


def arrange(plate: Plate, *, room: float, head: float, foot: float, neck: float) -> Arrangement:
    """Share out `room` among the music, a head and a foot of given height, and what else fits."""
    gaps = max(len(plate.systems) - 1, 0)
    spare = room - SAFE - head - plate.height - gaps * GAP - foot - BAND
    if spare < 0:
        return Arrangement(single=False, gap=GAP + 2, neck=bool(neck), log=3)
    shown = 0 < neck + BAND <= spare
    spare -= (neck + BAND) * shown
    air = min(AIRY - GAP, spare / 2 / gaps) if gaps else 0.0
    spare -= air * gaps
    rows = max(0, min(LOG_ROWS, int((spare - LOG_HEAD - BAND) // LOG_ROW)))
    return Arrangement(single=True, gap=GAP + air, neck=shown, log=rows if rows >= 2 else 0)
