"""Loading music21, which takes a third of a second, where there is something to read."""

from __future__ import annotations

from importlib import import_module
from typing import Any


def music21(name: str) -> Any:
    """A module of music21, by its name there."""
    package = import_module("music21").__name__
    return import_module(f"{package}.{name}")
