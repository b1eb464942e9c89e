"""Shared set-up of the tests."""

from __future__ import annotations

import gc
import os
import sys
from pathlib import Path

import pytest

# the command keeps nothing of one test for another: there is no folder to keep it in
os.environ["XDG_CACHE_HOME"] = os.devnull
# but its modules are compiled once, as those of an installed program are, not in every process that a test starts
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False
# nor has it defaults of whoever runs the tests
os.environ["XDG_CONFIG_HOME"] = os.environ["APPDATA"] = os.devnull

LONG = (
    *("regimen/test_weeks.py", "trust/test_output.py", "trust/test_accounts.py", "test_line.py", "test_cli.py"),
    *("test_batch.py", "test_delivery.py", "trust/test_texts.py", "pages/test_press.py", "axes/test_laws.py"),
    *("test_readme.py", "trust/test_determinism.py", "regimen/test_said.py", "exchange/test_musicxml.py"),
    *("languages/test_catalogues.py", "fretting/test_search.py", "reading/test_corpus.py", "test_package.py"),
)
"""the files that take longest: they begin first, so that at the end no worker waits for one of them"""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The long files first; within a file as it stands there."""
    order = {Path(__file__).parent / name: at for at, name in enumerate(LONG)}
    items.sort(key=lambda item: order.get(item.path, len(order)))


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
