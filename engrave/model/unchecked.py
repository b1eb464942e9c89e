"""Values with some fields changed, without asking again what was asked at their making."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from operator import attrgetter
from typing import Any, TypeVar

_Value = TypeVar("_Value")


def replace_unchecked(value: _Value, **changes: object) -> _Value:
    """`value`, one of our frozen values, with these fields changed and its invariants not checked.

    For fields that no invariant speaks of; `dataclasses.replace` is for all others, and for whoever has time. A book's
    variations are 25,000 changed values: this takes less than half as long as `replace`, and what a passage checks of
    its bars is not checked again where only the hands have changed. Raises KeyError for a field that there is not.
    """
    kind: Any = type(value)
    read, put, places = _fields(kind)
    made: _Value = object.__new__(kind)
    for write, now in zip(put, read(value), strict=True):
        write(made, now)
    for name, now in changes.items():
        put[places[name]](made, now)
    return made


_Put = Callable[[object, object], None]


@cache
def _fields(kind: Any) -> tuple[Callable[[object], tuple[Any, ...]], tuple[_Put, ...], dict[str, int]]:
    """How the fields of a class with slots are read all together, how each is written, and where each stands."""
    names = tuple(kind.__dataclass_fields__)
    return attrgetter(*names), tuple(getattr(kind, name).__set__ for name in names), {n: i for i, n in enumerate(names)}
