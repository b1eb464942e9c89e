"""Lettering: text as outlines, from the serif faces of the font package, so that a plate needs no font when printed.

Units: an outline is in font units (1,000 to the em), y down, its origin on the baseline at the left.
"""

from __future__ import annotations

from functools import cache
from importlib import resources
from typing import Any

from engrave.plates import shapes

EM = 1000.0
FACES = {"roman": "Regular", "bold": "Semibold", "italic": "It", "bold italic": "SemiboldIt"}
"""our names of the faces → the package's files"""


def outline(text: str, face: str) -> tuple[str, shapes.Path]:
    """Key and outline of `text` set in `face`; signs the face lacks are left out (see `missing`)."""
    return f"{face}/{text}", _set(text, face)[0]


def advance(text: str, face: str) -> float:
    """Width of `text` in ems, side bearings included."""
    return _set(text, face)[1] / EM


def missing(text: str, face: str = "roman") -> tuple[str, ...]:
    """Characters of `text` the face has no shape for, in order."""
    known = _font(face)["cmap"]
    return tuple(dict.fromkeys(c for c in text if ord(c) not in known))


@cache
def _font(face: str) -> dict[str, Any]:
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped] # noqa: PLC0415 (only needed once there is something to letter)

    file = resources.files("font_source_serif_pro") / "files" / f"SourceSerifPro-{FACES[face]}.otf"
    with resources.as_file(file) as path:
        font = TTFont(path, lazy=True)
        return {"font": font, "glyphs": font.getGlyphSet(), "cmap": font.getBestCmap()}


@cache
def _set(text: str, face: str) -> tuple[shapes.Path, float]:
    from fontTools.pens.svgPathPen import SVGPathPen  # type: ignore[import-untyped] # noqa: PLC0415 (as above)

    font = _font(face)
    path: list[Any] = []
    x = 0.0
    for character in text:
        name = font["cmap"].get(ord(character))
        if name is None:
            continue
        pen = SVGPathPen(font["glyphs"])
        glyph = font["glyphs"][name]
        glyph.draw(pen)
        path += shapes.moved(shapes.parse(pen.getCommands(), flip=True), dx=x)
        x += glyph.width
    return tuple(path), x
