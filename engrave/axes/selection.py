"""The built-in selection: which studies a book holds when nobody has asked for any.

Longer than a book of its depth needs, because some studies do not apply to some passages: whoever prints takes those
that apply, in this order. The shorter selections keep the studies whose loss would leave a kind of work without a page.
"""

from __future__ import annotations

from engrave.axes.cycles import CYCLES
from engrave.model import Study

DEPTHS = ("short", "standard", "complete")


def selection(depth: str = "standard") -> tuple[Study, ...]:
    """Studies in the order of the catalogue. `depth` is one of DEPTHS. Raises ValueError for another."""
    if depth not in DEPTHS:
        raise ValueError(f"depth {depth!r} is not one of {', '.join(DEPTHS)}")
    pairs = [Study(pluck=s.name) for s in CYCLES]
    return (
        Study(),
        *pairs,
        Study(pluck="i-m", stroke="rest"),
        Study(pluck="i-m", stroke="rest, then free"),
        Study(pluck="a-m-i", accent="fretted notes"),
        Study(pluck="a-m-i", accent="every 2"),
        Study(pluck="i-m", accent="against the metre"),
    )
