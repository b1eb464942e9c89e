"""The house's figures of practice, from `shared/practice.toml`, where each stands with its source."""

from __future__ import annotations

from typing import Any

from engrave import resources


def figure(table: str, name: str) -> float:
    """One figure of the data file, by the table it stands in: "time", "settle" are minutes to settle."""
    return float(_table(table)[name])


def depth_pages(depth: str, level: str) -> int | None:
    """Variations a book of this depth holds at this level; None for no limit."""
    found = _table("depth")[level].get(depth)
    return None if found is None else int(found)


def _table(name: str) -> Any:
    found: Any = resources.table("shared/practice.toml")
    for part in name.split("."):
        found = found[part]
    return found
