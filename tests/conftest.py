"""Shared set-up of the tests."""

from __future__ import annotations

import gc
import os
import sys

import pytest

# the command keeps nothing of one test for another: there is no folder to keep it in
os.environ["XDG_CACHE_HOME"] = os.devnull
# but its modules are compiled once, as those of an installed program are, not in every process that a test starts
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False
# nor has it defaults of whoever runs the tests
os.environ["XDG_CONFIG_HOME"] = os.environ["APPDATA"] = os.devnull


def pytest_addoption(parser: pytest.Parser) -> None:
    """Pictures kept for comparison are rewritten only when asked for."""
    parser.addoption("--rewrite-plates", action="store_true", help="write the golden plates anew; then look at them")


@pytest.fixture(scope="module", autouse=True)
def walked_once() -> None:
    """What earlier files left stays to the end: the collector, which each print asks, does not walk it again."""
    # the command switches the collector off for its process, which is this one
    gc.enable()
    gc.collect()
    gc.freeze()
