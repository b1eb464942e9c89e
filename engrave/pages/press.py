"""The press: templates and pictures in, one PDF out. Fetches nothing but the fonts it names itself."""

from __future__ import annotations

import os
import warnings
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, lru_cache, partial
from typing import Any, TypeVar

from engrave import resources
from engrave.model import Fault, Plan, PressError
from engrave.pages.binding import bind
from engrave.pages.folio import PAGE, PLACE
from engrave.pages.fonts import FACES, LETTERS, font_file, text_width
from engrave.pages.gathering import Gathering, gather, gather_each
from engrave.pages.paper import BOTTOM, GUTTER, OUTER, TOP, Paper, paper_of
from engrave.pages.picture import Image, let_forms_paint
from engrave.pages.signs import SIGNS
from engrave.pages.styles import SIGNS_URL, fetcher, fonts, pages, refuse, sheet

_HERE = "<!-- here -->"
"""where the variations stand in their frame"""
Gathered = TypeVar("Gathered")


def render(template: str, values: Mapping[str, Any], *, paper: Paper, scale: float = 1.0) -> tuple[str, str]:
    """A template of ours as HTML and its style sheet, with type `scale` times the usual size; all text is escaped."""
    faces = [(font_file(face).as_uri(), weight, style) for face, (_, weight, style) in FACES.items()]
    margins = {"gutter": GUTTER, "outer": OUTER, "top": TOP, "bottom": BOTTOM}
    always = {"margins": margins, "faces": faces, "signs": SIGNS_URL, "page_number": PAGE}
    sizes = {unit: partial(_size, unit=unit, scale=scale) for unit in ("pt", "mm")}
    said = {
        "letters_of_all": _letters(),
        **values,
        **always,
        **sizes,
        "kind": template.removesuffix(".html"),
        "paper": paper,
    }
    html = _environment().get_template(template).render(said)
    # what stands before and behind the variations has one sheet, which is read once
    kind = "matter" if said["kind"] in ("front", "index", "back") else said["kind"]
    style = _environment().get_template("style.css").render({**said, "kind": kind})
    return html, style


def _letters(also: str = "") -> str:
    return f"{LETTERS} {also} x{''.join(sorted(SIGNS))}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What stands round variations that are laid out together."""

    before: str
    after: str
    style: str


def frame(values: Mapping[str, Any], also: str, *, paper: Paper, scale: float) -> Frame:
    """The frame of the variations of a book, which need the letters `also` besides those that most need."""
    said = {**values, "letters_of_all": _letters(also), "sections": _HERE}
    html, style = render("sheets.html", said, paper=paper, scale=scale)
    before, after = html.split(_HERE)
    return Frame(before=before, after=after, style=style)


def section(values: Mapping[str, Any]) -> str:
    """The pages of one variation as HTML, to stand in a frame."""
    return str(_environment().get_template("sheet.html").render({**values, "place": PLACE}))


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
    for name in ("sheets.html", "sheet.html", "index.html", "front.html", "back.html", "style.css"):
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
    turned: float = 0.0,
    most: int | None = None,
) -> bytes:
    """The PDF of a page description, tagged for PDF/UA-1, with files inside; `turned` as in `bind`.

    Raises PressError when something outside is asked for, and when it takes more pages than `most`.
    """
    laid = lay(html, style, images)
    needed = len(laid.pages)
    if most is not None and needed > most:
        fact = f"this takes {needed} pages, {most} {'was' if most == 1 else 'were'} asked for"
        raise PressError(Fault(fact=fact, hint=f"name fewer studies, or ask for {needed} pages"))
    return bind([laid], files=files, turned=turned)


def lay(html: str, style: str, images: Mapping[str, Image], *, drop: int = 0) -> Gathering:
    """The pages of a page description, but for the last `drop`, laid out and tagged for PDF/UA-1.

    Raises PressError when something outside is asked for.
    """
    return _laid(html, style, images, partial(gather, drop=drop))


def lay_each(held: Frame, sections: Sequence[str], images: Mapping[str, Image]) -> list[Gathering]:
    """Variations in a frame, laid out together, and the pages of each by themselves; raises as `lay`."""
    html = f"{held.before}{''.join(sections)}{held.after}"
    made = _laid(html, held.style, images, gather_each)
    if len(sections) > 1 and made[0].fonts != _usual(held):
        # letters that others do not need: whoever needs them has fonts of its own, and the others have not
        return [part for one in sections for part in lay_each(held, [one], images)]
    return made


@lru_cache(maxsize=4)
def _usual(held: Frame) -> frozenset[bytes]:
    """The font files of variations that need no letters of their own."""
    none = f'<section class="sheet"><h3><b>{PLACE}</b></h3></section>'
    (made,) = _laid(f"{held.before}{none}{held.after}", held.style, {}, gather_each)
    return made.fonts


def _laid(html: str, style: str, images: Mapping[str, Image], gathered: Callable[[Any, Any], Gathered]) -> Gathered:
    """What `gathered` takes from the laid-out document and the PDF that WeasyPrint makes of it."""
    refused: list[str] = []
    taken: list[Gathered] = []

    def take(document: Any, pdf: Any) -> None:
        _frame_figures(document, pdf)
        let_forms_paint(pdf)
        taken.append(gathered(document, pdf))
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
    said = {"title": "", "running": "", "footline": ""}
    _usual(frame(said, "", paper=paper_of(Plan()), scale=1.0))


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
