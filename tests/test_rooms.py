"""The walls of the house: who may import what, and what starting up may load."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
ROOM_OF = {
    "music21": "reading",
    "verovio": "plates",
    "weasyprint": "pages",
    "pydyf": "pages",
    "jinja2": "pages",
    "click": "cli",
    "highspy": "regimen",
    "mido": "exchange",
    "uharfbuzz": "typefaces",
    "babel": "languages",
}
HEAVY = ("numpy", "fontTools", *(name for name in ROOM_OF if name != "click"))


def modules() -> list[Path]:
    """Every module of the package."""
    found = sorted((ROOT / "engrave").rglob("*.py"))
    assert len(found) > 20
    return found


@cache
def tree(path: Path) -> ast.Module:
    """A module, parsed."""
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def imports(path: Path) -> tuple[tuple[str, bool], ...]:
    """Modules that `path` imports while it runs, and whether at its top level; not what only type checkers see."""
    return tuple(_imports(path))


def _imports(path: Path) -> Iterator[tuple[str, bool]]:
    unseen = {
        id(inner)
        for node in ast.walk(tree(path))
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"
        for inner in ast.walk(node)
    }
    top = {id(node) for node in tree(path).body}
    for node in ast.walk(tree(path)):
        if id(node) in unseen:
            continue
        if isinstance(node, ast.Import):
            yield from ((alias.name, id(node) in top) for alias in node.names)
        elif isinstance(node, ast.Call) and "import_module" in ast.unparse(node.func):
            yield from ((str(arg.value), False) for arg in node.args if isinstance(arg, ast.Constant))
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path}: relative import"
            yield node.module, id(node) in top
            if node.module == "engrave":
                yield from ((f"engrave.{alias.name}", id(node) in top) for alias in node.names)


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_each_library_stays_in_its_room(path: Path) -> None:
    """A library is imported in one room only, so that it can be replaced there."""
    room = path.relative_to(ROOT / "engrave").parts[0]
    for name, _ in imports(path):
        home = ROOM_OF.get(name.split(".")[0])
        assert home in (None, room), f"{name} belongs to {home}"


@pytest.mark.parametrize("path", sorted((ROOT / "engrave/model").glob("*.py")), ids=lambda path: path.name)
def test_the_model_imports_no_stage(path: Path) -> None:
    """The model is values only: of ours it imports nothing but itself."""
    ours = [name for name, _ in imports(path) if name.split(".")[0] == "engrave"]
    assert all(name.startswith("engrave.model") for name in ours), ours


def test_only_the_command_line_prints_or_opens_files() -> None:
    """No stage prints, and none opens a file but those that travel with the program."""
    allowed = {"files.py", "writing.py", "resources.py"}
    for path in modules():
        if path.name in allowed:
            continue
        for node in ast.walk(tree(path)):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                assert node.func.id not in ("open", "print", "input"), f"{path.name}:{node.lineno}"


def test_every_library_is_declared() -> None:
    """What the package imports is in the project's dependencies, so that a fresh environment has it."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    declared = {re.split(r"[^a-z0-9-]", name.lower())[0].replace("-", "_") for name in project["dependencies"]}
    used = {name.split(".")[0].lower() for path in modules() for name, _ in imports(path)}
    foreign = used - {name.lower() for name in sys.stdlib_module_names} - {"engrave"}
    assert foreign - declared == set()
    assert declared - foreign == set()


def test_the_top_level_is_as_agreed() -> None:
    """Nothing stands at the top of the project but what belongs there."""
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    tops = {line.split("/")[0] for line in listed.stdout.splitlines()} or {p.name for p in ROOT.iterdir()}
    agreed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "engrave", "templates", "tests", "examples", "shared"}
    assert {name for name in tops if not name.startswith(".")} <= agreed


def loaded_by(code: str) -> set[str]:
    """The libraries that a fresh Python has loaded after `code`."""
    whole = f"import json, sys\n{code}\nprint(json.dumps(sorted(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", whole], capture_output=True, text=True, check=True, cwd=ROOT)
    return {name.split(".")[0] for name in json.loads(done.stdout.splitlines()[-1])}


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["book", "--help"]], ids=" ".join)
def test_asking_for_help_loads_nothing_heavy(words: list[str]) -> None:
    """`engrave --help` imports none of the large libraries (by the list of modules, not by the clock)."""
    code = f"""
from engrave.cli import main
try:
    main({words!r})
except SystemExit as stop:
    assert stop.code == 0
"""
    assert not loaded_by(code) & set(HEAVY)


def test_the_line_alone_loads_nothing_heavy() -> None:
    """The steps are imported without their libraries: a book with all its parts on the shelf needs few of them."""
    assert not loaded_by("import engrave.line") & set(HEAVY)
