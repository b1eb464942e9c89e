"""House defaults: how often and how fast each kind of work is played. Ours, not proven; the book says so."""

from __future__ import annotations

import re
from dataclasses import dataclass

from engrave.model import Fault, PlanError

_LADDER = re.compile(r"(\d+)\s*(?:-|–|to)\s*(\d+)(?:\s+by\s+(\d+))?\Z")
SLOWEST, FASTEST = 20, 320
"""beats a minute a tempo may have"""
MOST_STEPS = 12
GOAL = 72
"""beats a minute to work up to where the passage names no tempo"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Habit:
    """How one kind of work is practised."""

    steps: tuple[int, ...]
    """per cent of the goal tempo"""
    times: int
    """times through"""
    weight: int
    """of two kinds in one study, the greater weight leads: its words, tempo and times are printed"""


HABITS: dict[str, Habit] = {
    "plain": Habit(steps=(70, 85, 100), times=3, weight=0),
    "strong": Habit(steps=(60, 80, 100), times=5, weight=10),
    "thumb": Habit(steps=(55, 70, 85), times=5, weight=15),
    "weak": Habit(steps=(40, 55, 70), times=5, weight=20),
    "little": Habit(steps=(35, 45, 55), times=3, weight=25),
    "cycle": Habit(steps=(50, 65, 80, 100), times=5, weight=20),
    "order": Habit(steps=(50, 65, 80), times=5, weight=22),
    "layer": Habit(steps=(60, 80, 100), times=3, weight=12),
    "chord": Habit(steps=(50, 70, 90), times=5, weight=18),
    "tremolo": Habit(steps=(40, 55, 70), times=3, weight=40),
    "repeat": Habit(steps=(50, 60, 70), times=3, weight=30),
    "open": Habit(steps=(60, 80, 100), times=2, weight=2),
    "stroke": Habit(steps=(60, 80, 100), times=3, weight=5),
    "accent": Habit(steps=(60, 75, 90), times=3, weight=4),
    "fingering": Habit(steps=(60, 80, 100), times=3, weight=22),
    "single": Habit(steps=(35, 45, 55), times=2, weight=26),
    "pair": Habit(steps=(45, 60, 75), times=3, weight=25),
    "triple": Habit(steps=(45, 60, 75), times=3, weight=24),
    "slur": Habit(steps=(50, 65, 80), times=5, weight=35),
    "place": Habit(steps=(55, 70, 85), times=2, weight=28),
    "rhythm": Habit(steps=(60, 75, 90), times=3, weight=24),
    "burst": Habit(steps=(100, 100, 100), times=3, weight=30),
}
"""kind of work → habit. Common practice behind it: one to three times through to keep a technique in view, more to
study it; weak things slowly. The figures themselves are house defaults."""


def leading(kinds: tuple[str, ...]) -> str:
    """The kind that leads a mixture; "plain" where there is none."""
    return max(kinds, key=lambda kind: HABITS[kind].weight, default="plain")


def times(kinds: tuple[str, ...]) -> int:
    """Times through for a study of these kinds."""
    return HABITS[leading(kinds)].times


def ladder(text: str) -> tuple[int, ...]:
    """Tempo steps from words: "72", "60 72 84", "60-96 by 12" (both ends included). Raises PlanError."""
    match = _LADDER.match(text.strip())
    if match:
        low, high, by = int(match[1]), int(match[2]), int(match[3] or 8)
        if not by or low > high:
            raise _fault(text)
        steps = (*range(low, min(high, FASTEST + 1), by), high)
    else:
        words = text.replace(",", " ").split()
        if not words or not all(word.isascii() and word.isdigit() and len(word) < 5 for word in words):
            raise _fault(text)
        steps = tuple(int(word) for word in words)
    if len(steps) > MOST_STEPS or any(not SLOWEST <= step <= FASTEST for step in steps):
        raise _fault(text)
    return steps


def _fault(text: str) -> PlanError:
    return PlanError(
        Fault(
            fact=f"tempo {text!r} is not up to {MOST_STEPS} steps from {SLOWEST} to {FASTEST} beats a minute",
            hint='write "72", "60 72 84" or "60-96 by 12"',
        )
    )
