"""The languages pages are printed in: sentences found in catalogues, numbers and days as each language has them.

A catalogue is a gettext file, `shared/languages/CODE.po`, read by Babel; English needs none. DEVELOPERS.md says how
catalogues are kept.
"""

from __future__ import annotations

import re
from functools import cache
from io import BytesIO
from typing import Any

from engrave import resources
from engrave.model.pitch import NoteName, Pitch
from engrave.model.said import DayName, Said

__all__ = ["LOCALES", "letters_plain", "told", "translations"]

LOCALES = {"en": "en_GB", "de": "de_DE", "es": "es_ES", "fr": "fr_FR", "it": "it_IT"}
"""language as a plan names it → its locale: hyphenation, days, plurals"""
LETTER = "\ue010{}\ue011"
"""how a told text carries the letter of a plucking finger, so that it is told from a word of one letter"""
_MARKED = re.compile(r"<([a-z]{1,2}|\{\w+\})>")
_CARRIED = re.compile("[\ue010\ue011]")


def told(text: str, language: str) -> str:
    """`text` in a language (one of LOCALES); what is no sentence of ours is left as it is.

    Letters of fingers that the catalogue marks come out carried as `LETTER` has them.
    """
    if language == "en" or not text or not isinstance(text, Said):
        return str.__str__(text)
    places = {name: _placed(value, language) for name, value in text.places.items()}
    found = translations(language)
    message = found.ngettext(text.message, text.many, text.number) if text.many else found.gettext(text.message)
    if message == text.message:
        message = _spaced(message, language)
    # marked before the places are filled: what a user wrote may hold anything
    marked = _MARKED.sub(lambda match: LETTER.replace("{}", match[1]), message)
    if language == "es":
        marked = _before_a_like_vowel(marked, places)
    elif language == "de":
        places = _sentences_after_colons(marked, places)
    filled = marked.format(**places) if places else marked
    return filled[:1].upper() + filled[1:] if text.begins else filled


def _spaced(message: str, language: str) -> str:
    """Signs between texts as a language sets them: French has a space before a colon and a semicolon."""
    return re.sub(r"(?<=\})([;:])(?= )", "\u00a0\\1", message) if language == "fr" else message


_AND_OR = re.compile(r" ([yo]) \{(\w+)\}")
_LIKE = {"y": ("e", re.compile(r"i|hi(?![ae])", re.IGNORECASE)), "o": ("u", re.compile(r"h?o", re.IGNORECASE))}
"""Spanish "and" and "or" → what they become before their own vowel (common practice of the language)"""


def _before_a_like_vowel(message: str, places: dict[str, Any]) -> str:
    """A Spanish sentence with "y" as "e" before i- and "o" as "u" before o-, where a place follows: m e i."""

    def joined(found: re.Match[str]) -> str:
        after, vowel = _LIKE[found[1]]
        return f" {after} {{{found[2]}}}" if vowel.match(letters_plain(str(places[found[2]]))) else found[0]

    return _AND_OR.sub(joined, message)


_AFTER_COLON = re.compile(r": \{(\w+)\}")


def _sentences_after_colons(message: str, places: dict[str, Any]) -> dict[str, Any]:
    """What stands in German places, a whole sentence behind a colon with its capital (Duden's rule, from memory)."""

    def begun(name: str, value: Any) -> Any:
        whole = name in after and isinstance(value, str) and value.endswith(".")
        return value[:1].upper() + value[1:] if whole else value

    after = set(_AFTER_COLON.findall(message))
    return {name: begun(name, value) for name, value in places.items()} if after else places


def letters_plain(text: str) -> str:
    """A told text without what carries its letters."""
    return _CARRIED.sub("", text)


def _placed(value: Any, language: str) -> Any:
    """What stands in a place, in the language."""
    if isinstance(value, str):
        return told(value, language)
    if isinstance(value, float):
        from babel.numbers import format_decimal  # noqa: PLC0415 (loaded only for a language other than English)

        return format_decimal(value, locale=LOCALES[language])
    if isinstance(value, NoteName):
        return _note(value, language)
    if isinstance(value, Pitch):
        note = _note(value.note, language)
        return f"{note}{value.octave}" if language == "de" else f"{note} {value.octave}"
    return _day(value, language) if isinstance(value, DayName) else value


_ALTERED = {-2: " double flat", -1: " flat", 0: "", 1: " sharp", 2: " double sharp"}


def _note(value: NoteName, language: str) -> str:
    """A note by its name in the language: H and Fis in German, si and fa sostenido in Spanish."""
    return str(translations(language).gettext(value.step + _ALTERED[value.alter]))


def _day(day: DayName, language: str) -> str:
    from babel import dates  # noqa: PLC0415 (loaded only for a language other than English)

    locale = LOCALES[language]
    if day.on is None:
        return str(dates.get_day_names("abbreviated" if day.short else "wide", locale=locale)[day.weekday])
    if day.short:
        return str(dates.format_skeleton("MMMEd", day.on, locale=locale))
    return str(dates.format_date(day.on, "full", locale=locale))


@cache
def translations(language: str) -> Any:
    """The catalogue of a language, as gettext's own translations; of English, one that knows nothing."""
    from gettext import NullTranslations  # noqa: PLC0415 (as above)

    if language == "en":
        return NullTranslations()
    from babel.messages.mofile import write_mo  # noqa: PLC0415 (as above)
    from babel.messages.pofile import read_po  # noqa: PLC0415 (as above)
    from babel.support import Translations  # noqa: PLC0415 (as above)

    text = resources.text(f"shared/languages/{language}.po")
    catalogue = read_po(BytesIO(text.encode()), locale=LOCALES[language], ignore_obsolete=True)
    compiled = BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    return Translations(fp=compiled)
