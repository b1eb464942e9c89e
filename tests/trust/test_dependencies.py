"""What the program stands on: pinned, declared, used, and under licences that go with its own.

There is no list of known weaknesses to consult without a network; what can be checked here is that the versions written
down lie in the ranges declared, and that nothing comes along unnoticed. That those are the versions installed is asked
by `.ci/run` alone: `python -m tests.trust.test_dependencies --check`; without the word it writes them anew.
"""

from __future__ import annotations

import re
import sys
import tomllib
from importlib import metadata
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
BUILT = [Requirement(text) for text in PROJECT["build-system"]["requires"]]
DECLARED = [Requirement(text) for text in PROJECT["project"]["dependencies"]]
TESTING = [Requirement(text) for text in PROJECT["project"]["optional-dependencies"]["test"]]
ALLOWED = {
    *("MIT", "MIT-0", "MIT-CMU", "BSD", "0BSD", "Apache", "PSF", "Zlib", "CC0", "OFL"),
    # weak copyleft: libraries used as they are, side by side, as these licences allow beside any other
    *("MPL", "LGPL"),
}
"""families of licences that an MIT program may stand on"""


def closure(wanted: list[Requirement]) -> dict[str, metadata.Distribution]:
    """Name → installed distribution of everything `wanted` brings along on this machine."""
    found: dict[str, metadata.Distribution] = {}
    waiting = list(wanted)
    while waiting:
        one = waiting.pop()
        name = canonicalize_name(one.name)
        extras = [*one.extras, ""]
        if name not in found:
            found[name] = metadata.distribution(name)
        elif not one.extras:
            continue
        for text in found[name].requires or []:
            more = Requirement(text)
            if more.marker is None or any(more.marker.evaluate({"extra": extra}) for extra in extras):
                waiting.append(more)
    return found


def installed() -> dict[str, str]:
    """Name → version of all that the program and its tests stand on."""
    return {name: found.version for name, found in closure(DECLARED + TESTING + BUILT).items()}


def pinned() -> dict[str, str]:
    """Name → version in the constraints the tests are installed with."""
    lines = (ROOT / ".ci/constraints.txt").read_text(encoding="utf-8").splitlines()
    rows = [(line.split("==")[0], line.split("==")[1]) for line in lines if line and not line.startswith("#")]
    assert rows == sorted(rows)
    return dict(rows)


@pytest.mark.parametrize("wanted", DECLARED + TESTING + BUILT, ids=str)
def test_pins_lie_in_the_declared_ranges(wanted: Requirement) -> None:
    """Each range is bounded on both sides, or a single version, and holds the version that is tested."""
    assert wanted.specifier.contains(pinned()[canonicalize_name(wanted.name)])
    signs = {spec.operator for spec in wanted.specifier}
    assert signs in ({"=="}, {">=", "<"})


def test_constraints_come_from_the_index_by_name_and_version_alone() -> None:
    """No address, no path, no option."""
    for name, version in pinned().items():
        assert re.fullmatch(r"[a-z0-9-]+", name)
        assert re.fullmatch(r"[0-9a-z.]+", version)


def test_the_tests_are_installed_with_the_constraints() -> None:
    """The README's command for the tests names the file."""
    command = (ROOT / "README.md").read_text(encoding="utf-8").split("```sh\n")[2].split("\n")[0]
    assert "pip install -c .ci/constraints.txt -e '.[test]'" in command


def test_nothing_for_tests_comes_along_at_run_time() -> None:
    """What only tests need is in their extra, not in what a player installs."""
    assert {"pytest", "hypothesis", "mypy", "ruff", "musicxml", "smufolib"} & set(closure(DECLARED)) == set()


def licence_rows() -> dict[str, str]:
    """Package → licence in the table for developers."""
    table = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Licences")[1].split("\n## ")[0]
    return dict(re.findall(r"^\| `([a-z0-9-]+)` \| ([^|]+) \|", table, re.MULTILINE))


def test_the_licences_listed_are_those_of_what_is_installed() -> None:
    """Every package of the run-time closure is listed with a licence that its own metadata names and that we allow."""
    rows = licence_rows()
    found = closure(DECLARED)
    assert set(rows) == set(found)
    for name, licence in rows.items():
        about = found[name].metadata
        said = [text for key in ("License-Expression", "License", "Classifier") for text in about.get_all(key, [])]
        told = " ".join(text[:2_000] for text in said)
        told = told.replace("Mozilla Public License 2.0", "MPL").replace("Python Software Foundation", "PSF")
        for one in licence.split(", "):
            assert one in ALLOWED, f"{name}: {one}"
            assert one.split("-")[0].upper() in told.upper(), f"{name}: {one}"


def main(words: list[str]) -> str:
    """Write the versions installed here to the constraints, or with `--check` name those that are not written there."""
    here = installed()
    if words == ["--check"]:
        return "".join(f"{name}=={version} is not what .ci/constraints.txt says\n"
                       for name, version in sorted(here.items()) if pinned().get(name) != version)  # fmt: skip
    rows = "".join(f"{name}=={version}\n" for name, version in sorted(here.items()))
    (ROOT / ".ci/constraints.txt").write_text(f"# versions the tests are run with\n{rows}", encoding="utf-8")
    return ""


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]) or None)
