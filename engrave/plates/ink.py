"""A finished plate as ink: operators of a PDF content stream, or plain SVG.

Conventions: millimetres with y down, as in the plate. The PDF operators expect the caller to have set a matrix under
which one unit is one mm and y goes down; each outline is a form of its own, in units of the outline, painted by name.
"""

from __future__ import annotations

from collections.abc import Mapping

from engrave.model import Mark, Plate, Segment, System
from engrave.plates import shapes

Box = tuple[float, float, float, float]


def pdf_forms(plate: Plate) -> dict[str, tuple[Box, bytes]]:
    """Outline key → (bounding box, content) of the form that paints it in black, in the outline's own units."""
    used = sorted({mark.outline for system in plate.systems for mark in system.marks if mark.outline})
    return {
        key: (shapes.bounds(plate.outlines[key]), (_pdf_path(plate.outlines[key], 1) + " f").encode()) for key in used
    }


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


def svg(plate: Plate, system: System) -> str:
    """One system as a plain SVG picture of the same marks, in mm, each with its role, owner and text."""
    width, height = _n(system.width), _n(system.height)
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">'
    ]
    for mark in system.marks:
        path = mark.path
        if mark.outline:
            s = mark.scale
            path = shapes.moved(plate.outlines[mark.outline], sx=s * mark.stretch, sy=s, dx=mark.x, dy=mark.y)
        out.append(f'<path class="{mark.role}"{_about(mark)}{_paint(mark)} d="{_svg_path(path)}"/>')
    out.append("</svg>\n")
    return "\n".join(out)


def _about(mark: Mark) -> str:
    about = f' data-owner="{_escaped(mark.owner)}"' if mark.owner else ""
    return about + (f' data-text="{_escaped(mark.text)}"' if mark.text else "")


def _paint(mark: Mark) -> str:
    if not mark.pen:
        return ""
    dash = f' stroke-dasharray="{" ".join(_n(d) for d in mark.dash)}"' if mark.dash else ""
    return f' fill="none" stroke="black" stroke-width="{_n(mark.pen)}"{dash}'


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace('"', "&quot;")


_PDF = {"M": "m", "L": "l", "C": "c", "Z": "h"}


def _pdf_path(path: tuple[Segment, ...], places: int = 3) -> str:
    return " ".join(" ".join([*(_n(v, places) for v in points), _PDF[kind]]) for kind, points in path)


def _svg_path(path: tuple[Segment, ...]) -> str:
    return "".join(kind + " ".join(_n(v) for v in points) for kind, points in path)


def _n(value: float, places: int = 3) -> str:
    text = f"{value:.{places}f}".rstrip("0").rstrip(".") if places else str(round(value))
    return "0" if text == "-0" else text
