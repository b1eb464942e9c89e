"""Loading music21 without its client for the web.

Its converter loads `requests` at its head, to fetch scores by address. Nothing here may fetch anything, and that client
with all it needs was a quarter of what music21 takes to load.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import Any

_CLIENT = "requests"


def music21(name: str) -> Any:
    """A module of music21, by its name there."""
    if "music21" not in sys.modules and _CLIENT not in sys.modules:
        # an empty module in its place, while music21 is loaded
        sys.modules[_CLIENT] = ModuleType(_CLIENT)
        try:
            import_module("music21")
        finally:
            del sys.modules[_CLIENT]
    return import_module(f"music21.{name}")
