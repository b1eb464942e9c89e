"""One name for one thing: no two modules or classes share a name, and no function hides a module."""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from pathlib import Path

import pytest

ENGRAVE = Path(__file__).resolve().parent.parent / "engrave"
MODULES = sorted(path for path in ENGRAVE.rglob("*.py") if path.stem != "__init__")
SHARED = {
    "reader": "each format's folder has its own door",
    "mei": "one reads the format, one writes it for the engraver",
    "midi": "one reads the format, one writes it",
    "slurs": "the axis, and what a fingering must keep for them",
}
"""file names that stand in several rooms, and why they may"""


def test_a_file_name_stands_in_one_room() -> None:
    """Two modules share a name only where the list says why."""
    rooms: dict[str, list[str]] = defaultdict(list)
    for path in MODULES:
        rooms[path.stem].append(path.parent.name)
    assert {name for name, homes in rooms.items() if len(homes) > 1} - SHARED.keys() == set()


def test_a_class_is_defined_once() -> None:
    """No two classes share a name, private ones included."""
    homes: dict[str, list[str]] = defaultdict(list)
    for path in ENGRAVE.rglob("*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef):
                homes[node.name].append(str(path.relative_to(ENGRAVE)))
    assert {name: where for name, where in homes.items() if len(where) > 1} == {}


@pytest.mark.parametrize("path", sorted(ENGRAVE.rglob("__init__.py")), ids=lambda path: path.parent.name)
def test_no_name_of_a_room_hides_one_of_its_modules(path: Path) -> None:
    """`engrave.room.name` is the module of that name wherever there is one, never a function or a class."""
    modules = {found.stem for found in path.parent.iterdir()} - {"__init__"}
    room = ".".join(("engrave", *path.parent.relative_to(ENGRAVE).parts))
    named = set()
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.ImportFrom) and node.module != room:
            named |= {alias.asname or alias.name for alias in node.names}
        elif isinstance(node, ast.FunctionDef | ast.ClassDef):
            named.add(node.name)
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            named |= {target.id for target in ast.walk(node) if isinstance(target, ast.Name)}
    assert {(path.parent.name, name) for name in named & modules} == set()


LEANING = re.compile(r"\s*(the same(?! (figure|regimen))|that|as above|likewise)\b", re.IGNORECASE)


def test_docstrings_stand_alone() -> None:
    """No sentence on a module, a function or a field leans on what stands before it."""
    for path in sorted(ENGRAVE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
                said = str(node.value.value)
                assert not LEANING.match(said), f"{path.name}:{node.lineno}: {said[:60]}"
