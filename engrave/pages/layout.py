"""How the room of pages is shared out. Everything in mm.

Music comes first, on as few pages as will hold it. At the foot of every page stand the lines of the log and the room
for the teacher's hand; over them, on the last page, the tempo ladder and, where the fretting is new, the picture of the
neck. What is left goes to air, the same between all systems, and then to more lines of the log.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

GAP = 3.5
"""least room between systems"""
WIDEST = 24.0
"""most room between systems"""
LOG_HEAD = 5.5
LOG_ROW = 8.0
LOG_LEAST = 2
"""lines of the log that every page has"""
LOG_ROWS = 4
"""most lines of the log"""
LADDER = 8.0
"""height of one row of the tempo ladder, with the white under it"""
BAND = 6.0
"""room between the bands of a page"""
SAFE = 1.5
"""kept free at the foot"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrangement:
    """What goes on one page of a variation."""

    systems: int
    gap: float
    """room between systems"""
    lead: float = 0.0
    """more room between the head and the music"""
    neck: bool = False
    """the picture of the neck is printed"""
    log: int = LOG_LEAST
    """lines of the log"""
    push: float = 0.0
    """room between the music and the foot"""


def log_height(rows: int = LOG_LEAST) -> float:
    """Height of the log and of the room for the teacher's hand beside it."""
    return LOG_HEAD + rows * LOG_ROW


def arrange(
    systems: tuple[float, ...], *, room: float, head: float, ladder: float, neck: float, scale: float = 1.0
) -> tuple[Arrangement, ...]:
    """Share out pages `room` high among systems of the given heights.

    The head stands on the first page, the ladder and the neck (0: none is wanted) on the last, the log on every page,
    `scale` times its size. A system higher than a page has a page to itself.
    """
    log = log_height() * scale + BAND
    counts = _spread(systems, room=room - SAFE - log, head=head, foot=ladder)
    made, start = [], 0
    for page, count in enumerate(counts):
        here = systems[start : start + count]
        start += count
        spare = room - SAFE - log - (head if page == 0 else 0.0) - _music(here)
        last = page == len(counts) - 1
        shown = last and 0.0 < neck <= spare - ladder
        spare = max(0.0, spare - ladder * last - neck * shown)
        made.append(_aired(count, spare, neck=shown, scale=scale, headed=page == 0))
    return tuple(made)


def pages_of(
    systems: tuple[float, ...], *, room: float, head: float, ladder: float = LADDER, scale: float = 1.0
) -> int:
    """How many pages a variation of these systems takes, with a ladder of one row or of that height."""
    log = log_height() * scale + BAND
    return len(_spread(systems, room=room - SAFE - log, head=head, foot=ladder * scale))


def _aired(count: int, spare: float, *, neck: bool, scale: float, headed: bool) -> Arrangement:
    """A page whose bands leave `spare` mm."""
    gaps = max(count - 1, 0)
    # as much under the last system as between two
    air = min(WIDEST - GAP, spare / (gaps + 1)) if gaps else 0.0
    spare -= air * gaps
    lead = min(spare / 3, BAND) if headed and count else 0.0
    more = max(0, min(LOG_ROWS - LOG_LEAST, int((spare - lead - air) // (LOG_ROW * scale))))
    spare -= more * LOG_ROW * scale
    return Arrangement(
        systems=count, gap=GAP + air, neck=neck, log=LOG_LEAST + more, lead=lead, push=BAND + spare - lead
    )


def _music(heights: tuple[float, ...]) -> float:
    return sum(heights) + GAP * max(len(heights) - 1, 0)


def _spread(heights: tuple[float, ...], *, room: float, head: float, foot: float) -> tuple[int, ...]:
    """Systems for each page: as few pages as will do, and of those the way that leaves the fullest page emptiest."""

    def filled(start: int, stop: int, *, last: bool) -> float:
        used = _music(heights[start:stop]) + (head if start == 0 else 0.0) + (foot if last else 0.0)
        alone = stop - start == (0 if last else 1)
        return min(used, room) if alone else used

    @cache
    def best(start: int, pages: int) -> tuple[float, tuple[int, ...]]:
        if pages == 1:
            return filled(start, len(heights), last=True), (len(heights) - start,)
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
