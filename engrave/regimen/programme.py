"""Exact choices: linear programmes with 0/1 unknowns, solved with HiGHS.

Rules: the answer depends on nothing but the programme (one thread, a fixed seed, limits counted in nodes and never in
seconds); it is either proven best or comes with the largest distance to the best that is still possible.
"""

from __future__ import annotations

import importlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from engrave.model.said import say

_SEED = 1
_TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """One unknown of a programme."""

    worth: float
    """what one unit of it adds to the sum that is made as large as possible"""
    low: float = 0.0
    high: float = 1.0
    whole: bool = True
    """takes whole numbers only"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Constraint:
    """One condition: low ≤ sum of share × unknown ≤ high; None is no limit on that side."""

    shares: Mapping[int, float]
    """index of an unknown → its share"""
    low: float | None = None
    high: float | None = None


def so_many(unknowns: Iterable[int], *, low: float | None = None, high: float | None = None) -> Constraint:
    """The condition that so many of these are taken."""
    return Constraint(shares=dict.fromkeys(unknowns, 1.0), low=low, high=high)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a programme came to."""

    values: tuple[float, ...]
    """value of each unknown; whole ones are rounded"""
    worth: float
    """the sum that was made as large as possible"""
    gap: float
    """how much larger the best could still be, as a share of `worth`; 0 where it is proven best"""

    @property
    def verdict(self) -> str:
        """How good the answer is, in words."""
        if self.gap <= _TOLERANCE:
            return say("best by this book’s own count")
        return say("at most {share} % from the best", share=round(100 * self.gap, 1))


def solve(
    unknowns: Sequence[Unknown],
    rows: Sequence[Constraint],
    *,
    nodes: int = 2_000,
    gap: float = 0.0,
) -> Answer | None:
    """The best values of `unknowns` that keep every row, or None where no values keep them all.

    `nodes` limits the search, `gap` is the distance to the best (as a share) at which it may stop early.
    """
    if not unknowns:
        return Answer(values=(), worth=0.0, gap=0.0) if all(_kept(row) for row in rows) else None
    # loaded where it is needed, so that a command that chooses nothing starts without it
    highspy: Any = importlib.import_module("highspy")
    # the solver itself, not the class around it, which from 1.16 on prints a banner before it can be told not to
    solver: Any = highspy.Highs.__bases__[0]()
    for option, value in (
        ("output_flag", False),
        ("threads", 1),
        ("parallel", "off"),
        ("random_seed", _SEED),
        ("mip_max_nodes", nodes),
        ("mip_rel_gap", gap),
        ("mip_abs_gap", _TOLERANCE),
    ):
        solver.setOptionValue(option, value)
    for at, unknown in enumerate(unknowns):
        solver.addVar(unknown.low, unknown.high)
        solver.changeColCost(at, unknown.worth)
        if unknown.whole:
            solver.changeColIntegrality(at, highspy.HighsVarType.kInteger)
    solver.changeObjectiveSense(highspy.ObjSense.kMaximize)
    for row in rows:
        low = -highspy.kHighsInf if row.low is None else row.low
        high = highspy.kHighsInf if row.high is None else row.high
        solver.addRow(low, high, len(row.shares), [*row.shares], [*row.shares.values()])
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return None
    info = solver.getInfo()
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        raise RuntimeError(f"the programme was left unsolved: {solver.modelStatusToString(status)}")
    found = solver.getSolution().col_value
    values = tuple(
        float(round(value)) if unknown.whole else float(value) for value, unknown in zip(found, unknowns, strict=True)
    )
    worth = sum(unknown.worth * value for unknown, value in zip(unknowns, values, strict=True))
    whole = any(unknown.whole for unknown in unknowns)
    left = max(0.0, info.mip_dual_bound - worth) / max(abs(worth), _TOLERANCE) if whole else 0.0
    return Answer(values=values, worth=worth, gap=left if left > _TOLERANCE else 0.0)


def _kept(row: Constraint) -> bool:
    return (row.low is None or row.low <= 0) and (row.high is None or row.high >= 0)
