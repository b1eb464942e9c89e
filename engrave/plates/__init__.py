"""Bars to ink: MEI, the plain staff from verovio, our guitar layer. The only room that knows verovio."""

from engrave.plates.drawing import draw
from engrave.plates.picture import svg
from engrave.plates.readback import read_back

__all__ = ["draw", "read_back", "svg"]
