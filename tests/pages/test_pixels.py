"""Plates drawn straight into the page against the same plates as plain SVG pictures: equal to anti-aliasing.

Measure: PDFium draws both PDFs at 200 dots an inch, a pixel 0.127 mm wide; of a page, not one pixel may differ by more
than 16 of 255 levels of grey.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from engrave.model import Mark, Plan, Plate, System
from engrave.pages import BookContent, Sheet, music_width, press
from engrave.pages import book as room
from engrave.pages.picture import Gallery, Picture
from engrave.pages.press import to_pdf
from engrave.plates import draw
from tests.pages.plain import Grey, plain_pdf, plain_svg, rasterised, unlike
from tests.plates.hands import line_of
from tests.plates.textures import TEXTURES

Pictures = dict[str, str]


def textures(book: BookContent) -> BookContent:
    """The small book with a variation for each texture, every other one with a tablature staff."""
    step = book.sheets[0].step
    sheets = []
    for number, music in enumerate(TEXTURES.values(), start=1):
        line = line_of(music)
        plate = draw(line, width=music_width(Plan()), tab=number % 2 == 0)
        sheets.append(Sheet(number=number, variation=line, plate=plate, step=replace(step, study=line.study)))
    steps = tuple(sheet.step for sheet in sheets)
    return replace(book, sheets=tuple(sheets), regimen=replace(book.regimen, steps=steps, coverage=()))


def both(content: BookContent, monkeypatch: pytest.MonkeyPatch) -> tuple[bytes, bytes]:
    """The book as it is printed, and the same pages with every picture as SVG."""
    pictures: Pictures = {}
    pages: list[str] = []
    hang = Gallery.hang

    def hung(self: Gallery, name: str, plate: Plate, *, scale: float = 1.0) -> tuple[Picture, ...]:
        made = hang(self, name, plate, scale=scale)
        pictures.update({p.address: plain_svg(plate, s) for p, s in zip(made, plate.systems, strict=True)})
        return made

    def kept(html: str, *rest: Any) -> bytes:
        pages.append(html)
        return to_pdf(html, *rest)

    monkeypatch.setattr(Gallery, "hang", hung)
    monkeypatch.setattr(room, "to_pdf", kept)
    printed = press(content)
    return printed, plain_pdf(pages[0], pictures)


def test_a_printed_book_is_the_one_with_plain_pictures(book: BookContent, monkeypatch: pytest.MonkeyPatch) -> None:
    """Plates of all textures and every diagram stand on the page as WeasyPrint would draw their SVG."""
    printed, plain = map(rasterised, both(textures(book), monkeypatch))
    assert len(printed) == len(plain) > len(TEXTURES)
    assert [unlike(a, b) for a, b in zip(printed, plain, strict=True)] == [0] * len(plain)


PAGE = """<html lang="en"><title>One system</title><style>@page {{ size: {0}mm {1}mm; margin: 0 }}
* {{ margin: 0 }} img {{ display: block; width: {0}mm; height: {1}mm }}</style><img src="plate:one-1" alt="Music">"""
MOVED = 0.3
"""mm"""


def alone(plate: Plate, system: System) -> Grey:
    """A system on a page of its own size, as it is printed."""
    gallery = Gallery()
    (picture,) = gallery.hang("one", replace(plate, systems=(system,)))
    (page,) = rasterised(to_pdf(PAGE.format(picture.width, picture.height), gallery.images))
    return page


def drawn_plain(plate: Plate, system: System) -> Grey:
    """The same as a plain SVG picture."""
    page = PAGE.format(round(system.width, 3), round(system.height, 3))
    (made,) = rasterised(plain_pdf(page, {"plate:one-1": plain_svg(plate, system)}))
    return made


def shifted(mark: Mark) -> Mark:
    """The mark to the right and down by MOVED in all."""
    by = MOVED / np.sqrt(2)
    path = tuple((kind, tuple(v + by for v in values)) for kind, values in mark.path)
    return replace(mark, x=mark.x + by, y=mark.y + by, path=path)


@pytest.mark.parametrize(
    "change", [lambda mark: (shifted(mark),), lambda _: (), lambda mark: (mark, shifted(mark))],
    ids=["moved by 0.3 mm", "left out", "twice"],
)  # fmt: skip
@pytest.mark.parametrize("name", ["Chords", "Graces and tuplets"])
def test_the_measure_sees_any_one_mark_that_is_wrong(name: str, change: Callable[[Mark], tuple[Mark, ...]]) -> None:
    """One mark of each role in turn, moved, left out or doubled, makes a difference to the picture."""
    plate = draw(line_of(TEXTURES[name]), width=80, tab=True)
    system = plate.systems[0]
    right = drawn_plain(plate, system)
    assert unlike(alone(plate, system), right) == 0
    first = {mark.role: mark for mark in reversed(system.marks)}
    assert len(first) > 8
    for role, mark in first.items():
        marks = tuple(new for old in system.marks for new in (change(old) if old is mark else (old,)))
        assert unlike(alone(plate, replace(system, marks=marks)), right) > 0, role
