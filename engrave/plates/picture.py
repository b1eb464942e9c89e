"""A finished plate as a plain SVG picture, to be looked at and compared.

Conventions: millimetres with y down, as in the plate; coordinates rounded to a hundredth of a mm, scales to six places;
each outline stands once in the file. Every mark says its role, its owner and its text.
"""

from __future__ import annotations

from engrave.model import Mark, Plate, Segment


def svg(plate: Plate) -> str:
    """All systems of a plate one under the other."""
    width = max(system.width for system in plate.systems)
    names = {key: f"o{k}" for k, key in enumerate(sorted(plate.outlines))}
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width)}mm" height="{_n(plate.height)}mm"'
        f' viewBox="0 0 {_n(width)} {_n(plate.height)}">',
        "<defs>",
        *(f'<path id="{names[key]}" d="{_path(plate.outlines[key], 0)}"/>' for key in sorted(plate.outlines)),
        "</defs>",
    ]
    y = 0.0
    for system in plate.systems:
        out.append(f'<g transform="translate(0 {_n(y)})">')
        out += [_mark(mark, names) for mark in system.marks]
        out.append("</g>")
        y += system.height
    return "\n".join([*out, "</svg>", ""])


def _mark(mark: Mark, names: dict[str, str]) -> str:
    about = f'class="{mark.role}"'
    about += f' data-owner="{_escaped(mark.owner)}"' if mark.owner else ""
    about += f' data-text="{_escaped(mark.text)}"' if mark.text else ""
    if mark.outline:
        scale = f"{_n(mark.scale * mark.stretch, 6)} {_n(mark.scale, 6)}"
        place = f"translate({_n(mark.x)} {_n(mark.y)}) scale({scale})"
        return f'<use {about} href="#{names[mark.outline]}" transform="{place}"/>'
    if mark.pen:
        about += f' fill="none" stroke="black" stroke-width="{_n(mark.pen, 3)}"'
        about += f' stroke-dasharray="{" ".join(map(_n, mark.dash))}"' if mark.dash else ""
    return f'<path {about} d="{_path(mark.path)}"/>'


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace('"', "&quot;")


def _path(path: tuple[Segment, ...], places: int = 2) -> str:
    return "".join(kind + " ".join(_n(v, places) for v in points) for kind, points in path)


def _n(value: float, places: int = 2) -> str:
    text = f"{value:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text
