"""Files that travel with the program: `shared/` (facts), `templates/` (pages).

They lie beside the package in a checkout or an editable install, and inside it in a wheel.
"""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

_HERE = Path(__file__).resolve().parent


def folder(name: str) -> Path:
    """The folder `name` (shared or templates), wherever this copy of the program keeps it."""
    inside = _HERE / name
    return inside if inside.is_dir() else _HERE.parent / name


@cache
def text(name: str) -> str:
    """The text of a file of ours, e.g. "shared/instruments.toml"."""
    top, _, rest = name.partition("/")
    return (folder(top) / rest).read_text(encoding="utf-8")


@cache
def table(name: str) -> dict[str, Any]:
    """A TOML file of ours as plain values; callers must not change what they get."""
    return tomllib.loads(text(name))
