"""Loading WeasyPrint without starting other programs, and without what it does not need for us.

Its way of finding Pango and its kin asks ctypes, which on Linux starts compilers and linkers wherever they are
installed, by whatever `ld` the path leads to. The plain names that it tries next are all that the loader needs.

Its fonts are cut down by HarfBuzz; for machines without it, it loads a part of fontTools as large as the rest
of what is loaded for fonts. That is put off until it is asked for: a fifth of the time that WeasyPrint takes to load.
"""

from __future__ import annotations

import ctypes.util
import importlib
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from types import ModuleType
from typing import Any

_SELDOM = ("fontTools.subset", "fontTools.varLib.instancer")


@cache
def weasyprint() -> Any:
    """The library."""
    search = ctypes.util.find_library
    if sys.platform.startswith("linux"):
        ctypes.util.find_library = lambda name: None  # noqa: ARG005
    try:
        with _later():
            return importlib.import_module("weasyprint")
    except OSError:
        # a system that keeps its libraries elsewhere may search for them after all
        ctypes.util.find_library = search
        return importlib.import_module("weasyprint")
    finally:
        ctypes.util.find_library = search


@contextmanager
def _later() -> Iterator[None]:
    """While the block runs, modules that are seldom needed are found, and not loaded before one of theirs is called."""
    stand_ins = {name: _Later(name) for name in _SELDOM if name not in sys.modules}
    sys.modules |= stand_ins
    try:
        yield
    finally:
        for name, module in stand_ins.items():
            if sys.modules.get(name) is module:
                del sys.modules[name]


class _Later(ModuleType):
    """Stands in for a module whose functions and classes are called, and nothing else."""

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__"):
            raise AttributeError(name)

        def call(*values: Any, **named: Any) -> Any:
            return getattr(importlib.import_module(self.__name__), name)(*values, **named)

        return call
