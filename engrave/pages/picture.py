"""Plates and diagrams drawn straight into the page as PDF operators, without a picture format between.

WeasyPrint asks an image for its size and lets it draw into the page's stream; that second interface is not documented,
so the version is pinned to a minor release and a test tells when it changes. A shape used many times becomes a form
XObject, stored once in the file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from engrave.model import Mark, Segment, System

PX = 96 / 25.4
"""CSS pixels in a mm"""

BLANK = "blank"
"""role of a mark that is filled with the white of the paper"""

_LETTERS = {"M": "m", "L": "l", "C": "c", "Z": "h"}


def operators(system: System, names: Mapping[str, str]) -> bytes:
    """PDF operators that paint a system in mm, y down; `names` gives the resource name of each outline."""
    out = ["0 g 0 G 1 J 1 j"]
    for mark in system.marks:
        if mark.outline:
            across = mark.scale * mark.stretch
            out.append(f"q {_n(across)} 0 0 {_n(mark.scale)} {_n(mark.x)} {_n(mark.y)} cm /{names[mark.outline]} Do Q")
        elif mark.path:
            out.append(_path(mark))
    return "\n".join(out).encode("ascii")


def outline_operators(segments: tuple[Segment, ...]) -> bytes:
    """PDF operators that fill an outline in its own units."""
    return f"{_segments(segments)} f".encode("ascii")


def _path(mark: Mark) -> str:
    drawn = _segments(mark.path)
    if mark.x or mark.y or mark.scale != 1 or mark.stretch != 1:
        across = mark.scale * mark.stretch
        drawn = f"{_n(across)} 0 0 {_n(mark.scale)} {_n(mark.x)} {_n(mark.y)} cm {drawn}"
    if mark.role == BLANK:
        return f"q 1 g {drawn} f Q"
    if not mark.pen:
        return f"q {drawn} f Q"
    dash = " ".join(_n(length) for length in mark.dash)
    return f"q {_n(mark.pen)} w [{dash}] 0 d {drawn} S Q"


def _segments(segments: tuple[Segment, ...]) -> str:
    return " ".join(f"{' '.join(map(_n, values))} {_LETTERS[kind]}".lstrip() for kind, values in segments)


def _n(value: float) -> str:
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


@dataclass(slots=True, kw_only=True)
class Gallery:
    """Pictures of one book by the address a template names them with."""

    images: dict[str, Any] = field(default_factory=dict)
    _forms: dict[tuple[Segment, ...], str] = field(default_factory=dict)

    def hang(
        self,
        address: str,
        system: System,
        outlines: Mapping[str, tuple[Segment, ...]],
        *,
        drawn: Callable[[], None] = lambda: None,
    ) -> str:
        """Keep a picture under `address` (returned); `drawn` is called when it is painted."""
        used = dict.fromkeys(mark.outline for mark in system.marks if mark.outline)
        names = {key: self._forms.setdefault(outlines[key], f"shape{len(self._forms)}") for key in used}
        forms = {names[key]: outlines[key] for key in used}
        self.images[address] = _Image(system=system, painted=operators(system, names), forms=forms, drawn=drawn)
        return address


@dataclass(slots=True, kw_only=True)
class _Image:
    """What WeasyPrint takes for an image."""

    system: System
    painted: bytes
    forms: dict[str, tuple[Segment, ...]]
    drawn: Callable[[], None]

    def get_intrinsic_size(self, _resolution: float, _font_size: float) -> tuple[float, float, float]:
        """Width and height in CSS pixels, and their ratio."""
        wide, high = self.system.width * PX, self.system.height * PX
        return wide, high, wide / high

    def draw(self, stream: Any, width: float, height: float, _style: Any) -> None:
        """Paint into the page."""
        import pydyf

        known = stream._resources["XObject"]  # noqa: SLF001 - WeasyPrint has no public way to add a form of one's own
        for name, segments in self.forms.items():
            if name not in known:
                box = pydyf.Array(_bounds(segments))
                extra = pydyf.Dictionary({"Type": "/XObject", "Subtype": "/Form", "BBox": box})
                known[name] = pydyf.Stream([outline_operators(segments)], extra, compress=stream.compress)
        stream.push_state()
        stream.transform(a=width / self.system.width, d=height / self.system.height)
        stream.stream.append(self.painted)
        stream.pop_state()
        self.drawn()


def _bounds(segments: tuple[Segment, ...]) -> tuple[float, float, float, float]:
    """A box round all points, control points included, with a little air."""
    xs = [v for _, values in segments for v in values[::2]]
    ys = [v for _, values in segments for v in values[1::2]]
    air = 0.01 * max(max(xs) - min(xs), max(ys) - min(ys), 1e-6)
    return min(xs) - air, min(ys) - air, max(xs) + air, max(ys) + air
