"""Weeks that are settled, before they are told: which study on which day, at which tempi, how often."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.model import Plan
from engrave.regimen.days import PlannedDay
from engrave.regimen.selected import Ready


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """Weeks that are settled, before they are told."""

    there: Ready
    plan: Plan
    budget: float
    """minutes of a practice day, with breaks"""
    days: tuple[PlannedDay, ...]
    verdict: str

    @property
    def used(self) -> list[int]:
        """Candidates that come on some day, ascending."""
        return sorted({dose.item for day in self.days for dose in day.doses})
