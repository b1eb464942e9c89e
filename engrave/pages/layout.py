"""How the room of pages is shared out. Everything in mm.

Music comes first. What it leaves goes, in this order, to the picture of the neck, to air between the systems, and to
lines for a log. Music that is too long for one page is spread over as few as will hold it, evenly, whole systems only.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

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
    """What goes on one page of a variation; only the last page carries neck, figures and log."""

    systems: int
    gap: float
    """room between systems"""
    lead: float = 0.0
    """more room between the head and the music"""
    neck: bool = False
    """the picture of the neck is printed"""
    log: int = 0
    """lines for a log"""
    push: float = 0.0
    """room between the music and the foot"""


def arrange(
    systems: tuple[float, ...], *, room: float, head: float, foot: float, neck: float, scale: float = 1.0
) -> tuple[Arrangement, ...]:
    """Share out pages `room` high among systems of the given heights, a head, a foot and what else fits.

    The head stands on the first page, the foot on the last. The log is printed `scale` times its size. A system higher
    than a page has a page to itself.
    """
    counts = _spread(systems, room=room - SAFE, head=head, foot=foot + BAND, neck=neck)
    made, start = [], 0
    for page, count in enumerate(counts):
        here = systems[start : start + count]
        start += count
        spare = room - SAFE - (head if page == 0 else 0.0) - _music(here)
        if page < len(counts) - 1:
            air = min(WIDEST - GAP, max(0.0, spare) / max(1, count - 1))
            made.append(Arrangement(systems=count, gap=GAP + air))
        else:
            made.append(_last(count, spare - foot - BAND, neck=neck, scale=scale, headed=page == 0))
    return tuple(made)


def _last(count: int, spare: float, *, neck: float, scale: float, headed: bool) -> Arrangement:
    """The last page, when music, head and foot leave `spare` mm."""
    spare, gaps = max(0.0, spare), max(count - 1, 0)
    log_head, log_row = LOG_HEAD * scale, LOG_ROW * scale
    shown = neck <= spare
    spare -= neck * shown
    air = min(AIRY - GAP, spare / 2 / gaps) if gaps else 0.0
    spare -= air * gaps
    log = min(LOG_ROWS, int((spare - log_head) // log_row))
    log = log if log >= 2 else 0
    spare -= (log_head + log * log_row) if log else 0.0
    more = min(WIDEST - GAP - air, spare * 0.7 / gaps) if gaps else 0.0
    spare -= more * gaps
    lead = min(spare / 3, BAND) if headed else 0.0
    return Arrangement(
        systems=count, gap=GAP + air + more, neck=shown, log=log, lead=lead, push=(BAND if count else 0) + spare - lead
    )


def _music(heights: tuple[float, ...]) -> float:
    return sum(heights) + GAP * max(len(heights) - 1, 0)


def _spread(heights: tuple[float, ...], *, room: float, head: float, foot: float, neck: float) -> tuple[int, ...]:
    """Systems for each page: as few pages as will do, and of those the way that leaves the fullest page emptiest.

    The picture of the neck counts on the last page as far as there is room for it, but never asks for a page more.
    """

    def filled(start: int, stop: int, *, last: bool) -> float:
        used = _music(heights[start:stop]) + (head if start == 0 else 0.0) + (foot if last else 0.0)
        alone = stop - start == (0 if last else 1)
        return min(used, room) if alone else used

    @cache
    def best(start: int, pages: int) -> tuple[float, tuple[int, ...]]:
        if pages == 1:
            used = filled(start, len(heights), last=True)
            return max(used, min(used + neck, room)), (len(heights) - start,)
        found: tuple[float, tuple[int, ...]] = (float("inf"), (0,))
        for stop in range(start + 1, len(heights) + 1):
            here = filled(start, stop, last=False)
            if here > room:
                break
            fullest, rest = best(stop, pages - 1)
            if max(here, fullest) <= found[0]:
                # of equals the one with more music on its first page
                found = max(here, fullest), (stop - start, *rest)
        return found

    for pages in range(1, len(heights) + 1):
        fullest, counts = best(0, pages)
        if fullest <= room:
            return counts
    return best(0, len(heights) + 1)[1]
