"""Numbers as files write them, refused where they are none or absurdly long."""

from __future__ import annotations

import re
from fractions import Fraction

_WHOLE = re.compile(r"[+-]?[0-9]{1,12}\Z")
_DECIMAL = re.compile(r"[+-]?(?:[0-9]{1,12}(?:\.[0-9]{0,12})?|\.[0-9]{1,12})\Z")


def whole(text: str | None, low: int, high: int) -> int | None:
    """A whole number between two bounds, or None."""
    stripped = (text or "").strip()
    if not _WHOLE.match(stripped):
        return None
    value = int(stripped)
    return value if low <= value <= high else None


def decimal(text: str | None) -> Fraction | None:
    """A decimal number, or None."""
    stripped = (text or "").strip()
    return Fraction(stripped) if _DECIMAL.match(stripped) else None
