"""Our templates as HTML. They hold words and layout; lengths that the program reckons with are given to them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache, partial
from html import escape
from typing import Any

from engrave import resources
from engrave.pages.fonts import Font
from engrave.pages.paper import Paper
from engrave.typefaces import right_to_left

SIGNS_URL = "engrave:signs.otf"
TYPE = {"heading": 9.5, "running": 9.0}
"""points: sizes of lines that are cut to fit their room (section headings, running head)"""


def render(template: str, values: Mapping[str, Any], *, scale: float = 1.0) -> str:
    """A template of ours, with lengths `scale` times their usual size; all text is escaped."""
    units = {unit: partial(_size, unit=unit, scale=scale) for unit in ("pt", "mm")}
    return str(_environment().get_template(template).render({**units, "backward": right_to_left, **values}))


def style_sheet(paper: Paper, scale: float) -> str:
    """The style sheet of all pages on a paper, with type `scale` times the usual size, but for its fonts."""
    values = {"type": TYPE, "paper": paper}
    return render("style.css", values, scale=scale)


def font_sheet(fonts: Iterable[Font]) -> str:
    """The style sheet that names the fonts of some pages, and that of our signs."""
    return render("fonts.css", {"fonts": fonts, "signs": SIGNS_URL})


@cache
def _environment() -> Any:
    """The templates' surroundings, kept with what it has compiled."""
    import jinja2  # noqa: PLC0415 (loaded only when a page is printed)

    made = jinja2.Environment(
        autoescape=jinja2.select_autoescape(["html"]),
        undefined=jinja2.StrictUndefined,
        loader=jinja2.FunctionLoader(lambda name: resources.text(f"templates/{name}")),
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["fingers"] = _in_italics
    return made


_LETTER = "[pimac]"
_ROW = rf"{_LETTER}(?:(?:[ -]|, | and ){_LETTER})+"
_ALONE = r"[pimc]|a(?= (?:on [①-⑩]|brought out|alone|plucks|after|follows))"
_AFTER = r"(?<=after )a|(?<=to )a(?= on )|(?<=finger )a|(?<=for )a(?=:)"
_FINGERS = re.compile(rf"(?<![\w’'-])(?:{_ROW}|{_ALONE}|{_AFTER})(?![\w’'])")
"""letters of the plucking hand: a row of them, or one that stands where no word can"""


def _in_italics(text: str) -> Any:
    """A text with the letters that mean plucking fingers in italics, as editions print them."""
    from jinja2.filters import do_mark_safe  # noqa: PLC0415 (loaded only when a page is printed)

    return do_mark_safe(_FINGERS.sub(r'<i class="f">\g<0></i>', escape(text)))


def _size(size: float, *, unit: str, scale: float) -> str:
    """A length of the style sheet, enlarged with the type."""
    return f"{size * scale:g}{unit}"
