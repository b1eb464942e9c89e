"""Pictures to look at, mail or paste: pages of a PDF, or the music of one variation, as PNG."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO

from engrave.pages.images import Gallery, Impression
from engrave.pages.printing import printer
from engrave.pages.templates import render

DPI = 150
"""dots to an inch: a page is 1,240 by 1,754 of them on A4, which a screen shows whole and a mail carries easily"""
_EDGE = 4.0
"""mm of white round the music of a picture"""


def page_pictures(pdf: bytes, pages: Sequence[int]) -> tuple[bytes, ...]:
    """The given pages of a PDF (0 is the first) as PNG, each as large as its paper at DPI."""
    import pypdfium2  # noqa: PLC0415 (loaded only when a picture is made)

    document = pypdfium2.PdfDocument(pdf)
    try:
        made = []
        for number in pages:
            out = BytesIO()
            document[number].render(scale=DPI / 72).to_pil().convert("L").save(out, format="PNG", optimize=True)
            made.append(out.getvalue())
        return tuple(made)
    finally:
        document.close()


def music_picture(shown: Impression) -> bytes:
    """The systems of a plate one under the other as PNG, with a little white round them."""
    gallery = Gallery()
    systems = gallery.hang("music", shown)
    wide = max(system.width for system in systems) + 2 * _EDGE
    high = sum(system.height for system in systems) + 2 * _EDGE
    style = f"@page {{ size: {wide:.3f}mm {high:.3f}mm; margin: {_EDGE}mm }} * {{ margin: 0 }} img {{ display: block }}"
    html = render("picture.html", {"title": "", "systems": systems})
    with printer(style, gallery.images) as ready:
        return page_pictures(ready.pdf(html, most=1), [0])[0]
