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
from engrave.pages import BookContent, Sheet, images, music_width, press, views
from engrave.pages.images import Gallery, Impression, Picture, ScoreImage
from engrave.pages.printing import Printer, printer
from engrave.pages.templates import style_sheet
from engrave.plates import draw
from tests.pages.plain import Grey, plain_pdf, plain_svg, rasterised, unlike
from tests.plates.hands import line_of
from tests.plates.textures import TEXTURES


def textures(book: BookContent) -> BookContent:
    """The small book with a variation for each texture, every other one with a tablature staff."""
    step = book.sheets[0].step
    sheets = []
    for number, music in enumerate(TEXTURES.values(), start=1):
        line = line_of(music)
        plate = draw(line, width=music_width(Plan()), tab=number % 2 == 0)
        printed = images.impression(plate)
        sheets.append(Sheet(number=number, variation=line, plate=printed, step=replace(step, study=line.study)))
    steps = tuple(sheet.step for sheet in sheets)
    first = images.impression(draw(book.line, width=music_width(Plan())))
    return replace(
        book, line_plate=first, sheets=tuple(sheets), regimen=replace(book.regimen, steps=steps, coverage=())
    )


def both(book: BookContent, monkeypatch: pytest.MonkeyPatch) -> tuple[list[Grey], list[Grey]]:
    """The pages of a book of all textures as they are printed, and the same with every picture as SVG."""
    pictures: dict[str, str] = {}
    plates: list[tuple[Impression, Plate]] = []
    pages: list[str] = []
    hang, take, written = Gallery.hang, images.impression, Printer.pdf

    def taken(plate: Plate) -> Impression:
        plates.append((take(plate), plate))
        return plates[-1][0]

    def hung(self: Gallery, name: str, shown: Impression, *, scale: float = 1.0) -> tuple[Picture, ...]:
        made = hang(self, name, shown, scale=scale)
        plate = next(plate for printed, plate in plates if printed is shown)
        pictures.update({p.address: plain_svg(plate, s) for p, s in zip(made, plate.systems, strict=True)})
        return made

    def kept(self: Printer, html: str, *rest: Any, **options: Any) -> bytes:
        pages.append(html)
        return written(self, html, *rest, **options)

    monkeypatch.setattr(Gallery, "hang", hung)
    monkeypatch.setattr(images, "impression", taken)
    monkeypatch.setattr(views, "impression", taken)
    monkeypatch.setattr(Printer, "pdf", kept)
    printed = press(textures(book))
    return rasterised(printed), rasterised(plain_pdf(pages[0], pictures, style_sheet(book.plan)))


def test_a_printed_book_is_the_one_with_plain_pictures(book: BookContent, monkeypatch: pytest.MonkeyPatch) -> None:
    """Plates of all textures and every diagram stand on the page as WeasyPrint would draw their SVG."""
    printed, plain = both(book, monkeypatch)
    assert len(printed) == len(plain) > len(TEXTURES)
    assert [unlike(a, b) for a, b in zip(printed, plain, strict=True)] == [0] * len(plain)


def test_without_the_hook_the_music_is_printed_as_svg(
    book: BookContent, pdf: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where WeasyPrint asks an image for something else, the same pages come as SVG, with a warning."""

    def changed(_self: ScoreImage, stream: Any, *_: Any) -> None:
        raise AttributeError(stream)

    monkeypatch.setattr(ScoreImage, "draw", changed)
    with pytest.warns(UserWarning, match="printed as SVG"):
        plain = press(book)
    pairs = zip(rasterised(pdf), rasterised(plain), strict=True)
    assert {unlike(a, b) for a, b in pairs} == {0}


ALONE = """<html lang="en"><title>One system</title><style>@page {{ size: {0}mm {1}mm; margin: 0 }}
* {{ margin: 0 }} img {{ display: block; width: {0}mm; height: {1}mm }} img + img {{ break-before: page }}</style>{2}"""
MOVED = 0.3
"""mm"""


def alone(plate: Plate, *systems: System) -> list[Grey]:
    """Systems of one size, each on a page of that size, as they are printed."""
    gallery = Gallery()
    hung = gallery.hang("one", images.impression(replace(plate, systems=systems)))
    shown = "".join(f'<img src="{one.address}" alt="Music">' for one in hung)
    with printer("", gallery.images) as ready:
        pages = rasterised(ready.pdf(ALONE.format(hung[0].width, hung[0].height, shown)))
    assert len(pages) == len(systems)
    return pages


def drawn_plain(plate: Plate, system: System) -> Grey:
    """The same as a plain SVG picture."""
    page = ALONE.format(round(system.width, 3), round(system.height, 3), '<img src="plate:one" alt="Music">')
    (made,) = rasterised(plain_pdf(page, {"plate:one": plain_svg(plate, system)}))
    return made


def shifted(mark: Mark) -> Mark:
    """The mark to the right and down by MOVED in all."""
    by = MOVED / np.sqrt(2)
    path = tuple((kind, tuple(v + by for v in values)) for kind, values in mark.path)
    return replace(mark, x=mark.x + by, y=mark.y + by, path=path)


CHANGES: dict[str, Callable[[Mark], tuple[Mark, ...]]] = {
    "moved by 0.3 mm": lambda mark: (shifted(mark),),
    "left out": lambda _: (),
    "twice": lambda mark: (mark, shifted(mark)),
}


@pytest.mark.parametrize("name", ["Chords", "Graces and tuplets"])
def test_the_measure_sees_any_one_mark_that_is_wrong(name: str) -> None:
    """One mark of each role in turn, moved, left out or doubled, makes a difference to the picture."""
    plate = draw(line_of(TEXTURES[name]), width=80, tab=True)
    system = plate.systems[0]
    # every mark by itself: the plain staff is one form otherwise
    whole = replace(system, over=system.marks, staff=None)
    first = {mark.role: mark for mark in reversed(whole.marks)}
    assert len(first) > 8
    wrong = {
        (role, what): tuple(new for old in whole.marks for new in (change(old) if old is mark else (old,)))
        for role, mark in first.items()
        for what, change in CHANGES.items()
    }
    pages = alone(plate, system, *(replace(whole, over=marks) for marks in wrong.values()))
    plain = drawn_plain(plate, system)
    right, *seen = (unlike(page, plain) for page in pages)
    assert right == 0
    assert [case for case, apart in zip(wrong, seen, strict=True) if not apart] == []
