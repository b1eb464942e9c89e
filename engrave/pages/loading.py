"""Loading WeasyPrint without starting other programs.

Its way of finding Pango and its kin asks ctypes, which on Linux starts compilers and linkers wherever they are
installed, by whatever `ld` the path leads to. The plain names that it tries next are all that the loader needs.
"""

from __future__ import annotations

import ctypes.util
import importlib
import sys
from functools import cache
from typing import Any


@cache
def weasyprint() -> Any:
    """The library."""
    search = ctypes.util.find_library
    if sys.platform.startswith("linux"):
        ctypes.util.find_library = lambda name: None  # noqa: ARG005
    try:
        return importlib.import_module("weasyprint")
    except OSError:
        # a system that keeps its libraries elsewhere may search for them after all
        ctypes.util.find_library = search
        return importlib.import_module("weasyprint")
    finally:
        ctypes.util.find_library = search
