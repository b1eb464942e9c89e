"""Plates and diagrams drawn straight into the page as PDF operators, without a picture format between.

An `Impression` is what the press takes from a plate: its operators and sizes, without the marks. It is all that the
pages need, it is small, and a plate need not be drawn again where its impression is at hand.

WeasyPrint asks an image for its size and lets it draw into the page's stream; that second interface is not documented,
so the version is pinned to a minor release and a test tells when it changes. A shape used many times becomes a form
XObject, stored once in the file, and so does a plain staff, which most variations of a line share.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

from engrave.model import Mark, Plate, Segment, Staff
from engrave.pages.operators import Form, form, operators, placed

PX = 96 / 25.4
"""CSS pixels in a mm"""
STAVES = 200
"""how many forms of plain staves are kept"""
_staves: dict[Staff, tuple[str, _Inked]] = {}


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

    @property
    def digest(self) -> str:
        """What tells its ink from others; the names of the forms say what they look like."""
        return hashlib.sha256(repr(self.systems).encode()).hexdigest()[:20]


def impression(plate: Plate) -> Impression:
    """The impression of a plate."""
    forms: dict[str, Form] = {}
    shown: set[tuple[str, str]] = set()
    systems = []
    for system in plate.systems:
        laid = _inked(system.over, plate.outlines)
        content, used = laid.content, {*laid.forms}
        forms |= laid.forms
        shown |= laid.shown
        if system.staff is not None:
            name, staff = _staff(system.staff, system.width, plate.outlines)
            content = placed(name, system.down) + content
            used |= {*staff.forms}
            forms |= staff.forms
            shown |= staff.shown
        painted = Painted(
            width=system.width,
            height=system.height,
            words=system.words or "Music.",
            content=content,
            forms=tuple(sorted(used)),
        )
        systems.append(painted)
    return Impression(
        staff=plate.staff, systems=tuple(systems), forms=dict(sorted(forms.items())), shown=tuple(sorted(shown))
    )


@dataclass(frozen=True, slots=True)
class _Inked:
    """Marks as operators, with the forms they need and what there is to explain."""

    content: bytes
    forms: Mapping[str, Form]
    shown: frozenset[tuple[str, str]]


def _inked(marks: tuple[Mark, ...], outlines: Mapping[str, tuple[Segment, ...]]) -> _Inked:
    named = {key: _form(outlines[key]) for key in {mark.outline for mark in marks if mark.outline}}
    return _Inked(
        content=operators(marks, {key: name for key, (name, _) in named.items()}),
        forms=dict(named.values()),
        shown=frozenset((mark.role, mark.text) for mark in marks),
    )


def _staff(staff: Staff, width: float, outlines: Mapping[str, tuple[Segment, ...]]) -> tuple[str, _Inked]:
    """Name of the form that paints a plain staff, and all forms that are needed for it."""
    if staff not in _staves:
        if len(_staves) >= STAVES:
            _staves.clear()
        laid = _inked(staff.marks, outlines)
        # a little more than its ink, for the width of a pen
        box = (-1.0, round(staff.top - 1, 3), round(width + 1, 3), round(staff.bottom + 1, 3))
        made = Form(box, laid.content, tuple(sorted(laid.forms)))
        name = f"t{hashlib.sha256(repr(made).encode()).hexdigest()[:10]}"
        _staves[staff] = name, replace(laid, forms={**laid.forms, name: made})
    return _staves[staff]


@lru_cache(maxsize=2_000)
def _form(path: tuple[Segment, ...]) -> tuple[str, Form]:
    """Name and form of an outline. Most plates share most of their outlines, so these are kept."""
    made = form(path)
    return f"s{hashlib.sha256(made.content).hexdigest()[:10]}", made


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture as a template places it."""

    address: str
    width: float
    height: float
    """mm"""


@dataclass(slots=True, kw_only=True)
class Gallery:
    """The pictures of a run of pages, by the address a template names them with."""

    images: dict[str, Image] = field(default_factory=dict)

    def hang(self, name: str, shown: Impression, *, scale: float = 1.0) -> tuple[Picture, ...]:
        """Keep an impression, printed `scale` times its size: a picture a system, to let pages break.

        Its address is `name` and what its ink looks like, so that it is its own whatever hangs beside it.
        """
        hung = []
        digest = shown.digest
        for index, system in enumerate(shown.systems, start=1):
            picture = Picture(
                address=f"plate:{name}-{digest}-{index}",
                width=round(system.width * scale, 3),
                height=round(system.height * scale, 3),
            )
            self.images[picture.address] = Image(system=system, forms=shown.forms)
            hung.append(picture)
        return tuple(hung)

    def draw(self, name: str, diagram: Plate, *, scale: float = 1.0) -> Picture:
        """Keep a diagram of one piece under `name`."""
        return self.hang(name, impression(diagram), scale=scale)[0]


def let_forms_paint(pdf: Any) -> None:
    """Give each form of a finished document the forms it paints itself as its resources (ISO 32000-1, 8.10.1).

    WeasyPrint would add them to the document once more, so it is done after it.
    """
    import pydyf  # noqa: PLC0415 (loaded only when a page is printed)

    for item in pdf.objects:
        if paints := getattr(item, "paints", None):
            named = pydyf.Dictionary({name: form.reference for name, form in paints.items()})
            item.extra["Resources"] = pydyf.Dictionary({"XObject": named})


@dataclass(frozen=True, slots=True, kw_only=True)
class Image:
    """What WeasyPrint takes for an image."""

    system: Painted
    forms: Mapping[str, Form]

    def get_intrinsic_size(self, _resolution: float, _font_size: float) -> tuple[float, float, float]:
        """Width and height in CSS pixels, and their ratio."""
        wide, high = self.system.width * PX, self.system.height * PX
        return wide, high, wide / high

    def draw(self, stream: Any, width: float, height: float, _style: Any) -> None:
        """Paint into the page."""
        import pydyf  # noqa: PLC0415 (loaded only when a page is printed)

        known = stream._resources["XObject"]  # noqa: SLF001 - WeasyPrint has no public way to add a form of one's own
        # forms that paint no others first: those that do refer to them
        for name in sorted(self.system.forms, key=lambda name: bool(self.forms[name].uses)):
            if name not in known:
                painted = self.forms[name]
                extra = pydyf.Dictionary({"Type": "/XObject", "Subtype": "/Form", "BBox": pydyf.Array(painted.box)})
                known[name] = pydyf.Stream([painted.content], extra, compress=stream.compress)
                known[name].paints = {used: known[used] for used in painted.uses}
        stream.push_state()
        stream.transform(a=width / self.system.width, d=height / self.system.height)
        stream.stream.append(self.system.content)
        stream.pop_state()
