"""Outlines: paths read, moved and measured. Units are the caller's; y goes down."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Iterator, Sequence
from functools import cache, lru_cache
from math import hypot, inf

from engrave.model.plate import Segment

Path = tuple[Segment, ...]
Box = tuple[float, float, float, float]
"""left, top, right, bottom"""

_TOKEN = re.compile(r"[A-Za-z]|-?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Z": 0}


def parse(data: str, *, flip: bool = False) -> Path:
    """An SVG path as absolute M, L, C and Z segments; `flip` turns an outline that has y up."""
    reader = _PathReader(-1.0 if flip else 1.0)
    tokens = _TOKEN.findall(data)
    i, command = 0, "M"
    while i < len(tokens):
        if tokens[i].isalpha():
            command = tokens[i]
            i += 1
        count = _TAKES[command.upper()]
        reader.take(command, [float(t) for t in tokens[i : i + count]])
        i += count
        if command in "Mm" and count:
            command = "L" if command == "M" else "l"
    return tuple(reader.made)


class _PathReader:
    """Where the pen is while a path is read."""

    def __init__(self, sign: float) -> None:
        self.sign = sign
        self.made: list[Segment] = []
        self.x = self.y = self.x0 = self.y0 = 0.0
        self.control: tuple[float, float] | None = None

    def take(self, command: str, n: list[float]) -> None:
        kind, relative = command.upper(), command.islower()
        if kind in "HV":
            n = [n[0], 0.0 if relative else self.y] if kind == "H" else [0.0 if relative else self.x, n[0]]
            kind = "L"
        points = [
            (a + (self.x if relative else 0.0), b + (self.y if relative else 0.0))
            for a, b in zip(n[::2], n[1::2], strict=True)
        ]
        control = None
        if kind == "S":
            mirrored = self.control or (self.x, self.y)
            points.insert(0, (2 * self.x - mirrored[0], 2 * self.y - mirrored[1]))
            kind = "C"
        if kind == "Z":
            self.x, self.y = self.x0, self.y0
        else:
            self.x, self.y = points[-1]
            if kind == "M":
                self.x0, self.y0 = self.x, self.y
            if kind == "C":
                control = points[1]
        self.control = control
        self.made.append((kind, tuple(v for x, y in points for v in (x, y * self.sign))))


def pairs(points: tuple[float, ...]) -> Iterator[tuple[float, float]]:
    """The points of a segment as (x, y)."""
    return zip(points[::2], points[1::2], strict=True)


def moved(path: Iterable[Segment], *, sx: float = 1.0, sy: float = 1.0, dx: float = 0.0, dy: float = 0.0) -> Path:
    """`path` scaled about the origin, then shifted."""
    return tuple(
        (kind, tuple(v * sy + dy if i % 2 else v * sx + dx for i, v in enumerate(points))) for kind, points in path
    )


@cache
def bounds(path: Path) -> Box:
    """The box of a path's ink; curves are measured along their length, not at their control points."""
    xs: list[float] = []
    ys: list[float] = []
    for line in flattened(path, 8):
        xs += [x for x, _ in line]
        ys += [y for _, y in line]
    return (min(xs), min(ys), max(xs), max(ys)) if xs else (0.0, 0.0, 0.0, 0.0)


@lru_cache(maxsize=20_000)
def number(value: float, places: int = 2) -> str:
    """A number as it is written, kept: a book writes nine in ten of its numbers again."""
    text = f"{value:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def flattened(path: Iterable[Segment], steps: int = 8) -> list[list[tuple[float, float]]]:
    """The path's contours as lists of points, each curve cut into `steps` pieces."""
    lines: list[list[tuple[float, float]]] = []
    for kind, p in path:
        if kind == "M":
            lines.append([(p[0], p[1])])
        elif kind == "L":
            lines[-1].append((p[0], p[1]))
        elif kind == "C":
            x0, y0 = lines[-1][-1]
            for k in range(1, steps + 1):
                t = k / steps
                u = 1 - t
                a, b, c, d = u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t
                lines[-1].append((a * x0 + b * p[0] + c * p[2] + d * p[4], a * y0 + b * p[1] + c * p[3] + d * p[5]))
        elif lines and lines[-1][0] != lines[-1][-1]:
            lines[-1].append(lines[-1][0])
    return lines


_ROUND = 0.5523
"""control length of a quarter circle as a curve, for radius 1: 4/3 (√2 − 1)"""


def disc(x: float, y: float, r: float, *, inward: bool = False) -> Path:
    """A filled circle; `inward` runs the other way round, to cut a hole."""
    k = _ROUND * r
    quarters: list[tuple[float, ...]] = [
        (x + r, y + k, x + k, y + r, x, y + r),
        (x - k, y + r, x - r, y + k, x - r, y),
        (x - r, y - k, x - k, y - r, x, y - r),
        (x + k, y - r, x + r, y - k, x + r, y),
    ]
    if inward:
        quarters = [(a, 2 * y - b, c, 2 * y - d, e, 2 * y - f) for a, b, c, d, e, f in quarters]
    return (("M", (x + r, y)), *(("C", q) for q in quarters), ("Z", ()))


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Path:
    """A filled box."""
    return (("M", (x0, y0)), ("L", (x1, y0)), ("L", (x1, y1)), ("L", (x0, y1)), ("Z", ()))


def polygon(points: Sequence[tuple[float, float]]) -> Path:
    """A filled polygon."""
    return (("M", points[0]), *(("L", p) for p in points[1:]), ("Z", ()))


def line(x0: float, y0: float, x1: float, y1: float) -> Path:
    """One straight line, to be stroked."""
    return (("M", (x0, y0)), ("L", (x1, y1)))


def slices(path: Path, width: float = 0.6, pen: float = 0.0) -> tuple[Box, ...]:
    """Boxes that cover the ink of a long shape closely: one for each `width` of it."""
    if len(path) == 2 and path[1][0] == "L":
        (x0, y0), (x1, y1) = path[0][1], path[1][1]
        if x0 == x1 or y0 == y1:
            dx, dy = (pen / 2, 0.0) if x0 == x1 else (0.0, pen / 2)
            return ((min(x0, x1) - dx, min(y0, y1) - dy, max(x0, x1) + dx, max(y0, y1) + dy),)
    edges: list[tuple[float, float, float, float]] = []
    for contour in flattened(path, 12):
        edges += [(*a, *b) for a, b in itertools.pairwise(contour)]
    return _cut(edges, width, pen / 2) if edges else ()


def _cut(edges: list[tuple[float, float, float, float]], width: float, half: float) -> tuple[Box, ...]:
    """Boxes over straight pieces of ink, one for each `width`, larger by `half` on every side."""
    left = min(min(e[0], e[2]) for e in edges)
    right = max(max(e[0], e[2]) for e in edges)
    count = max(1, int((right - left) / width + 0.999))
    step = (right - left) / count
    ends = [(left + k * step, left + (k + 1) * step) for k in range(count)]
    highest, lowest = [inf] * count, [-inf] * count
    for x0, y0, x1, y1 in edges:
        lo, hi = (x0, x1) if x0 <= x1 else (x1, x0)
        # most edges lie in one slice or two: the others are not looked at
        first = max(0, int((lo - left) / step) - 1) if step else 0
        for k in range(first, count):
            a, b = ends[k]
            if lo > b:
                continue
            if hi < a:
                break
            if hi - lo < 1e-9:
                ya, yb = y0, y1
            else:
                ya = y0 + (y1 - y0) * (max(a, lo) - x0) / (x1 - x0)
                yb = y0 + (y1 - y0) * (min(b, hi) - x0) / (x1 - x0)
            if ya > yb:
                ya, yb = yb, ya
            highest[k], lowest[k] = min(highest[k], ya), max(lowest[k], yb)
    return tuple(
        (a - half, top - half, b + half, bottom + half)
        for (a, b), top, bottom in zip(ends, highest, lowest, strict=True)
        if top <= bottom
    )


def lens(x0: float, y0: float, x1: float, y1: float, *, rise: float, thick: float) -> Path:
    """A slur: thin at its ends, `thick` in the middle, its back `rise` above (negative: below) the line of its ends.

    The control points stand at 0.27 of the length from either end.
    """
    dx, dy = x1 - x0, y1 - y0
    ends, deep = 0.04, thick * 2 / 3
    reach = 4 / 3 * rise
    pull = min(0.27, 1.6 / max(hypot(dx, dy), 0.1) + 0.12)
    ax, ay = x0 + pull * dx, y0 + pull * dy - reach
    bx, by = x1 - pull * dx, y1 - pull * dy - reach
    return (
        ("M", (x0, y0 - ends)),
        ("C", (ax, ay - deep, bx, by - deep, x1, y1 - ends)),
        ("L", (x1, y1 + ends)),
        ("C", (bx, by + deep, ax, ay + deep, x0, y0 + ends)),
        ("Z", ()),
    )


def wave(x: float, top: float, bottom: float) -> Path:
    """An upright wavy line, to be stroked; its waves are about one unit long."""
    count = max(2, round(2 * (bottom - top)))
    step = (bottom - top) / count
    path: list[Segment] = [("M", (x, top))]
    for k in range(count):
        y, side = top + k * step, 0.24 if k % 2 else -0.24
        path.append(("C", (x + side, y + 0.35 * step, x + side, y + 0.65 * step, x, y + step)))
    return tuple(path)
