"""Pages drawn the plain way, and how far two printed pages differ: the yardstick for drawing straight into the page.

A plate is written as an SVG picture mark by mark, without any of the program's own code, and WeasyPrint places it as it
places any picture. Conventions as in a plate: mm, y down.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pypdfium2
from numpy.typing import NDArray

from engrave.model import Mark, Plate, Segment, System
from engrave.pages.fonts import fonts_for
from engrave.pages.printing import _body, _fetching, _library, _no_fonts_of_the_machine
from engrave.pages.sign_font import SIGNS
from engrave.pages.templates import font_sheet

Grey = NDArray[np.uint8]
"""a page as rows of pixels, 0 black to 255 white"""

DPI = 200
"""pixels to the inch: one is 0.127 mm wide"""
ALIKE = 16
"""levels of 255 by which a pixel may differ where the ink is the same: its coordinates are rounded to 1/1000 mm, which
moves the grey of an edge by 8 levels at most, and a curve's points by a little more (measured: 5)"""


def plain_svg(plate: Plate, system: System) -> str:
    """One system as a picture of SVG 1.1."""
    width, height = _number(system.width), _number(system.height)
    shapes = "".join(f'<path id="{_name(key)}" d="{_path(path)}"/>' for key, path in plate.outlines.items())
    marks = "".join(map(_mark, system.marks))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="{width}mm"'
        f' height="{height}mm" viewBox="0 0 {width} {height}"><defs>{shapes}</defs>{marks}</svg>'
    )


def _mark(mark: Mark) -> str:
    if mark.outline:
        place = f"translate({_number(mark.x)} {_number(mark.y)})"
        scale = f"scale({_number(mark.scale * mark.stretch)} {_number(mark.scale)})"
        return f'<use xlink:href="#{_name(mark.outline)}" transform="{place} {scale}"/>'
    if not mark.pen:
        return f'<path d="{_path(mark.path)}"/>'
    dashes = f' stroke-dasharray="{" ".join(map(_number, mark.dash))}"' if mark.dash else ""
    return f'<path d="{_path(mark.path)}" fill="none" stroke="#000" stroke-width="{_number(mark.pen)}"{dashes}/>'


def _path(path: tuple[Segment, ...]) -> str:
    return " ".join(" ".join((kind, *map(_number, values))) for kind, values in path)


def _name(key: str) -> str:
    return f"s{key.encode().hex()}"


def _number(value: float) -> str:
    return f"{value:.8f}"


def plain_pdf(html: str, pictures: Mapping[str, str], style: str = "") -> bytes:
    """The PDF of a page description whose pictures are SVG, by the address it names them with."""
    refused: list[str] = []

    def body(url: str) -> tuple[bytes, str]:
        if url in pictures:
            return pictures[url].encode(), "image/svg+xml"
        return _body(fonts, {}, refused, url)

    library = _library()
    fonts = {font.url: font for font in fonts_for(html, SIGNS)}
    page = html.replace("</head>", f"<style>{font_sheet(fonts.values())}{style}</style></head>")
    with _no_fonts_of_the_machine():
        pdf = library.HTML(string=page, url_fetcher=_fetching(library, body)).write_pdf()
    assert refused == []
    return bytes(pdf)


def rasterised(pdf: bytes) -> list[Grey]:
    """Every page at DPI, drawn by PDFium."""
    document = pypdfium2.PdfDocument(pdf)
    pages = [
        document[n].render(scale=DPI / 72, grayscale=True, draw_annots=False).to_numpy() for n in range(len(document))
    ]
    document.close()
    return [np.asarray(page).reshape(page.shape[0], -1) for page in pages]


def unlike(a: Grey, b: Grey) -> int:
    """Pixels that differ by more than ALIKE levels."""
    assert a.shape == b.shape
    return int((np.abs(a.astype(np.int16) - b) > ALIKE).sum())
