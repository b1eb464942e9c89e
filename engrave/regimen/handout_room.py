"""What the pages of a handout hold, and how many of them so many studies need."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from engrave.regimen.programme import Constraint, Unknown, solve

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
        space = paper.of(pages)
        if sum(heights) > sum(space) + 1e-9:
            continue
        first = next((page for page in range(pages) if line and space[page] >= heights[0]), None)
        unknowns = [
            Unknown(worth=0.0, high=float(h <= space[page] and (i > 0 or first in (None, page))))
            for i, h in enumerate(heights)
            for page in range(pages)
        ]
        rows = [
            Constraint(shares={i * pages + page: 1.0 for page in range(pages)}, low=1.0, high=1.0)
            for i in range(len(heights))
        ]
        rows += [
            Constraint(shares={i * pages + page: h for i, h in enumerate(heights)}, high=space[page])
            for page in range(pages)
        ]
        if solve(unknowns, rows) is not None:
            return pages
    raise AssertionError("as many pages as studies, and one for the title and one for the signs, always do")
