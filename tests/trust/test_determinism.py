"""The same input, plan and date give the same bytes in every form, whatever surrounds the run."""

from __future__ import annotations

import hashlib
import locale
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.test_cli import ROOT

_RUNS = """
import sys
from pathlib import Path
from click.testing import CliRunner
from engrave.cli import main
line, plan, log = sys.argv[1:4]
for words in (
    ["book", line, "--plan", plan, "-o", "book.pdf"],
    ["week", line, "--plan", plan, "--log", log, "--start", "2027-03-01", "-o", "week.pdf"],
    ["reissue", "book.pdf", line, "--as", "handout", "-o", "reissue.pdf"],
    ["export", line, "--plan", plan, "-o", "musicxml"],
    ["export", line, "--plan", plan, "--format", "mxl", "--zip", "-o", "mxl.zip"],
    ["export", line, "--plan", plan, "--format", "midi", "--click", "-o", "midi"],
    # MusicXML is read on another way than tablature
    ["survey", "exported", "--json"],
    ["studies", "--json"],
    ["plan"],
):
    exported = [str(path) for path in sorted(Path("musicxml").glob("*.musicxml"))]
    words = [exported[0] if word == "exported" else word for word in words]
    done = CliRunner().invoke(main, words, catch_exceptions=False)
    assert done.exit_code == 0, (words, done.stderr)
    if "-o" not in words:
        open(f"{words[0]}.txt", "wb").write(done.stdout_bytes)
"""
_TAB = "title: Één läng\nmetre: 2/4\n\ne|-0-1-3-0-|\n" + "".join(f"{string}|---------|\n" for string in "BGDAE")
_LOG = "study,day,tempo,clean\nm a in turn,2027-02-20,60,4\n"
_PLAN = '[[study]]\npluck = "m-a"\ntimes = 2\ntempo = [60, 72]\n\n[[study]]\naccent = "every 3"\n'


def locales() -> list[str]:
    """The barest, and one with comma decimals where this machine has any."""
    found = ["C"]
    before = locale.setlocale(locale.LC_ALL)
    for name in ("de_DE.UTF-8", "fr_FR.UTF-8", "tr_TR.UTF-8"):
        try:
            locale.setlocale(locale.LC_ALL, name)
        except locale.Error:
            continue
        found.append(name)
        break
    locale.setlocale(locale.LC_ALL, before)
    return found


def bytes_of(folder: Path) -> dict[str, str]:
    """File → digest of what a run wrote."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def made(folder: Path, root: Path, **env: str) -> dict[str, str]:
    """Everything the program writes, made in `folder` by the code in `root`."""
    inputs = folder.parent / f"{folder.name} input"
    inputs.mkdir(parents=True)
    folder.mkdir()
    names = []
    for name, text in (("line.tab", _TAB), ("plan.toml", _PLAN), ("log.csv", _LOG)):
        (inputs / name).write_text(text, encoding="utf-8")
        names.append(str(inputs / name))
    around = {key: value for key, value in os.environ.items() if not key.startswith(("LC_", "LANG", "PYTHON"))}
    done = subprocess.run(
        [sys.executable, "-c", _RUNS, *names],
        cwd=folder,
        env={**around, "PYTHONPATH": str(root), "SOURCE_DATE_EPOCH": "1700000000", **env},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return bytes_of(folder)


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """What a plain run writes."""
    return made(tmp_path_factory.mktemp("first") / "run", ROOT, PYTHONHASHSEED="0", TZ="UTC", LC_ALL="C.UTF-8")


def test_every_form_is_written(first: dict[str, str]) -> None:
    """Three PDFs, MusicXML plain and packed, MIDI, and the texts for machines."""
    kinds = {Path(name).suffix for name in first}
    assert kinds == {".pdf", ".musicxml", ".zip", ".mid", ".txt"}
    assert len(first) >= 12


def test_surroundings_do_not_change_a_byte(first: dict[str, str], tmp_path: Path) -> None:
    """Another process with a copy of the program elsewhere, another hash seed, zone, locale, folder and home."""
    away = tmp_path / "ein eigener Ort"
    for name in ("engrave", "templates", "shared"):
        shutil.copytree(ROOT / name, away / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", away)
    (tmp_path / "home").mkdir()
    around = {"PYTHONHASHSEED": "4711", "TZ": "Asia/Kathmandu", "HOME": str(tmp_path / "home")}
    for name in locales():
        got = made(tmp_path / f"überall {name}", away, LC_ALL=name, **around)
        assert got == first, name
