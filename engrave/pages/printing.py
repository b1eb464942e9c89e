"""From a page description to one PDF, by WeasyPrint's public interface; nothing is fetched but the book's own fonts.

Two things are put to the finished PDF before it is written, as plain objects of pydyf (WeasyPrint's `finisher`): the
outlines that score images paint (see `images`), and what WeasyPrint does not say of a book: what its pages are called,
where on the page its pictures stand, and what the files it carries are.
"""

from __future__ import annotations

import gc
import os
import warnings
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from io import StringIO
from itertools import pairwise
from typing import Any

from engrave import resources, typefaces
from engrave.model import Fault, PressError
from engrave.model.errors import one_line
from engrave.pages.attachments import describe
from engrave.pages.content import Attachment
from engrave.pages.fonts import Font, fonts_for
from engrave.pages.images import PX, ScoreImage, add_outlines, as_svg
from engrave.pages.sign_font import SIGNS, sign_font
from engrave.pages.templates import SIGNS_URL, font_sheet

_UNDATED = datetime(1980, 1, 1, tzinfo=UTC)
"""date of the files inside a book: the press does not read the clock"""
_NO_PANGO = "the library that sets text, Pango, cannot be loaded: {}"
_INSTALL = (
    "install it: apt install libpango-1.0-0 libpangoft2-1.0-0 (Debian), dnf install pango (Fedora), "
    "brew install pango (Homebrew), pacman -S mingw-w64-ucrt-x86_64-pango (MSYS2)"
)
_AS_SVG = "WeasyPrint {} does not let images draw themselves: the music is printed as SVG, which takes longer"


@contextmanager
def printer(style: str, images: Mapping[str, ScoreImage]) -> Iterator[Printer]:
    """A printer of pages in one style.

    Args:
        style: the style sheet.
        images: the score images that pages show, by address; more may come while the block runs.

    Raises PressError at its end where anything outside was asked for.
    """
    refused: list[str] = []
    library = _library()
    # read once for all that is laid out in it; only the fonts are others each time
    yield Printer(library=library, images=images, style=library.CSS(string=style), refused=refused)
    if refused:
        raise PressError(*(Fault(fact=f"a page asks for {url!r}, which is not part of the book") for url in refused))


@dataclass(frozen=True, slots=True, kw_only=True)
class Printer:
    """Prints page descriptions in one style."""

    library: Any
    images: Mapping[str, ScoreImage]
    style: Any
    """the style sheet as WeasyPrint has read it"""
    refused: list[str]
    """addresses that were asked for and are no part of the book"""

    def heights(self, html: str, count: int) -> tuple[float, ...]:
        """Heights in mm of the `count` blocks of `heights.html`."""
        with _rings_let_go():
            tops = self._tops(html, count)
        return tuple((below - top) / PX for top, below in pairwise(tops))

    def _tops(self, html: str, count: int) -> list[float]:
        (page,) = self._laid_out(html, dict(self.images)).pages
        return [page.anchors[f"b{index}"][1] for index in range(count + 1)]

    def pdf(
        self, html: str, attachments: Sequence[Attachment] = (), *, front: bool = False, most: int | None = None
    ) -> bytes:
        """The PDF of a page description, tagged for PDF/UA-1, with files inside.

        Args:
            html: the page description.
            attachments: files to carry.
            front: the pages before the one where `v1` stands are called by Roman figures.
            most: how many pages it may take.

        Raises PressError when it takes more pages than `most`.
        """
        for image in self.images.values():
            image.drawn = False
        try:
            # what layout tries and throws away lies in rings, and would stand in memory beside the book
            with _rings_let_go():
                document = self._laid_out(html, dict(self.images))
            made = self._written(document, attachments, front=front, most=most)
            if all(image.drawn for image in self.images.values()):
                return made
        except (AttributeError, TypeError):
            # one of our own making comes again below
            pass
        warnings.warn(_AS_SVG.format(self.library.__version__), stacklevel=2)
        return self._written(self._laid_out(html, {}), attachments, front=front, most=most)

    def _laid_out(self, html: str, cache: dict[str, Any]) -> Any:
        from weasyprint.text.fonts import FontConfiguration  # noqa: PLC0415 (loaded only when a page is printed)

        fonts = tuple(fonts_for(html, SIGNS))
        fetch = _fetching(self.library, partial(_body, {font.url: font for font in fonts}, self.images, self.refused))
        with _no_fonts_of_the_machine():
            # it keeps copies of the fonts in a folder, which goes with it
            known = FontConfiguration()
        faces = self.library.CSS(string=font_sheet(fonts), font_config=known, url_fetcher=fetch)
        page = self.library.HTML(string=html, url_fetcher=fetch)
        return page.render(font_config=known, stylesheets=[faces, self.style], cache=cache, pdf_variant="pdf/ua-1")

    def _written(self, document: Any, attachments: Sequence[Attachment], *, front: bool, most: int | None) -> bytes:
        needed = len(document.pages)
        if most is not None and needed > most:
            fact = f"this takes {needed} pages, {most} {'was' if most == 1 else 'were'} asked for"
            raise PressError(Fault(fact=fact, hint=f"name fewer studies, or ask for {needed} pages"))
        dated = {"created": _UNDATED, "modified": _UNDATED}
        attached = [
            self.library.Attachment(string=file.data, name=file.name, description=file.description, **dated)
            for file in sorted(attachments, key=lambda file: file.name)
        ]

        def finish(document: Any, pdf: Any) -> None:
            add_outlines(pdf, self.images.values())
            describe(pdf, attachments)
            _frame_figures(document, pdf)
            _number_headers(pdf)
            if front:
                _label_pages(document, pdf)

        return bytes(document.write_pdf(finisher=finish, pdf_variant="pdf/ua-1", attachments=attached))


@contextmanager
def _rings_let_go() -> Iterator[None]:
    """Frees at its end what the block leaves in rings, without going through all that was there before."""
    gc.freeze()
    try:
        yield
    finally:
        gc.collect()
        gc.unfreeze()


def _frame_figures(document: Any, pdf: Any) -> None:
    """Give each tagged picture its frame in points from the lower left corner (ISO 32000-1, 14.8.5.4.3).

    WeasyPrint writes it in CSS pixels from the top.
    """
    point = 72 / 96
    height = document.pages[0].height
    for item in pdf.objects:
        if getattr(item, "get", None) and item.get("S") == "/Figure" and "A" in item:
            box = item["A"]["BBox"]
            left, top, right, bottom = box
            box[:] = [round(v * point, 3) for v in (left, height - bottom, right, height - top)]


def _number_headers(pdf: Any) -> None:
    """Call the heads of tables h1, h2 … wherever cells name them (ISO 32000-1, 14.8.5.7).

    Releases of WeasyPrint before 70 call them by their places in memory, which are others each time.
    """
    cells = [item for item in pdf.objects if getattr(item, "get", None) and item.get("S") in ("/TH", "/TD")]
    heads = [cell for cell in cells if "ID" in cell]
    names = {str(head["ID"].string): f"h{number}" for number, head in enumerate(heads, start=1)}
    for head in heads:
        head["ID"].string = names.get(str(head["ID"].string), head["ID"].string)
    for cell in cells:
        for said in cell.get("A", {}).get("Headers", ()):
            said.string = names.get(str(said.string), said.string)


def _label_pages(document: Any, pdf: Any) -> None:
    """Call the pages as they are numbered in print (ISO 32000-1, 12.4.2): i, ii, iii, 1, 2."""
    import pydyf  # noqa: PLC0415 (loaded only when a page is printed)

    first = next(index for index, page in enumerate(document.pages) if "v1" in page.anchors)
    roman, plain = pydyf.Dictionary({"S": "/r"}), pydyf.Dictionary({"S": "/D"})
    pdf.catalog["PageLabels"] = pydyf.Dictionary({"Nums": pydyf.Array([0, roman, first, plain])})


def _library() -> Any:
    """WeasyPrint. Raises PressError where it cannot be loaded, since it stands on libraries of the machine."""
    try:
        with (
            _no_fonts_of_the_machine(),
            warnings.catch_warnings(),
            redirect_stdout(StringIO()),
            redirect_stderr(StringIO()),
        ):
            # no font is found, as is meant; and fonts come to it cut already, with HarfBuzz's own cutter or without
            warnings.filterwarnings("ignore", message="No fonts configured in FontConfig")
            warnings.filterwarnings("ignore", message="HarfBuzz-Subset will be required")
            import weasyprint  # noqa: PLC0415 (loaded only when a page is printed)
    except OSError as problem:
        raise PressError(Fault(fact=one_line(_NO_PANGO.format(problem), 200), hint=_INSTALL)) from None
    return weasyprint


@contextmanager
def _no_fonts_of_the_machine() -> Iterator[None]:
    """Fontconfig reads an empty list of folders while the block runs."""
    name = "FONTCONFIG_FILE"
    before = os.environ.get(name)
    os.environ[name] = str(resources.folder("templates") / "fonts.conf")
    try:
        yield
    finally:
        if before is None:
            del os.environ[name]
        else:
            os.environ[name] = before


def _body(
    fonts: Mapping[str, Font], images: Mapping[str, ScoreImage], refused: list[str], url: str
) -> tuple[bytes, str]:
    """What lies at an address of the book, and its media type; any other is refused, and noted."""
    if url == SIGNS_URL:
        return sign_font(), "font/otf"
    if url in fonts:
        return typefaces.cut(fonts[url].face, fonts[url].letters), "font/otf"
    if url in images:
        return as_svg(images[url]), "image/svg+xml"
    refused.append(url)
    raise ValueError(f"{url} is not part of the book")


def _fetching(library: Any, body: Callable[[str], tuple[bytes, str]]) -> Any:
    """`body` as what this release of WeasyPrint takes for a fetcher: since 68, an object; before, a function."""
    urls = library.urls
    if not hasattr(urls, "URLFetcher"):

        def fetch(url: str, *_: object, **_more: object) -> dict[str, Any]:
            data, kind = body(url)
            return {"string": data, "mime_type": kind}

        return fetch

    class OwnFiles(urls.URLFetcher):  # type: ignore[misc, name-defined]
        """Opens nothing but what belongs to the book."""

        def fetch(self, url: str, headers: object = None) -> Any:  # noqa: ARG002 - the signature is WeasyPrint's
            """What lies at `url`."""
            data, kind = body(url)
            return urls.URLFetcherResponse(url, body=data, headers={"Content-Type": kind})

    return OwnFiles()
