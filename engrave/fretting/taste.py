"""What a player prefers of the fretting hand."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Taste:
    """What a player prefers; all neutral by default."""

    neck: float = 0.0
    """-1 (stay low) to 1 (play high)"""
    open: float = 0.0
    """-1 (closed, stopped notes) to 1 (open strings)"""
    shifts: float = 0.0
    """-1 (rather shift than stretch) to 1 (rather stretch than shift)"""

    def __post_init__(self) -> None:
        for name in ("neck", "open", "shifts"):
            if not -1 <= getattr(self, name) <= 1:
                raise ValueError(f"taste {name} is {getattr(self, name)}, not between -1 and 1")


NEUTRAL = Taste()
