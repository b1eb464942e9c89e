"""The loop of a hard spot under the music of its page, where there is room for it."""

from __future__ import annotations

from engrave.pages.content import Sheet
from engrave.pages.templates import LOOP


def loop_height(sheet: Sheet, scale: float) -> float:
    """Room in mm that the loop of a page takes with its line; 0 where it has none."""
    return sheet.loop.systems[0].height + sum(LOOP.values()) * scale if sheet.loop else 0.0
