"""The press: templates and pictures in, one PDF out. Fetches nothing but the fonts it names itself."""

from __future__ import annotations

import os
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cache, partial
from typing import Any

from engrave import resources
from engrave.model import Fault, Plan, PressError
from engrave.pages.binding import bind
from engrave.pages.folio import ALL
from engrave.pages.fonts import FACES, LETTERS, font_file, text_width
from engrave.pages.gathering import Gathering, gather
from engrave.pages.paper import BOTTOM, GUTTER, OUTER, TOP, Paper, paper_of
from engrave.pages.picture import Image, let_forms_paint
from engrave.pages.signs import SIGNS
from engrave.pages.styles import SIGNS_URL, fetcher, fonts, pages, refuse, sheet


def render(template: str, values: Mapping[str, Any], *, paper: Paper, scale: float = 1.0) -> tuple[str, str]:
    """A template of ours as HTML and its style sheet, with type `scale` times the usual size; all text is escaped."""
    faces = [(font_file(face).as_uri(), weight, style) for face, (_, weight, style) in FACES.items()]
    margins = {"gutter": GUTTER, "outer": OUTER, "top": TOP, "bottom": BOTTOM}
    letters = f"{LETTERS} x{''.join(sorted(SIGNS))}"
    always = {"all_of_folio": ALL, "margins": margins, "faces": faces, "signs": SIGNS_URL, "letters_of_all": letters}
    sizes = {unit: partial(_size, unit=unit, scale=scale) for unit in ("pt", "mm")}
    said = {**values, **sizes, **always, "kind": template.removesuffix(".html"), "paper": paper}
    html, style = (_environment().get_template(name).render(said) for name in (template, "style.css"))
    return html, style


@cache
def _environment() -> Any:
    """The templates' surroundings, kept: compiling a template takes 35 ms, and each gathering is made from one."""
    import jinja2  # noqa: PLC0415 (loaded only when a page is printed)

    return jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        loader=jinja2.FunctionLoader(lambda name: resources.text(f"templates/{name}")),
        trim_blocks=True,
        lstrip_blocks=True,
    )


def ready() -> None:
    """Do what every book needs before its first page: for whoever is waiting for others to finish its plates."""
    for name in ("sheets.html", "index.html", "front.html", "back.html", "style.css"):
        _environment().get_template(name)
    for face in FACES:
        text_width("", 1, face)


def _size(size: float, *, unit: str, scale: float) -> str:
    """A length of the style sheet, enlarged with the type."""
    return f"{size * scale:g}{unit}"


def to_pdf(
    html: str,
    style: str,
    images: Mapping[str, Image],
    files: Gathering | None = None,
    *,
    most: int | None = None,
) -> bytes:
    """The PDF of a page description, tagged for PDF/UA-1, with files inside.

    Raises PressError when something outside is asked for, and when it takes more pages than `most`.
    """
    laid = lay(html, style, images)
    needed = len(laid.pages)
    if most is not None and needed > most:
        fact = f"this takes {needed} pages, {most} {'was' if most == 1 else 'were'} asked for"
        raise PressError(Fault(fact=fact, hint=f"name fewer studies, or ask for {needed} pages"))
    return bind([laid], files=files)


def lay(html: str, style: str, images: Mapping[str, Image], *, drop: int = 0) -> Gathering:
    """The pages of a page description, but for the last `drop`, laid out and tagged for PDF/UA-1.

    Raises PressError when something outside is asked for.
    """
    refused: list[str] = []
    taken: list[Gathering] = []

    def take(document: Any, pdf: Any) -> None:
        _frame_figures(document, pdf)
        let_forms_paint(pdf)
        taken.append(gather(document, pdf, drop=drop))
        # what is bound is written then; nothing need be written now
        del pdf.objects[1:]

    with _no_machine_fonts():
        fetch = fetcher(refused.append)
        options = {
            "cache": dict(images),
            "pdf_variant": "pdf/ua-1",
            "font_config": fonts(),
            "stylesheets": [sheet(style)],
        }
        page = pages()(html, fetch)
        _say_pictures(page, images)
        page.write_pdf(finisher=take, **options)
    refuse(refused)
    return taken[0]


def _say_pictures(page: Any, images: Mapping[str, Image]) -> None:
    """Give each picture its words, which are long: most of what there would be to parse."""
    for element in page.etree_element.iter("img"):
        if shown := images.get(element.get("src")):
            element.set("alt", shown.system.words)


def _frame_figures(document: Any, pdf: Any) -> None:
    """Give each tagged picture its frame in points from the lower left corner (ISO 32000-1, 14.8.5.4.3).

    WeasyPrint writes it in CSS pixels from the top.
    """
    point = 72 / 96
    height = document.pages[0].height
    for item in pdf.objects:
        if getattr(item, "get", None) and item.get("S") == "/Figure":
            box = item["A"]["BBox"]
            left, top, right, bottom = box
            box[:] = [round(v * point, 3) for v in (left, height - bottom, right, height - top)]


def warm() -> None:
    """Lay out a book without variations: what is done for the first pages of a process is not done again for others."""
    said = {"title": "", "running": "", "footline": "", "sheets": (), "even": False}
    html, style = render("sheets.html", said, paper=paper_of(Plan()))
    lay(html, style, {})


@contextmanager
def _no_machine_fonts() -> Iterator[None]:
    """Keep the machine's fonts out: Fontconfig reads an empty list of folders while the block runs."""
    name = "FONTCONFIG_FILE"
    before = os.environ.get(name)
    os.environ[name] = str(resources.folder("templates") / "fonts.conf")
    try:
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", message="No fonts configured in FontConfig")
            yield
    finally:
        if before is None:
            del os.environ[name]
        else:
            os.environ[name] = before
