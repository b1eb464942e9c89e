"""Score images: plates and diagrams drawn straight into the page as PDF operators, without a picture format between.

An `Impression` is what the press takes from a plate: its operators and sizes, without the marks. It is all that the
pages need, and it is small.

WeasyPrint takes the images of a page from its documented `cache`, asks each for its size and lets it draw into the
page's content. What an image has to answer is not documented: a release that asks for something else gets the same
images as SVG, which is slower and takes more room (`as_svg`). Outlines that are used many times are form XObjects,
stored once in the file; so is a plain staff, which most variations of a line share.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

from engrave.model import Mark, Plate, Segment, Staff
from engrave.model.said import say
from engrave.pages import operators
from engrave.pages.operators import FormXObject, form, placed

PX = 96 / 25.4
"""CSS pixels in a mm"""
STAVES = 48
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
    forms: Mapping[str, FormXObject]
    """name → form; a name says what the form looks like, so that it is the same one in every plate"""
    shown: tuple[tuple[str, str], ...]
    """(role, text) of its marks, each once, in order: what a legend has to explain"""

    @property
    def height(self) -> float:
        """Height in mm with no gap between the systems."""
        return sum(system.height for system in self.systems)


def impression(plate: Plate) -> Impression:
    """The impression of a plate."""
    forms: dict[str, FormXObject] = {}
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
            words=system.words or say("Music."),
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
    forms: Mapping[str, FormXObject]
    shown: frozenset[tuple[str, str]]


def _inked(marks: tuple[Mark, ...], outlines: Mapping[str, tuple[Segment, ...]]) -> _Inked:
    named = {key: _form(outlines[key]) for key in {mark.outline for mark in marks if mark.outline}}
    return _Inked(
        content=operators.operators(marks, {key: name for key, (name, _) in named.items()}),
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
        made = FormXObject(box, laid.content, tuple(sorted(laid.forms)))
        name = f"t{hashlib.sha256(repr(made).encode()).hexdigest()[:10]}"
        _staves[staff] = name, replace(laid, forms={**laid.forms, name: made})
    return _staves[staff]


@lru_cache(maxsize=2_000)
def _form(path: tuple[Segment, ...]) -> tuple[str, FormXObject]:
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
    words: str
    """what it shows, for someone who cannot see it"""


@dataclass(slots=True, kw_only=True)
class Gallery:
    """The pictures of a run of pages, by the address a template names them with."""

    images: dict[str, ScoreImage] = field(default_factory=dict)

    def hang(self, name: str, shown: Impression, *, scale: float = 1.0) -> tuple[Picture, ...]:
        """Keep an impression under `name`, printed `scale` times its size: a picture a system, to let pages break."""
        hung = []
        for index, system in enumerate(shown.systems, start=1):
            picture = Picture(
                address=f"plate:{name}-{index}",
                width=round(system.width * scale, 3),
                height=round(system.height * scale, 3),
                words=system.words,
            )
            self.images[picture.address] = ScoreImage(system=system, forms=shown.forms)
            hung.append(picture)
        return tuple(hung)


@dataclass(slots=True, kw_only=True)
class ScoreImage:
    """What WeasyPrint takes for an image."""

    system: Painted
    forms: Mapping[str, FormXObject]
    drawn: bool = False
    """it was asked to draw itself"""

    def get_intrinsic_size(self, _resolution: float, _font_size: float) -> tuple[float, float, float]:
        """Width and height in CSS pixels, and their ratio."""
        wide, high = self.system.width * PX, self.system.height * PX
        return wide, high, wide / high

    def draw(self, stream: Any, width: float, height: float, *_: object) -> None:
        """Paint into the page, `width` by `height` CSS pixels: `stream` is a content stream of pydyf."""
        self.drawn = True
        across, down = width / self.system.width, height / self.system.height
        stream.stream.append(f"q {across:.6f} 0 0 {down:.6f} 0 0 cm".encode("ascii"))
        stream.stream.append(self.system.content)
        stream.stream.append(b"Q")


def add_outlines(pdf: Any, images: Iterable[ScoreImage]) -> None:
    """Give a finished document the forms that its images paint, each once, as resources of its pages.

    `pdf` is a `pydyf.PDF`; resources and forms as in ISO 32000-1, 7.8.3 and 8.10.
    """
    import pydyf  # noqa: PLC0415 (loaded only when a page is printed)

    wanted = {name: image.forms[name] for image in images if image.drawn for name in image.system.forms}
    made: dict[str, bytes] = {}
    # those that paint no others first: those that do refer to them
    for name in sorted(wanted, key=lambda name: (bool(wanted[name].uses), name)):
        painted = wanted[name]
        said = {"Type": "/XObject", "Subtype": "/Form", "BBox": pydyf.Array(painted.box)}
        if painted.uses:
            inside = pydyf.Dictionary({used: made[used] for used in painted.uses})
            said["Resources"] = pydyf.Dictionary({"XObject": inside})
        stream = pydyf.Stream([painted.content], pydyf.Dictionary(said), compress=True)
        pdf.add_object(stream)
        made[name] = stream.reference
    pages = (pdf.objects[int(reference.split()[0])] for reference in pdf.page_references)
    for number in sorted({int(page["Resources"].split()[0]) for page in pages}):
        pdf.objects[number]["XObject"].update(made)


def as_svg(image: ScoreImage) -> bytes:
    """The image as a picture of SVG 1.1, in mm with y down."""
    shown = image.system
    # those that paint no others first, as in `add_outlines`
    names = sorted(shown.forms, key=lambda name: (bool(image.forms[name].uses), name))
    shapes = "".join(f'<g id="{name}">{operators.as_svg(image.forms[name].content)}</g>' for name in names)
    links = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    size = f'width="{shown.width}mm" height="{shown.height}mm" viewBox="0 0 {shown.width} {shown.height}"'
    return f"<svg {links} {size}><defs>{shapes}</defs>{operators.as_svg(shown.content)}</svg>".encode()
