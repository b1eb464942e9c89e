"""Our templates as HTML. They hold words and layout; lengths that the program reckons with are given to them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache, partial
from html import escape
from typing import Any

from engrave import resources
from engrave.languages import LETTER, LOCALES, letters_plain, told, translations
from engrave.model import Plan
from engrave.pages.fonts import Font
from engrave.pages.paper import paper_of, type_scale
from engrave.typefaces import right_to_left

_USUAL = Plan()
SIGNS_URL = "engrave:signs.otf"
TYPE = {"heading": 9.5, "running": 9.0}
"""points: sizes of lines that are cut to fit their room (section headings, running head)"""


def render(template: str, values: Mapping[str, Any], plan: Plan = _USUAL) -> str:
    """A template of ours in a plan's language, with lengths as large as its type; all text is escaped."""
    units = {unit: partial(_size, unit=unit, scale=type_scale(plan)) for unit in ("pt", "mm")}
    language = plan.marks.language
    made = _environment(language).get_template(template)
    return str(
        made.render({**units, "backward": right_to_left, "locale": LOCALES[language].replace("_", "-"), **values})
    )


LOOP = {"caption": 6.0, "below": 3.0}
"""mm of the line over a loop and of the white under it, at the usual size of type: the layout reckons with them, too"""


def style_sheet(plan: Plan) -> str:
    """The style sheet of all pages of a plan, but for its fonts."""
    return render("style.css", {"type": TYPE, "paper": paper_of(plan), "loop": LOOP}, plan)


def font_sheet(fonts: Iterable[Font]) -> str:
    """The style sheet that names the fonts of some pages, and that of our signs."""
    return render("fonts.css", {"fonts": fonts, "signs": SIGNS_URL})


@cache
def _environment(language: str) -> Any:
    """The templates' surroundings in a language, kept with what it has compiled."""
    import jinja2  # noqa: PLC0415 (loaded only when a page is printed)

    made: Any = jinja2.Environment(
        autoescape=jinja2.select_autoescape(["html"]),
        undefined=jinja2.StrictUndefined,
        loader=jinja2.FunctionLoader(lambda name: resources.text(f"templates/{name}")),
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
        finalize=partial(_said, language=language),
    )
    made.policies["ext.i18n.trimmed"] = True
    made.install_gettext_translations(translations(language), newstyle=True)
    made.filters["told"] = partial(_said, language=language)
    made.filters["fingers"] = partial(_in_italics, language=language)
    return made


def _said(value: Any, *, language: str) -> Any:
    """What a template prints: our own sentences in its language, all else as it is."""
    return letters_plain(told(value, language)) if isinstance(value, str) and not hasattr(value, "__html__") else value


_LETTER = "[pimac]"
_ROW = rf"{_LETTER}(?:(?:[ +-]|, | and ){_LETTER})+"
_ALONE = r"[pimc]|a(?= (?:on [①-⑩]|brought out|alone|leads|plucks|after|follows))"
_AFTER = r"(?<=after )a|(?<=to )a(?= on )|(?<=finger )a|(?<=for )a(?=:)|(?<=ccents on )a(?=$|[.,;:”])"
_FINGERS = re.compile(rf"(?<![\w’'-])(?:{_ROW}|{_ALONE}|{_AFTER})(?![\w’'])")
"""letters of the plucking hand: a row of them, or one that stands where no word can"""


_JOINED = re.compile(rf"(?<={_LETTER})(,? (?!{_LETTER} )\w+ )(?={_LETTER}(?!\w))")
_MARKED = re.compile(LETTER.format("([^\ue011]*)"))


@cache
def _fingers(language: str) -> re.Pattern[str]:
    """What means plucking fingers in a language.

    In English it shows by what stands around; elsewhere rows of letters do, and those that the catalogue marks.
    """
    if language == "en":
        return _FINGERS
    joined = map(translations(language).gettext, ("{front} and {last}", "{front} or {last}"))
    words = [text.removeprefix("{front}").removesuffix("{last}") for text in joined]
    # "y" is "e" before i, in Spanish
    between = "|".join(re.escape(text) for text in (*words, *([" e "] if language == "es" else [])))
    return re.compile(rf"{_MARKED.pattern}|(?<![\w’'-]){_LETTER}(?:(?:[ +-]|, |{between}){_LETTER})+(?![\w’'])")


def _in_italics(text: str, *, language: str) -> Any:
    """A text with the letters that mean plucking fingers in italics, as editions print them."""
    from jinja2.filters import do_mark_safe  # noqa: PLC0415 (loaded only when a page is printed)

    def slanted(found: re.Match[str]) -> str:
        # the word that joins letters is a word
        parts = _JOINED.split(letters_plain(found[0]))
        return "".join(part if at % 2 else f'<i class="f">{part}</i>' for at, part in enumerate(parts))

    return do_mark_safe(_fingers(language).sub(slanted, escape(told(text, language))))


def _size(size: float, *, unit: str, scale: float) -> str:
    """A length of the style sheet, enlarged with the type."""
    return f"{size * scale:g}{unit}"
