"""Exact geometry on the ink of a plate: distances between outlines, in mm, from flattened curves. Needs numpy only.

Conventions: a shape is its filled contours as segments (n × 4: x0, y0, x1, y1); each straight piece of a stroked line
is the box its pen fills, cut square at its ends, dashes and gaps alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from engrave.model import Mark, Plate, System
from engrave.model import outlines as paths

Floats = NDArray[np.float64]


@dataclass(slots=True, kw_only=True)
class Shape:
    """The ink of one mark."""

    mark: Mark
    segments: Floats
    box: tuple[float, float, float, float]


def inked(plate: Plate, system: System) -> list[Shape]:
    """Every mark of a system as a shape, in mm."""
    flat: dict[str, list[Floats]] = {
        key: [np.array(line) for line in paths.flattened(path, 6)] for key, path in plate.outlines.items()
    }
    made: list[Shape] = []
    for mark in system.marks:
        if mark.outline:
            scale = np.array([mark.scale * mark.stretch, mark.scale])
            lines = [line * scale + np.array([mark.x, mark.y]) for line in flat[mark.outline]]
        else:
            lines = [np.array(line) for line in paths.flattened(mark.path, 12)]
            if mark.pen:
                lines = [box for line in lines for box in _stroked(line, mark.pen / 2)]
        pieces = [np.hstack([line[:-1], line[1:]]) for line in lines if len(line) > 1]
        if not pieces:
            continue
        segments = np.vstack(pieces)
        xs, ys = segments[:, ::2], segments[:, 1::2]
        box = (float(xs.min()), float(ys.min()), float(xs.max()), float(ys.max()))
        made.append(Shape(mark=mark, segments=segments, box=box))
    return made


def _stroked(line: Floats, half: float) -> list[Floats]:
    """The boxes a pen fills along a line of straight pieces."""
    boxes: list[Floats] = []
    for a, b in pairwise(line):
        along = (b - a) / max(float(np.hypot(*(b - a))), 1e-12)
        side = np.array([-along[1], along[0]]) * half
        boxes.append(np.array([a + side, b + side, b - side, a - side, a + side]))
    return boxes


def distance(a: Shape, b: Shape) -> float:
    """Least distance in mm between the ink of two shapes; 0 where they touch or one lies in the other."""
    near = least(a.segments, b.segments)
    if near and (_inside(a, b) or _inside(b, a)):
        return 0.0
    return near


def least(a: Floats, b: Floats) -> float:
    """Least distance between two sets of segments; 0 where two cross."""
    if _cross(a, b):
        return 0.0
    return float(
        np.sqrt(min(_points_to(a[:, :2], b), _points_to(a[:, 2:], b), _points_to(b[:, :2], a), _points_to(b[:, 2:], a)))
    )


def _points_to(points: Floats, segments: Floats) -> float:
    """Least squared distance from any of the points to any of the segments."""
    start = segments[None, :, :2]
    along = segments[None, :, 2:] - start
    to = points[:, None, :] - start
    length = np.maximum((along**2).sum(axis=2), 1e-18)
    t = np.clip((to * along).sum(axis=2) / length, 0.0, 1.0)
    off = to - t[:, :, None] * along
    return float((off**2).sum(axis=2).min())


def _cross(a: Floats, b: Floats) -> bool:
    """Whether any segment of one set crosses one of the other."""
    p, r = a[:, None, :2], a[:, None, 2:] - a[:, None, :2]
    q, s = b[None, :, :2], b[None, :, 2:] - b[None, :, :2]
    span = r[..., 0] * s[..., 1] - r[..., 1] * s[..., 0]
    gap = q - p
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (gap[..., 0] * s[..., 1] - gap[..., 1] * s[..., 0]) / span
        u = (gap[..., 0] * r[..., 1] - gap[..., 1] * r[..., 0]) / span
    return bool(((t >= 0) & (t <= 1) & (u >= 0) & (u <= 1) & (np.abs(span) > 1e-12)).any())


def _inside(inner: Shape, outer: Shape) -> bool:
    """Whether a point of `inner` lies in the filled `outer` (winding number not zero, as a plate is filled)."""
    x, y = inner.segments[0, :2]
    x0, y0, x1, y1 = outer.segments.T
    side = (x1 - x0) * (y - y0) - (x - x0) * (y1 - y0)
    up = ((y0 <= y) & (y1 > y) & (side > 0)).sum()
    down = ((y1 <= y) & (y0 > y) & (side < 0)).sum()
    return bool(up != down)
