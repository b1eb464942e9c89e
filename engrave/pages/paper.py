"""Paper and margins, in mm. The inner margin leaves room for punched holes."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.model import Fault, Plan, Plate, PressError
from engrave.pages.layout import LADDER, pages_of

SIZES = {"A4": (210.0, 297.0), "A5": (148.0, 210.0), "Letter": (215.9, 279.4)}
"""width and height in mm: ISO 216 A4 and A5; ANSI/ASME Y14.1 size A, 8.5 by 11 inches"""

LARGE = 8.5
"""mm; a higher staff is large print (orchestral librarians advise against more for a player with ordinary sight)"""
LARGE_TYPE = 14 / 10.5
"""how much larger words are then: the text of 10.5 points is one of 14 (house figure)"""

STAVES = (8.5, 8.2, 7.8, 7.5, 7.2, 6.9, 6.6, 6.3)
"""mm: heights of the staff that a page is tried with, the largest first. Orchestral librarians ask for 7.0 to 8.5 mm in
a player's part; less is taken only where it saves a page (house figure)"""
HEAD = 50.0
"""mm that heading, sentences and work take above the music, by experience"""
A5_HEAD = 58.0
"""mm they take in the narrower lines of a small page, before its type is made smaller"""
MOST_SYSTEMS = 6
"""lines of music on a page beyond which a smaller staff with longer lines is clearer (house figure)"""

GUTTER = 22.0
"""margin on the punched side in mm: ISO 838 holes stand 12 mm from the edge and are 6 mm wide"""
OUTER = 15.0
TOP = 21.0
BOTTOM = 18.0

A5_MARGINS = {"gutter": 19.0, "outer": 10.0, "top": 16.0, "bottom": 14.0}
"""those of a small page; the holes still lie inside the margin (house figures)"""
A5_TYPE = 9 / 10.5
"""how much smaller words are there (house figure)"""
A5_STAVES = (7.2, 6.9, 6.6, 6.3, 6.0, 5.7)
"""mm: heights of the staff that a small page is tried with"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A sheet and the frame that text and music keep to."""

    width: float
    height: float
    """mm"""
    double: bool = False
    """printed on both sides: the punched margin changes sides"""
    gutter: float = GUTTER
    outer: float = OUTER
    top: float = TOP
    bottom: float = BOTTOM
    """margins in mm"""

    @property
    def room(self) -> tuple[float, float]:
        """Width and height in mm inside the margins."""
        return self.width - self.gutter - self.outer, self.height - self.top - self.bottom


def type_scale(plan: Plan) -> float:
    """How much larger than usual words and diagrams are: by the height of the staff, else by the page."""
    if plan.staff > LARGE:
        return LARGE_TYPE
    return A5_TYPE if plan.paper == "A5" else 1.0


def paper_of(plan: Plan) -> Paper:
    """The paper a plan asks for. Raises PressError for a size that is not stocked."""
    if plan.paper not in SIZES:
        raise PressError(Fault(fact=f"paper {plan.paper!r} is not known", hint=f"known: {', '.join(SIZES)}"))
    width, height = SIZES[plan.paper]
    margins = A5_MARGINS if plan.paper == "A5" else {}
    return Paper(width=width, height=height, double=plan.sides == "double", **margins)


def music_width(plan: Plan) -> float:
    """Width in mm that plates may take on the plan's paper. Raises PressError for a size that is not stocked."""
    return paper_of(plan).room[0]


def staves_for(plan: Plan) -> tuple[float, ...]:
    """Heights of the staff to try, in mm: the plan's own, or any of ours where it leaves the height at its default."""
    if plan.staff != Plan().staff:
        return (plan.staff,)
    return A5_STAVES if plan.paper == "A5" else STAVES


def pages_for(plan: Plan, systems: tuple[float, ...], ladder: float = LADDER) -> int:
    """How many pages a variation with systems so high takes at the most, whatever is said above it.

    `ladder` is the height in mm of what stands under the music but the log.
    """
    scale = type_scale(plan)
    return pages_of(
        systems,
        room=paper_of(plan).room[1],
        head=(A5_HEAD if plan.paper == "A5" else HEAD) * scale,
        ladder=ladder,
        scale=scale,
    )


def fits_page(plan: Plan, plate: Plate, ladder: float = LADDER) -> bool:
    """Whether a variation with this music is sure to take one page."""
    return pages_for(plan, plate.heights, ladder) == 1
