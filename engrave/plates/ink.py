"""A finished plate as operators of a PDF content stream.

Conventions: millimetres with y down, as in the plate. The PDF operators expect the caller to have set a matrix under
which one unit is one mm and y goes down; each outline is a form of its own, in units of the outline, painted by name.
"""

from __future__ import annotations

from collections.abc import Mapping

from engrave.model import Plate, Segment, System
from engrave.plates import shapes

Box = tuple[float, float, float, float]


def pdf_forms(plate: Plate) -> dict[str, tuple[Box, bytes]]:
    """Outline key → (bounding box, content) of the form that paints it in black, in the outline's own units."""
    used = sorted({mark.outline for system in plate.systems for mark in system.marks if mark.outline})
    return {key: (_roomy(plate.outlines[key]), (_pdf_path(plate.outlines[key], 1) + " f").encode()) for key in used}


def pdf_operators(system: System, names: Mapping[str, str]) -> bytes:
    """The drawing of one system; `names` gives the resource name under which each outline's form is registered."""
    out = ["q 0 g 0 G 0 J 0 j"]
    pen: tuple[float, tuple[float, ...]] = (-1.0, ())
    for mark in system.marks:
        if mark.outline:
            s, y = mark.scale, mark.scale
            out.append(
                f"q {_n(s * mark.stretch, 6)} 0 0 {_n(y, 6)} {_n(mark.x)} {_n(mark.y)} cm /{names[mark.outline]} Do Q"
            )
        elif mark.pen:
            if pen != (mark.pen, mark.dash):
                pen = (mark.pen, mark.dash)
                out.append(f"{_n(mark.pen)} w [{' '.join(_n(d) for d in mark.dash)}] 0 d")
            out.append(_pdf_path(mark.path) + " S")
        else:
            out.append(_pdf_path(mark.path) + " f")
    out.append("Q")
    return "\n".join(out).encode("ascii")


def _roomy(path: tuple[Segment, ...]) -> Box:
    """A box round all of a path and a little air: a form clips what lies outside its box."""
    left, top, right, bottom = shapes.bounds(path)
    air = 1 + 0.02 * max(right - left, bottom - top)
    return round(left - air), round(top - air), round(right + air), round(bottom + air)


_PDF = {"M": "m", "L": "l", "C": "c", "Z": "h"}


def _pdf_path(path: tuple[Segment, ...], places: int = 3) -> str:
    return " ".join(" ".join([*(_n(v, places) for v in points), _PDF[kind]]) for kind, points in path)


def _n(value: float, places: int = 3) -> str:
    text = f"{value:.{places}f}".rstrip("0").rstrip(".") if places else str(round(value))
    return "0" if text == "-0" else text
