"""Plates as operators of a PDF content stream (ISO 32000-1, 8.5: paths; 8.10: form XObjects).

Conventions: one unit is one mm with y down, as in a plate; whoever paints sets the matrix for that. An outline used
many times is a form of its own, in its own units, painted by its resource name; so is a plain staff, which paints
others.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from engrave.model import Mark, Segment
from engrave.model.outlines import number


@dataclass(frozen=True, slots=True)
class FormXObject:
    """What is painted many times."""

    box: tuple[float, float, float, float]
    """left, low, right, high, in its own units"""
    content: bytes
    uses: tuple[str, ...] = ()
    """names of the forms it paints itself"""


_LETTERS = {"M": "m", "L": "l", "C": "c", "Z": "h"}
_SHAPES = {operator: letter for letter, operator in _LETTERS.items()}


def form(outline: tuple[Segment, ...]) -> FormXObject:
    """The form that paints an outline, which may be an empty one."""
    return FormXObject(_bounds(outline), f"{_path(outline, 1)} f".encode("ascii"))


def placed(name: str, down: float) -> bytes:
    """Paint a form of this name `down` mm lower."""
    return f"q 1 0 0 1 0 {number(down, 3)} cm /{name} Do Q\n".encode("ascii")


def operators(marks: Iterable[Mark], names: Mapping[str, str]) -> bytes:
    """Paint marks in black; `names` gives the resource name of each outline's form."""
    out = ["0 g 0 G 0 J 0 j"]
    pen: tuple[float, tuple[float, ...]] | None = None
    for mark in marks:
        if mark.outline:
            out.append(f"q {_matrix(mark)} cm /{names[mark.outline]} Do Q")
        elif mark.pen and (mark.pen, mark.dash) != pen:
            pen = (mark.pen, mark.dash)
            dashes = " ".join(number(length, 3) for length in mark.dash)
            out.append(f"{number(mark.pen, 3)} w [{dashes}] 0 d {_path(mark.path, 3)} S")
        else:
            out.append(f"{_path(mark.path, 3)} {'S' if mark.pen else 'f'}")
    return "\n".join(out).encode("ascii")


def as_svg(content: bytes) -> str:
    """Operators of a plate as shapes of SVG 1.1, forms by their names; it knows those that `operators` writes."""
    shapes: list[str] = []
    path: list[str] = []
    values: list[str] = []
    pen, dashes, matrix = "0", "", ""
    for word in content.decode("ascii").split():
        if word in _SHAPES:
            path.append(f"{_SHAPES[word]}{' '.join(values)}")
        elif word == "w":
            (pen,) = values
        elif word == "d":
            dashes = " ".join(values[:-1]).strip("[]")
        elif word == "cm":
            matrix = " ".join(values)
        elif word == "Do":
            shapes.append(f'<use xlink:href="#{values[0][1:]}" transform="matrix({matrix})"/>')
        elif word in "Sf":
            line = f' fill="none" stroke="#000" stroke-width="{pen}"' if word == "S" else ""
            line += f' stroke-dasharray="{dashes}"' if word == "S" and dashes else ""
            shapes.append(f'<path d="{" ".join(path)}"{line}/>')
            path = []
        elif word not in "qQgGJj":
            values.append(word)
            continue
        values = []
    return "".join(shapes)


def _matrix(mark: Mark) -> str:
    return f"{_scaled(mark.scale, mark.stretch)} {number(mark.x, 3)} {number(mark.y, 3)}"


@lru_cache(maxsize=1_000)
def _scaled(scale: float, stretch: float) -> str:
    """The start of a matrix, kept: a plate prints its outlines in few sizes."""
    return f"{number(scale * stretch, 6)} 0 0 {number(scale, 6)}"


def _path(path: tuple[Segment, ...], places: int) -> str:
    return " ".join(" ".join((*(number(v, places) for v in values), _LETTERS[kind])) for kind, values in path)


def _bounds(path: tuple[Segment, ...]) -> tuple[float, float, float, float]:
    """A box round all points; a curve lies within its control points."""
    xs = [value for _, values in path for value in values[::2]] or [0.0]
    ys = [value for _, values in path for value in values[1::2]] or [0.0]
    return min(xs), min(ys), max(xs), max(ys)
