"""What the pages of a handout hold, and how many of them so many studies need."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from engrave.regimen.programme import Constraint, Unknown, so_many, solve

_MOST_PAGES = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What the pages of a handout hold, in mm."""

    page: float
    """of one page"""
    top: float = 0.0
    """taken from the first by title and names"""
    end: float = 0.0
    """taken from the last by what the signs mean, and the cautions"""

    def of(self, pages: int) -> tuple[float, ...]:
        """Room for studies on each of so many pages."""
        found = [self.page] * pages
        found[0] -= self.top
        found[-1] -= self.end
        return tuple(found)


def pages_needed(heights: Sequence[float], paper: Room, *, line: bool = False) -> int:
    """The fewest pages that hold all these heights (mm); with `line` the first stands on the first page that holds it.

    Raises ValueError where one is higher than every page.
    """
    if any(height > paper.page for height in heights):
        raise ValueError(f"{max(heights)} mm does not fit pages of {paper.page} mm")
    for pages in range(1, max(_MOST_PAGES, len(heights) + 2) + 1):
        room = paper.of(pages)
        if sum(heights) > sum(room) + 1e-9:
            continue
        unknowns = [
            Unknown(worth=0.0, high=high)
            for i, height in enumerate(heights)
            for high in may_stand(height, room, line=line and i == 0)
        ]
        rows = [so_many(places([i], pages), low=1.0, high=1.0) for i in range(len(heights))]
        if solve(unknowns, rows + within(heights, room)) is not None:
            return pages
    raise AssertionError("as many pages as studies, and one for the title and one for the signs, always do")


def places(steps: Iterable[int], pages: int) -> list[int]:
    """Indices of the unknowns that put these steps on any of so many pages: a step's stand side by side."""
    return [i * pages + page for i in steps for page in range(pages)]


def may_stand(height: float, room: Sequence[float], *, line: bool) -> list[float]:
    """For each page 1 where something so high may stand on it, else 0; the line stands on the first that holds it."""
    holds = [float(height <= space) for space in room]
    return [float(line <= (1.0 not in holds[:page])) * high for page, high in enumerate(holds)]


def within(heights: Sequence[float], room: Sequence[float]) -> list[Constraint]:
    """No page holds more than there is room for."""
    return [
        Constraint(shares={i * len(room) + page: height for i, height in enumerate(heights)}, high=space)
        for page, space in enumerate(room)
    ]
