"""Style sheets and the fonts they name, read once in a process.

A book is laid out in many gatherings. To read a sheet takes 20 ms and to open its fonts as much again, which was half
of what a gathering took before its first page.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, lru_cache
from multiprocessing.util import Finalize
from shutil import rmtree
from typing import Any
from xml.etree import ElementTree as ET

from engrave import resources
from engrave.model import Fault, PressError
from engrave.pages.fonts import FACES, font_file
from engrave.pages.loading import weasyprint
from engrave.pages.signs import sign_font

SIGNS_URL = "engrave:signs.otf"


@cache
def fonts() -> Any:
    """The fonts that have been opened, as WeasyPrint keeps them. To be asked for without the machine's fonts."""
    weasyprint()
    from weasyprint.text.fonts import FontConfiguration  # noqa: PLC0415 (loaded only when a page is printed)

    made = FontConfiguration()
    # it keeps copies of the fonts in a folder of its own, and removes that when it is forgotten itself; a process of
    # several ends without forgetting anything
    Finalize(None, _remove_copies, args=(made,), exitpriority=10)
    return made


def _remove_copies(made: Any) -> None:
    if made._folder:  # noqa: SLF001 - see above
        rmtree(made._folder, ignore_errors=True)  # noqa: SLF001 - as above


@lru_cache(maxsize=16)
def sheet(style: str) -> Any:
    """A style sheet of ours as WeasyPrint has read it. Raises PressError when it asks for anything but our fonts."""
    refused: list[str] = []
    made = weasyprint().CSS(string=style, font_config=fonts(), url_fetcher=fetcher(refused.append))
    refuse(refused)
    return made


@cache
def pages() -> Any:
    """WeasyPrint's class for a page description, with elements that are what `base.css` says."""
    library = weasyprint()

    class Pages(library.HTML):  # type: ignore[misc, name-defined]
        """A page description of ours: well-formed, so that Python's own parser reads it in a tenth of the time.

        What is not well-formed is read as HTML.
        """

        def __init__(self, html: str, fetch: Any) -> None:
            try:
                root = ET.fromstring(html)  # noqa: S314 (our own templates, with all else escaped)
            except ET.ParseError:
                super().__init__(string=html, url_fetcher=fetch)
                return
            self.base_url, self.url_fetcher, self.media_type = None, fetch, "print"
            self.wrapper_element = library.cssselect2.ElementWrapper.from_html_root(root, content_language=None)
            self.etree_element = root

        def _ua_stylesheets(self, forms: bool = False) -> list[Any]:  # noqa: ARG002 - WeasyPrint's
            # without this name, were there another one day, pages are the same and take longer
            return [sheet(resources.text("templates/base.css"))]

    return Pages


def fetcher(refused: Callable[[str], None]) -> Any:
    """A URL fetcher that hands out the book's own fonts, and reports and refuses everything else."""
    urls = weasyprint().urls
    allowed = {font_file(face).as_uri(): font_file(face) for face in FACES}

    class OwnFonts(urls.URLFetcher):  # type: ignore[misc, name-defined]
        """Opens nothing but the files of the text font."""

        def fetch(self, url: str, headers: object = None) -> Any:  # noqa: ARG002 - the signature is WeasyPrint's
            """The font at `url`."""
            if url == SIGNS_URL:
                body = sign_font()
            elif url in allowed:
                body = allowed[url].read_bytes()
            else:
                refused(url)
                raise ValueError(f"{url} is not part of the book")
            return urls.URLFetcherResponse(url, body=body, headers={"Content-Type": "font/otf"})

    return OwnFonts()


def refuse(urls: list[str]) -> None:
    """Raise PressError where anything outside was asked for."""
    if urls:
        raise PressError(*(Fault(fact=f"a page asks for {url!r}, which is not part of the book") for url in urls))
