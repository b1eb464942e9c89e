from __future__ import annotations

import itertools
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.regimen.programme import Answer, Constraint, Unknown, solve


def brute(unknowns: list[Unknown], rows: list[Constraint]) -> float | None:
    """The best worth of a programme of 0/1 unknowns, by trying every combination."""
    best: float | None = None
    for values in itertools.product((0, 1), repeat=len(unknowns)):
        sums = [sum(share * values[i] for i, share in row.shares.items()) for row in rows]
        kept = all(
            (row.low is None or total >= row.low) and (row.high is None or total <= row.high)
            for row, total in zip(rows, sums, strict=True)
        )
        if kept:
            worth = sum(unknown.worth * value for unknown, value in zip(unknowns, values, strict=True))
            best = worth if best is None else max(best, worth)
    return best


@st.composite
def programmes(draw: st.DrawFn) -> tuple[list[Unknown], list[Constraint]]:
    """A small programme of 0/1 unknowns with whole figures."""
    size = draw(st.integers(1, 8))
    unknowns = [Unknown(worth=float(draw(st.integers(-9, 9)))) for _ in range(size)]
    rows = []
    for _ in range(draw(st.integers(0, 5))):
        shares = {i: float(draw(st.integers(-5, 9))) for i in range(size) if draw(st.booleans())}
        low, high = sorted((draw(st.integers(-10, 20)), draw(st.integers(-10, 20))))
        rows.append(
            Constraint(
                shares=shares,
                low=float(low) if draw(st.booleans()) else None,
                high=float(high) if draw(st.booleans()) else None,
            )
        )
    return unknowns, rows


@settings(max_examples=150, deadline=None)
@given(programmes())
def test_the_answer_is_the_best_there_is(programme: tuple[list[Unknown], list[Constraint]]) -> None:
    """Small programmes agree with trying every combination, in worth and in whether there is an answer at all."""
    unknowns, rows = programme
    answer = solve(unknowns, rows)
    best = brute(unknowns, rows)
    if best is None:
        assert answer is None
        return
    assert answer is not None
    assert answer.worth == pytest.approx(best)
    assert answer.gap == 0
    assert answer.verdict == "best by this book’s own count"
    for row in rows:
        total = sum(share * answer.values[i] for i, share in row.shares.items())
        assert row.low is None or total >= row.low - 1e-6
        assert row.high is None or total <= row.high + 1e-6


@settings(max_examples=30, deadline=None)
@given(programmes())
def test_the_same_programme_has_the_same_answer(programme: tuple[list[Unknown], list[Constraint]]) -> None:
    """Two runs give the same values, not only the same worth."""
    assert solve(*programme) == solve(*programme)


def test_unknowns_that_need_not_be_whole_take_fractions() -> None:
    """Half of what does not fit whole is taken."""
    answer = solve([Unknown(worth=3.0, whole=False)], [Constraint(shares={0: 2.0}, high=1.0)])
    assert answer is not None
    assert answer.values == (0.5,)


def test_a_programme_of_nothing_is_answered() -> None:
    """With no unknowns the answer is empty, or there is none where a row asks for more than nothing."""
    assert solve([], []) == Answer(values=(), worth=0.0, gap=0.0)
    assert solve([], [Constraint(shares={}, low=1.0)]) is None


def test_a_gap_that_is_left_is_stated() -> None:
    """An answer that is not proven best says how far from the best it can be."""
    assert Answer(values=(), worth=10.0, gap=0.031).verdict == "at most 3.1 % from the best"


def test_the_solver_prints_nothing_and_is_loaded_only_when_used() -> None:
    """Choosing writes nothing to any stream, and importing the room does not load the solver."""
    code = (
        "import sys, engrave.regimen\n"
        "assert 'highspy' not in sys.modules\n"
        "from engrave.regimen.programme import *\n"
        "assert solve([Unknown(worth=1.0)], [Constraint(shares={0: 1.0}, high=1.0)]).values == (1.0,)\n"
        "assert 'highspy' in sys.modules\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False, text=True)
    assert (ran.returncode, ran.stdout, ran.stderr) == (0, "", "")
