"""How the room of a page is shared out. Everything in mm.

Music comes first. What it leaves goes, in this order, to the picture of the neck, to air between the systems, and to
lines for a log; music that is too long for one page flows on at a system.
"""

from __future__ import annotations

from dataclasses import dataclass

GAP = 3.5
"""least room between systems"""
AIRY = 11.0
"""room between systems that goes before lines for a log"""
WIDEST = 16.0
"""room between systems where nothing else fits"""
LOG_HEAD = 7.0
LOG_ROW = 8.5
LOG_ROWS = 8
"""most lines of the log"""
BAND = 6.0
"""room between the bands of a page"""
SAFE = 1.5
"""kept free at the foot"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrangement:
    """What goes on the pages of a variation."""

    single: bool
    """all of it stands on one page"""
    gap: float
    """room between systems"""
    neck: bool
    """the picture of the neck is printed"""
    log: int
    """lines for a log"""
    lead: float
    """more room between the head and the music"""
    push: float
    """room between the music and the foot"""


def arrange(
    systems: tuple[float, ...], *, room: float, head: float, foot: float, neck: float, scale: float = 1.0
) -> Arrangement:
    """Share out a page `room` high among systems of the given heights, a head, a foot and what else fits.

    The log is printed `scale` times its size.
    """
    log_head, log_row = LOG_HEAD * scale, LOG_ROW * scale
    gaps = max(len(systems) - 1, 0)
    spare = room - SAFE - head - sum(systems) - gaps * GAP - BAND - foot
    if spare < 0:
        return Arrangement(single=False, gap=(GAP + AIRY) / 2, neck=False, log=0, lead=0.0, push=BAND)
    shown = neck <= spare
    spare -= neck * shown
    air = min(AIRY - GAP, spare / 2 / gaps) if gaps else 0.0
    spare -= air * gaps
    log = min(LOG_ROWS, int((spare - log_head) // log_row))
    log = log if log >= 2 else 0
    spare -= (log_head + log * log_row) if log else 0.0
    more = min(WIDEST - GAP - air, spare * 0.7 / gaps) if gaps else 0.0
    spare -= more * gaps
    lead = min(spare / 3, BAND)
    return Arrangement(single=True, gap=GAP + air + more, neck=shown, log=log, lead=lead, push=BAND + spare - lead)
