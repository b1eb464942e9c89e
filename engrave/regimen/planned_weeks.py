"""Weeks that are settled, before they are told: which study on which day, at which tempi, how often."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.model import Day, Plan
from engrave.regimen.selected import Ready


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """Weeks that are settled, before they are told."""

    there: Ready
    plan: Plan
    budget: float
    """minutes of a practice day, with breaks"""
    days: tuple[Day, ...]
    """visits by index of the candidate, in practice order"""
    verdict: str

    @property
    def used(self) -> list[int]:
        """Candidates that come on some day, ascending."""
        return sorted({visit.step for day in self.days for visit in day.visits})
