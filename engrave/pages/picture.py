"""Plates and diagrams drawn straight into the page as PDF operators, without a picture format between.

WeasyPrint asks an image for its size and lets it draw into the page's stream; that second interface is not documented,
so the version is pinned to a minor release and a test tells when it changes. A shape used many times becomes a form
XObject, stored once in the file.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from engrave.model import Plate, Segment, System
from engrave.pages.operators import Form, form, operators

PX = 96 / 25.4
"""CSS pixels in a mm"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture as a template places it."""

    address: str
    alt: str
    width: float
    height: float
    """mm"""


@dataclass(slots=True, kw_only=True)
class Gallery:
    """The pictures of one book, by the address a template names them with."""

    images: dict[str, Any] = field(default_factory=dict)
    _names: dict[Form, str] = field(default_factory=dict)
    _known: dict[str, tuple[tuple[Segment, ...], Form]] = field(default_factory=dict)

    def hang(self, name: str, plate: Plate, *, scale: float = 1.0) -> tuple[Picture, ...]:
        """Keep a plate under `name`, printed `scale` times its size: one picture a system, to let pages break."""
        made = self._forms(plate)
        names = {key: self._names.setdefault(form, f"shape{len(self._names)}") for key, form in made.items()}
        by_name = {names[key]: form for key, form in made.items()}
        hung = []
        for index, system in enumerate(plate.systems, start=1):
            picture = Picture(
                address=f"plate:{name}-{index}",
                alt=system.words or "Music.",
                width=round(system.width * scale, 3),
                height=round(system.height * scale, 3),
            )
            self.images[picture.address] = _Image(
                system=system, painted=operators(system, names), forms=by_name, drawn=_nobody
            )
            hung.append(picture)
        return tuple(hung)

    def _forms(self, plate: Plate) -> dict[str, Form]:
        """The plate's forms; most plates of a book share most of their outlines, which are written once."""
        for key, path in plate.outlines.items():
            known = self._known.get(key)
            if known is None or (known[0] is not path and known[0] != path):
                self._known[key] = (path, form(path))
        used = {mark.outline for system in plate.systems for mark in system.marks if mark.outline}
        return {key: self._known[key][1] for key in sorted(used)}

    def watch(self, progress: Callable[[int, int], None]) -> None:
        """Call `progress` with how many pictures are painted, and of how many, as they are."""
        total, done = len(self.images), 0

        def one() -> None:
            nonlocal done
            done += 1
            progress(done, total)

        for image in self.images.values():
            image.drawn = one
        progress(0, total)


def _nobody() -> None:
    """Nobody watches."""


@dataclass(slots=True, kw_only=True)
class _Image:
    """What WeasyPrint takes for an image."""

    system: System
    painted: bytes
    forms: dict[str, Form]
    drawn: Callable[[], None]

    def get_intrinsic_size(self, _resolution: float, _font_size: float) -> tuple[float, float, float]:
        """Width and height in CSS pixels, and their ratio."""
        wide, high = self.system.width * PX, self.system.height * PX
        return wide, high, wide / high

    def draw(self, stream: Any, width: float, height: float, _style: Any) -> None:
        """Paint into the page."""
        import pydyf  # noqa: PLC0415 (loaded only when a page is printed)

        known = stream._resources["XObject"]  # noqa: SLF001 - WeasyPrint has no public way to add a form of one's own
        for name, (box, painted) in self.forms.items():
            if name not in known:
                extra = pydyf.Dictionary({"Type": "/XObject", "Subtype": "/Form", "BBox": pydyf.Array(box)})
                known[name] = pydyf.Stream([painted], extra, compress=stream.compress)
        stream.push_state()
        stream.transform(a=width / self.system.width, d=height / self.system.height)
        stream.stream.append(self.painted)
        stream.pop_state()
        self.drawn()
