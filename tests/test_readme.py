"""The README says what is so."""

from __future__ import annotations

import re
from pathlib import Path

from engrave.axes.catalogue import catalogue_markdown

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_catalogue_is_the_one_in_force() -> None:
    """The table of settings in the README is the one that the settings themselves give."""
    printed = README.split("<!-- catalogue -->\n")[1].split("\n<!-- end of the catalogue -->")[0]
    assert printed.strip() == catalogue_markdown().strip()


def test_the_library_example_runs() -> None:
    """The Python example does what it says."""
    examples = re.findall(r"^```python\n(.*?)^```", README, re.MULTILINE | re.DOTALL)
    assert examples
    for code in examples:
        exec(compile(code, "README.md", "exec"), {})  # noqa: S102 (our own text)


def test_it_begins_with_the_job_and_two_commands() -> None:
    """First the job in one paragraph, then one command that prints the built-in book and one that passes the tests."""
    assert README.startswith("# Passage studies\n\nA classical guitarist")
    blocks = re.findall(r"^```sh\n(.*?)^```", README, re.MULTILINE | re.DOTALL)
    assert all(block.count("\n") == 1 for block in blocks[:2])
    assert "engrave book" in blocks[0]
    assert blocks[1].rstrip().endswith("pytest")
