"""Libraries of the machine that are not there: a book without the cutter of fonts, one line without Pango."""

from __future__ import annotations

import os
import subprocess
import sys
from io import BytesIO
from pathlib import Path

import pypdf
import pytest

from tests.test_cli import run

ROOT = Path(__file__).resolve().parents[2]
LINE = "metre: 2/4\n\ne|-0-1-3-0-|\nB|---------|\nG|---------|\nD|---------|\nA|---------|\nE|---------|\n"
WORDS = ("handout", "line.tab", "--study", "pluck=i-m", "-o", "-")
WITHOUT = """
import sys
import cffi
found = cffi.FFI.dlopen
def dlopen(self, name, flags=0):
    if isinstance(name, str) and sys.argv[1] in name:
        raise OSError(f"cannot load library '{name}'")
    return found(self, name, flags)
cffi.FFI.dlopen = dlopen
from engrave.cli import main
main(sys.argv[2:])
"""


def printed(lacking: str, folder: Path) -> subprocess.CompletedProcess[bytes]:
    """A handout printed to standard output, on a machine where no library has `lacking` in its name."""
    (folder / "line.tab").write_text(LINE, encoding="utf-8")
    command, env = [sys.executable, "-c", WITHOUT, lacking, *WORDS], {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run(command, cwd=folder, env=env, capture_output=True, check=False)


def test_fonts_are_cut_without_the_cutter_of_the_machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without libharfbuzz-subset pages are as light and say the same, and nobody is troubled with it."""
    monkeypatch.chdir(tmp_path)
    without, usual = printed("harfbuzz-subset", tmp_path), run(*WORDS)
    assert (usual.exit_code, without.returncode) == (0, 0), without.stderr
    assert without.stderr == usual.stderr_bytes
    ours, theirs = (pypdf.PdfReader(BytesIO(data)) for data in (without.stdout, usual.stdout_bytes))
    assert [page.extract_text() for page in ours.pages] == [page.extract_text() for page in theirs.pages]
    assert len(without.stdout) < 1.1 * len(usual.stdout_bytes)


def test_without_pango_one_line_says_what_to_install(tmp_path: Path) -> None:
    """No page and no traceback: one line with what lacks and how it is installed."""
    done = printed("pango-1", tmp_path)
    assert done.returncode == 2
    assert done.stdout == b""
    (line,) = done.stderr.decode().splitlines()
    assert "Pango, cannot be loaded" in line
    assert "apt install libpango-1.0-0" in line
