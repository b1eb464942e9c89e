"""A finished plate as a plain SVG picture, to be looked at and compared.

Conventions: millimetres with y down, as in the plate; coordinates rounded to a hundredth of a mm, scales to six places;
each outline stands once in the file. Every mark says its role, its owner and its text.
"""

from __future__ import annotations

from xml.sax.saxutils import escape

from engrave.model import Mark, Plate, Segment
from engrave.model.outlines import number

_QUOTED = {'"': "&quot;"}


def svg(plate: Plate) -> str:
    """All systems of a plate one under the other."""
    width = max(system.width for system in plate.systems)
    names = {key: f"o{k}" for k, key in enumerate(sorted(plate.outlines))}
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(width)}mm" height="{number(plate.height)}mm"'
        f' viewBox="0 0 {number(width)} {number(plate.height)}">',
        "<defs>",
        *(f'<path id="{names[key]}" d="{_path(plate.outlines[key], 0)}"/>' for key in sorted(plate.outlines)),
        "</defs>",
    ]
    y = 0.0
    for system in plate.systems:
        out.append(f'<g transform="translate(0 {number(y)})">')
        out += [_mark(mark, names) for mark in system.marks]
        out.append("</g>")
        y += system.height
    return "\n".join([*out, "</svg>", ""])


def _mark(mark: Mark, names: dict[str, str]) -> str:
    about = f'class="{mark.role}"'
    about += f' data-owner="{escape(mark.owner, _QUOTED)}"' if mark.owner else ""
    about += f' data-text="{escape(mark.text, _QUOTED)}"' if mark.text else ""
    if mark.outline:
        scale = f"{number(mark.scale * mark.stretch, 6)} {number(mark.scale, 6)}"
        place = f"translate({number(mark.x)} {number(mark.y)}) scale({scale})"
        return f'<use {about} href="#{names[mark.outline]}" transform="{place}"/>'
    if mark.pen:
        about += f' fill="none" stroke="black" stroke-width="{number(mark.pen, 3)}"'
        about += f' stroke-dasharray="{" ".join(map(number, mark.dash))}"' if mark.dash else ""
    return f'<path {about} d="{_path(mark.path)}"/>'


def _path(path: tuple[Segment, ...], places: int = 2) -> str:
    return "".join(kind + " ".join(number(v, places) for v in points) for kind, points in path)
