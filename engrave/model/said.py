"""Sentences of ours as values: English to look at, and what each was made of, so that it can be said in any language.

Whoever makes a sentence writes it whole, with named places for what changes: ``say("finger {finger} finds no slur",
finger=2)``. What comes of it is an English `str`; `engrave.languages.told` finds the same sentence in another language
and puts the same things in its places. Cutting, joining or formatting a `Said` as text makes it a plain `str`, which
stays English: use `strung` to set sentences side by side, and places for words within a sentence.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


class Said(str):
    """An English text of ours that remembers how it was said."""

    __slots__ = ("begins", "many", "message", "number", "places")

    message: str
    """the sentence with its places, as catalogues know it"""
    many: str
    """the sentence for a number other than one; empty where it counts nothing"""
    number: int
    """what it counts"""
    places: Mapping[str, Any]
    """what stands in the places: other sentences, numbers, days, or text that is the same in all languages"""
    begins: bool
    """it begins a line, with a capital"""

    def __getnewargs__(self) -> tuple[str]:
        return (str.__str__(self),)


def _said(
    text: str, message: str, places: Mapping[str, Any], *, many: str = "", number: int = 1, begins: bool = False
) -> Said:
    made = Said(text)
    made.message, made.places, made.many, made.number, made.begins = message, places, many, number, begins
    return made


def say(message: str, /, **places: object) -> Said:
    """A sentence or a phrase; each place is named in braces. Raises KeyError where one is missing."""
    return _said(_filled(message, places), message, places)


def say_count(one: str, many: str, number: int, /, **places: object) -> Said:
    """A sentence that counts: the number stands in the place {n}: ``say_count("{n} note", "{n} notes", 3)``."""
    places = {"n": number, **places}
    return _said(_filled(one if number == 1 else many, places), one, places, many=many, number=number)


def strung(parts: Iterable[str], between: str = " ") -> Said:
    """Texts one after the other, empty ones left out, with the same sign between them in every language."""
    found = {f"part{index}": part for index, part in enumerate(parts) if part}
    if len(found) == 1 and isinstance(alone := next(iter(found.values())), Said):
        return alone
    return say(between.replace("{", "{{").replace("}", "}}").join(f"{{{name}}}" for name in found), **found)


def beginning(text: str) -> str:
    """`text` with a capital at its beginning, in whatever language it is said."""
    english = text[:1].upper() + text[1:]
    if not isinstance(text, Said):
        return english
    return _said(english, text.message, text.places, many=text.many, number=text.number, begins=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class DayName:
    """A day of the week, or one with its date, as a place in a sentence holds it."""

    weekday: int
    """0 is Monday"""
    on: date | None = None
    """its date, where it is said"""
    short: bool = False

    def __str__(self) -> str:
        """In English: Monday, Mon, Monday 4 January 2027, Mon 4 Jan."""
        cut = 3 if self.short else None
        name = _DAYS[self.weekday][:cut]
        if self.on is None:
            return name
        return f"{name} {self.on.day} {_MONTHS[self.on.month - 1][:cut]}" + ("" if self.short else f" {self.on.year}")


def say_day(weekday: int, on: date | None = None, *, short: bool = False) -> Said:
    """A day of the week (0 is Monday), with its date where one is given."""
    return say("{day}", day=DayName(weekday=weekday, on=on, short=short))


def _filled(message: str, places: Mapping[str, object]) -> str:
    return message.format(**places) if places else message
