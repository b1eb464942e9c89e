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


DRAWN: dict[str, tuple[str, float]] = {
    "♯": (
        "M120-620L170-620L170 120L120 120Z M290-650L340-650L340 90L290 90Z"
        " M50-370L410-450L410-350L50-270Z M50-110L410-190L410-90L50-10Z",
        460.0,
    ),
    "♭": (
        "M60-760L110-760L110-330C150-375 205-400 260-400C330-400 380-350 380-280C380-150 220-70 60 60Z"
        " M110-255L110-70C200-140 285-205 285-285C285-325 262-345 230-345C185-345 140-305 110-255Z",
        420.0,
    ),
    "♮": (
        "M60-700L110-700L110-440L320-490L320 210L270 210L270-60L60-10Z M110-320L110-120L270-160L270-360Z",
        380.0,
    ),
    "♩": (
        "M290-820L335-820L335-110C335-30 245 20 165 20C95 20 50-12 50-65"
        "C50-135 135-195 220-195C248-195 270-188 290-176Z",
        400.0,
    ),
    "♪": (
        "M290-820L335-820C345-690 520-640 520-470C520-410 500-360 470-310C495-450 420-530 335-570L335-110"
        "C335-30 245 20 165 20C95 20 50-12 50-65C50-135 135-195 220-195C248-195 270-188 290-176Z",
        560.0,
    ),
}
"""signs the faces lack, drawn by hand: path in font units with y down, and width"""


def outline(text: str, face: str) -> tuple[str, shapes.Path]:
    """Key and outline of `text` set in `face`; characters that cannot be set are left out (see `missing`)."""
    return f"{face}/{text}", _set(text, face)[0]


def advance(text: str, face: str) -> float:
    """Width of `text` in ems, side bearings included."""
    return _set(text, face)[1] / EM


def missing(text: str, face: str = "roman") -> tuple[str, ...]:
    """Characters of `text` that cannot be set, in order."""
    known = _font(face)["cmap"]
    return tuple(dict.fromkeys(c for c in text if ord(c) not in known and c not in DRAWN))


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
        if character in DRAWN:
            drawn, width = DRAWN[character]
            path += shapes.moved(shapes.parse(drawn), dx=x)
            x += width
            continue
        name = font["cmap"].get(ord(character))
        if name is None:
            continue
        pen = SVGPathPen(font["glyphs"])
        glyph = font["glyphs"][name]
        glyph.draw(pen)
        path += shapes.moved(shapes.parse(pen.getCommands(), flip=True), dx=x)
        x += glyph.width
    return tuple(path), x
