"""The wheel works away from the checkout."""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

import pypdf

ROOT = Path(__file__).resolve().parent.parent


def test_an_installed_wheel_prints_the_built_in_book(tmp_path: Path) -> None:
    """Built, installed in a fresh environment elsewhere and run from a third folder, the wheel prints its own book."""
    build = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-index", "--no-deps", "--no-build-isolation"]
    # some versions of pip want a folder for their cache, and the tests have none
    quiet = {**os.environ, "PIP_DISABLE_PIP_VERSION_CHECK": "1", "PIP_NO_CACHE_DIR": "1"}
    subprocess.run([*build, "--wheel-dir", str(tmp_path), str(ROOT)], check=True, env=quiet)
    (wheel,) = tmp_path.glob("passage_studies-*.whl")
    home = tmp_path / "fresh"
    venv.EnvBuilder(with_pip=False).create(home)
    site = Path(sysconfig.get_path("purelib", vars={"base": str(home), "platbase": str(home)}))
    install = [sys.executable, "-m", "pip", "--python", str(home / "bin/python"), "install", "--quiet", "--no-index"]
    subprocess.run([*install, "--no-deps", str(wheel)], check=True, env=quiet)
    # the libraries come from this environment: a test has no network; .pth files inside it are not followed from there,
    # so an editable install of the checkout stays out of reach
    (site / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    away = tmp_path / "away"
    away.mkdir()
    where = [str(home / "bin/python"), "-c", "import engrave; print(engrave.__file__)"]
    assert subprocess.run(where, cwd=away, capture_output=True, text=True, check=True).stdout.startswith(str(site))
    subprocess.run(
        [str(home / "bin/engrave"), "book", "--plan", str(ROOT / "examples/three-studies.toml"), "-o", "book.pdf"],
        cwd=away,
        check=True,
        capture_output=True,
    )
    assert len(pypdf.PdfReader(away / "book.pdf").pages) >= 8
