"""The instruments and hands of `shared/`, by name."""

from __future__ import annotations

import difflib
from dataclasses import replace
from functools import cache
from types import MappingProxyType
from typing import Any

from engrave import resources
from engrave.model import Fault, Hand, Instrument, Pitch, PlanError
from engrave.model.said import say


def instrument_names() -> tuple[str, ...]:
    """Names that `find_instrument` knows, in the order of the data file."""
    return tuple(resources.table("shared/instruments.toml"))


def hand_names() -> tuple[str, ...]:
    """Names that `find_hand` knows."""
    return tuple(resources.table("shared/hands.toml"))


@cache
def find_instrument(name: str) -> Instrument:
    """The instrument called `name`. Raises PlanError naming those there are."""
    row = _row("instrument", name, resources.table("shared/instruments.toml"))
    strings = tuple(Pitch.parse(text) for text in row["strings"])
    made = Instrument(name=name, label=say(row["label"]), strings=strings, source=row["source"])
    return replace(made, wound=frozenset(row["wound"])) if "wound" in row else made


def tuned(strings: tuple[Pitch, ...]) -> Instrument:
    """An instrument for open strings a source names: a known one where they match, else one of its own."""
    for name in instrument_names():
        known = find_instrument(name)
        if tuple(p.midi for p in known.strings) == tuple(p.midi for p in strings):
            return known
    label = say("guitar tuned {strings}", strings=" ".join(pitch.name for pitch in reversed(strings)))
    return Instrument(name="source", label=label, strings=strings, source="the passage")


@cache
def find_hand(name: str) -> Hand:
    """The hand called `name`. Raises PlanError naming those there are."""
    row = _row("hand", name, resources.table("shared/hands.toml"))
    return Hand(
        name=name,
        label=row["label"],
        comfortable=_pairs(row["comfortable"]),
        practical=_pairs(row["practical"]),
        source=row["source"],
    )


def _pairs(row: dict[str, float]) -> MappingProxyType[tuple[int, int], float]:
    return MappingProxyType({(int(pair[0]), int(pair[2])): float(mm) for pair, mm in row.items()})


def _row(what: str, name: str, rows: dict[str, Any]) -> Any:
    if name in rows:
        return rows[name]
    near = difflib.get_close_matches(name, rows, n=1)
    hint = (f"did you mean {near[0]}? " if near else "") + f"known: {', '.join(rows)}"
    raise PlanError(Fault(fact=f"{what} {name!r} is not known", hint=hint))
