"""Plates and diagrams drawn straight into the page as PDF operators, without a picture format between.

An `Impression` is what the press takes from a plate: its operators and sizes, without the marks. It is all that the
pages need, it is small, and a plate need not be drawn again where its impression is at hand.

WeasyPrint asks an image for its size and lets it draw into the page's stream; that second interface is not documented,
so the version is pinned to a minor release and a test tells when it changes. A shape used many times becomes a form
XObject, stored once in the file.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from engrave.model import Plate, Segment
from engrave.pages.operators import Form, form, operators

PX = 96 / 25.4
"""CSS pixels in a mm"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Painted:
    """One line of music, or a diagram, as operators."""

    width: float
    height: float
    """mm"""
    words: str
    """what it shows, for someone who cannot see it"""
    content: bytes
    """operators in mm, y down"""
    forms: tuple[str, ...]
    """names of the forms they use"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Impression:
    """A plate as it is printed."""

    staff: float
    """height of the staff in mm"""
    systems: tuple[Painted, ...]
    forms: Mapping[str, Form]
    """name → form; a name says what the form looks like, so that it is the same one in every plate"""
    shown: tuple[tuple[str, str], ...]
    """(role, text) of its marks, each once, in order: what a legend has to explain"""

    @property
    def height(self) -> float:
        """Height in mm with no gap between the systems."""
        return sum(system.height for system in self.systems)


def impression(plate: Plate) -> Impression:
    """The impression of a plate."""
    made = {key: _form(path) for key, path in plate.outlines.items()}
    names = {key: name for key, (name, _) in made.items()}
    systems = []
    for system in plate.systems:
        used = {names[mark.outline] for mark in system.marks if mark.outline}
        systems.append(
            Painted(
                width=system.width,
                height=system.height,
                words=system.words or "Music.",
                content=operators(system, names),
                forms=tuple(sorted(used)),
            )
        )
    wanted = {name for system in systems for name in system.forms}
    return Impression(
        staff=plate.staff,
        systems=tuple(systems),
        forms={name: form for name, form in sorted(made.values()) if name in wanted},
        shown=tuple(sorted({(mark.role, mark.text) for system in plate.systems for mark in system.marks})),
    )


@lru_cache(maxsize=2_000)
def _form(path: tuple[Segment, ...]) -> tuple[str, Form]:
    """Name and form of an outline. Most plates share most of their outlines, so these are kept."""
    made = form(path)
    return f"s{hashlib.sha256(made[1]).hexdigest()[:10]}", made


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
    """The pictures of a run of pages, by the address a template names them with."""

    images: dict[str, Image] = field(default_factory=dict)

    def hang(self, name: str, shown: Impression, *, scale: float = 1.0) -> tuple[Picture, ...]:
        """Keep an impression under `name`, printed `scale` times its size: a picture a system, to let pages break."""
        hung = []
        for index, system in enumerate(shown.systems, start=1):
            picture = Picture(
                address=f"plate:{name}-{index}",
                alt=system.words,
                width=round(system.width * scale, 3),
                height=round(system.height * scale, 3),
            )
            self.images[picture.address] = Image(system=system, forms=shown.forms)
            hung.append(picture)
        return tuple(hung)

    def draw(self, name: str, diagram: Plate, *, scale: float = 1.0) -> Picture:
        """Keep a diagram of one piece under `name`."""
        return self.hang(name, impression(diagram), scale=scale)[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Image:
    """What WeasyPrint takes for an image."""

    system: Painted
    forms: Mapping[str, Form]

    @property
    def digest(self) -> str:
        """What tells its ink from others; the names of the forms say what they look like."""
        return hashlib.sha256(repr(self.system).encode()).hexdigest()

    def get_intrinsic_size(self, _resolution: float, _font_size: float) -> tuple[float, float, float]:
        """Width and height in CSS pixels, and their ratio."""
        wide, high = self.system.width * PX, self.system.height * PX
        return wide, high, wide / high

    def draw(self, stream: Any, width: float, height: float, _style: Any) -> None:
        """Paint into the page."""
        import pydyf  # noqa: PLC0415 (loaded only when a page is printed)

        known = stream._resources["XObject"]  # noqa: SLF001 - WeasyPrint has no public way to add a form of one's own
        for name in self.system.forms:
            if name not in known:
                box, painted = self.forms[name]
                extra = pydyf.Dictionary({"Type": "/XObject", "Subtype": "/Form", "BBox": pydyf.Array(box)})
                known[name] = pydyf.Stream([painted], extra, compress=stream.compress)
        stream.push_state()
        stream.transform(a=width / self.system.width, d=height / self.system.height)
        stream.stream.append(self.system.content)
        stream.pop_state()
