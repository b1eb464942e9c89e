"""The ink of a plate as it goes into a PDF, checked by reading it back."""

from __future__ import annotations

from dataclasses import replace

import pytest
from pypdf import PdfWriter
from pypdf.generic import ContentStream, DecodedStreamObject, FloatObject, NumberObject

from engrave.model import Mark, Plate, System
from engrave.pages.images import Gallery, impression
from engrave.pages.operators import form, operators

HEAD = (("M", (0.0, 10.0)), ("C", (5.0, 10.0, 10.0, 5.0, 10.0, 0.0)), ("L", (-2.5, 0.0)), ("Z", ()))
MARKS = (
    Mark(role="staff", path=(("M", (0.0, 1.5)), ("L", (40.0, 1.5))), pen=0.12),
    Mark(role="string line", path=(("M", (0.0, 9.0)), ("L", (40.0, 9.0))), pen=0.12, dash=(1.0, 0.5)),
    Mark(role="head", outline="head", x=12.25, y=3.0, scale=0.01, stretch=0.5),
    Mark(role="beam", path=(("M", (1.0, 2.0)), ("L", (3.0, 2.0)), ("L", (3.0, 2.6)), ("Z", ()))),
)
SYSTEM = System(width=40.0, height=10.0, first=0, last=0, over=MARKS, words="One head.")
PLATE = Plate(staff=7.2, systems=(SYSTEM,), outlines={"head": HEAD, "unused": HEAD})


def read(content: bytes) -> list[tuple[str, list[float | str]]]:
    """Operators and operands as pypdf understands them."""
    stream = DecodedStreamObject()
    stream.set_data(content)
    rows = ContentStream(stream, PdfWriter()).operations
    return [(operator.decode(), [_plain(o) for o in operands]) for operands, operator in rows]


def _plain(operand: object) -> float | str:
    return float(operand) if isinstance(operand, (NumberObject, FloatObject)) else str(operand)


def test_marks_become_the_operators_of_the_standard() -> None:
    """Lines are stroked with their pen and dashes, shapes filled, outlines painted by name at their place and scale."""
    assert read(operators(SYSTEM.over, {"head": "shape0"})) == [
        ("g", [0]), ("G", [0]), ("J", [0]), ("j", [0]),
        ("w", [0.12]), ("d", ["[]", 0]), ("m", [0, 1.5]), ("l", [40, 1.5]), ("S", []),
        ("w", [0.12]), ("d", ["[1, 0.5]", 0]), ("m", [0, 9]), ("l", [40, 9]), ("S", []),
        ("q", []), ("cm", [0.005, 0, 0, 0.01, 12.25, 3]), ("Do", ["/shape0"]), ("Q", []),
        ("m", [1, 2]), ("l", [3, 2]), ("l", [3, 2.6]), ("h", []), ("f", []),
    ]  # fmt: skip


def test_an_outline_is_a_form_within_its_box() -> None:
    """The box holds every control point."""
    made = form(HEAD)
    box, content = made.box, made.content
    assert box == (-2.5, 0, 10, 10)
    assert read(content) == [
        ("m", [0, 10]), ("c", [5, 10, 10, 5, 10, 0]), ("l", [-2.5, 0]), ("h", []), ("f", []),
    ]  # fmt: skip


def test_a_key_that_means_another_shape_is_another_form() -> None:
    """Two plates may call different shapes by one key; only what a plate uses is stored."""
    square = (("M", (0.0, 0.0)), ("L", (1.0, 0.0)), ("L", (1.0, 1.0)), ("Z", ()))
    made = impression(PLATE), impression(replace(PLATE, outlines={"head": square}))
    assert [list(one.forms.values()) for one in made] == [[form(HEAD)], [form(square)]]
    assert made[0].systems[0].forms != made[1].systems[0].forms


def test_equal_shapes_of_two_plates_share_a_form() -> None:
    """A book stores a shape once, however many plates use it and whatever they call it."""
    other = Plate(
        staff=7.2,
        systems=(System(width=40, height=10, first=0, last=0, over=(Mark(role="head", outline="note"),)),),
        outlines={"note": HEAD},
    )
    first, second = impression(PLATE), impression(other)
    assert list(first.forms) == list(second.forms) == list(first.systems[0].forms) == list(second.systems[0].forms)


@pytest.mark.parametrize("scale", [1.0, 1.2])
def test_a_picture_has_the_size_of_its_system(scale: float) -> None:
    """Size in mm for the template, in CSS pixels (96 to the inch) for the layout."""
    gallery = Gallery()
    (picture,) = gallery.hang("a", impression(PLATE), scale=scale)
    assert (picture.width, picture.height) == (40 * scale, 10 * scale)
    wide, high, ratio = gallery.images[picture.address].get_intrinsic_size(1, 12)
    assert wide == pytest.approx(40 / 25.4 * 96)
    assert wide / high == ratio == 4
