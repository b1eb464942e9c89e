"""Bars to ink: MEI, the plain staff from verovio, our guitar layer. The only room that knows verovio."""

from engrave.plates.drawing import draw, lines
from engrave.plates.picture import svg

__all__ = ["draw", "lines", "svg"]
