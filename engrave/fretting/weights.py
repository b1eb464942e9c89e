"""The weights of the cost terms, bent to a player's taste."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from engrave import resources
from engrave.fretting.costs import TABLES, TERMS
from engrave.fretting.shapes import Floats
from engrave.fretting.taste import NEUTRAL, Taste


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weights:
    """Cost per unit of each term, and the cells of the tables."""

    terms: dict[str, float]
    tables: dict[str, Floats]
    freedom: float
    """least share of the cost of a shift that is left when the hand has all the time it wants"""
    settle: float
    """quarters of free time after which half the cost of a shift is gone"""

    def travel(self, free: float) -> float:
        """Share of the cost of a shift that `free` quarters with no finger needed leave."""
        return max(self.freedom, self.settle / (self.settle + free))


def flavoured(weights: Weights, taste: Taste) -> Weights:
    """`weights` bent to a taste."""
    if taste == NEUTRAL:
        return weights
    terms = dict(weights.terms)
    terms["high"] -= 0.35 * taste.neck
    terms["open"] -= 3.5 * taste.open
    terms["open_high"] *= 1 - max(taste.open, 0.0)
    for name in ("shift", "shift_dm"):
        terms[name] *= 2.0**taste.shifts
    for name in ("off", "off_outward", "stretch", "reach_on"):
        terms[name] *= 2.0**-taste.shifts
    return Weights(terms=terms, tables=weights.tables, freedom=weights.freedom, settle=weights.settle)


@cache
def standard_weights() -> Weights:
    """The weights of shared/weights.toml."""
    return weights_from(resources.table("shared/weights.toml"))


def weights_from(row: dict[str, Any]) -> Weights:
    """Weights from plain values: `terms`, `tables` (sparse: cell number → cost), `time`."""
    unknown = set(row["terms"]) - set(TERMS)
    if unknown:
        raise ValueError(f"unknown cost terms: {sorted(unknown)}")
    tables = {name: np.zeros(size + 1) for name, size in TABLES.items()}
    for name, cells in row.get("tables", {}).items():
        for cell, cost in cells.items():
            tables[name][int(cell)] = cost
    return Weights(
        terms={name: float(row["terms"].get(name, 0.0)) for name in TERMS},
        tables=tables,
        freedom=float(row["time"]["freedom"]),
        settle=float(row["time"]["settle"]),
    )
