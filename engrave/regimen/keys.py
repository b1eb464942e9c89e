"""Every key of a plan file, from `shared/plan.toml`: the reader, the writer and the starter plan go by it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

from engrave import axes, resources
from engrave.instruments import hand_names, instrument_names
from engrave.model import DEPTHS, LANGUAGES, TEXTURES, WEEKDAYS
from engrave.model.texture import BASS_LINES, PAIRS

LONGEST = 200
"""characters a text of a plan may have"""
MOST_STUDIES = 500
"""tables of one kind a plan may have"""
TABLES: dict[str, str] = {
    "player": "who practises, and how much time there is",
    "instrument": "what is played",
    "book": "what is printed, and how",
    "week": "which days are for practising",
    "study": "one way of practising the line; as many of these tables as you like, in any mixture of settings",
    "student": "one of a class, each with a handout or a week of their own; a table for each of them",
    "texture": "what some bars are made of, where it is not found rightly; as many of these tables as needed",
    "leave-out": "studies that are not wanted: those with all the settings named here",
}
"""the tables of a plan, in order, with what each is for"""
REPEATED = ("study", "student", "texture", "leave-out")
"""tables written with double brackets, as often as needed"""
_LISTS: dict[str, Callable[[], tuple[str, ...]]] = {
    "instruments": instrument_names,
    "hands": hand_names,
    "weekdays": lambda: WEEKDAYS,
    "depths": lambda: DEPTHS,
    "pairs": lambda: PAIRS,
    "bass lines": lambda: BASS_LINES,
    "textures": lambda: TEXTURES,
    "languages": lambda: LANGUAGES,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanKey:
    """One key of a plan file."""

    table: str
    """player, instrument, book, week, study, texture or leave-out"""
    name: str
    """as the file writes it"""
    field: str
    """attribute of Plan, with a dot for one inside Marks, Player or Week; attribute of Study, AskedTexture
    or LeaveOut there"""
    kind: str
    """text, choice, flag, whole, number, tempi, terms, days or setting"""
    doc: str
    """what it does, as the starter plan explains it"""
    example: object
    """a value worth showing; the starter plan prints it as a comment"""
    low: float = 0
    high: float = 0
    """limits of a whole number or a number"""
    choices: tuple[str, ...] = ()
    """what a choice may be, and the days there are"""


@cache
def all_keys() -> tuple[PlanKey, ...]:
    """Every key, in the order of the data file."""
    return tuple(_key(row) for row in resources.table("shared/plan.toml")["key"])


def keys_of(table: str) -> tuple[PlanKey, ...]:
    """The keys of one table, in the order the starter plan lists them."""
    return tuple(key for key in all_keys() if key.table == table)


def _key(row: dict[str, Any]) -> PlanKey:
    choices = row.get("choices", ())
    example = row["example"] if "example" in row else _setting(row["name"])
    return PlanKey(
        **{
            **row,
            "example": tuple(example) if isinstance(example, list) else example,
            "choices": _LISTS[choices]() if isinstance(choices, str) else tuple(choices),
        }
    )


def _setting(axis: str) -> str:
    """A setting to show: the first of the axis that changes something."""
    found = axes.axis(axis)
    return next((setting.name for setting in found.settings if setting.name != found.default), found.default)
