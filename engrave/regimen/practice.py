"""The house's figures of practice, from `shared/practice.toml`, where each stands with its source."""

from __future__ import annotations

from typing import Any

from engrave import resources


def figure(table: str, name: str) -> float:
    """One figure of the data file, by the table it stands in, e.g. "time", "settle": minutes."""
    return float(_rows()[table][name])


def source(table: str, name: str = "") -> str:
    """Where a figure, or a table of figures, comes from."""
    return str(_rows()[table][f"{name}_source" if name else "source"])


def depth_pages(depth: str) -> int | None:
    """Variations a book of this depth holds; None for no limit."""
    found = _rows()["depth"].get(depth)
    return None if found is None else int(found)


def _rows() -> dict[str, Any]:
    return resources.table("shared/practice.toml")
