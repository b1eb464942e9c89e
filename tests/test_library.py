"""The library: five functions from bytes to bytes, documented, typed and told by `help`."""

from __future__ import annotations

import doctest
import inspect
import io
import pydoc
import re
from datetime import date
from importlib.metadata import metadata, version
from pathlib import Path

import pypdf
import pytest

import engrave
from engrave import library

FIVE = ("book", "week", "handout", "reissue", "export")
PLAN = '[[study]]\npluck = "i-m"\n[[study]]\npluck = "a-m-i"\n'
ROOT = Path(engrave.__file__).parent


def text(pdf: bytes) -> str:
    """All the words of a PDF."""
    return " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def test_help_shows_five_documented_functions() -> None:
    """`help` and `dir` name them; each says what goes in, what comes out and what is raised."""
    shown = re.sub(".\b", "", pydoc.render_doc(engrave))
    for name in FIVE:
        function = getattr(engrave, name)
        assert function is getattr(library, name)
        assert name in dir(engrave)
        assert f"    {name}(" in shown
        doc = inspect.getdoc(function)
        assert doc is not None
        assert {"Args:", "Returns:", "Raises:"} <= {line.strip() for line in doc.splitlines()}
        for parameter in inspect.signature(function).parameters:
            assert f"    {parameter}: " in doc, (name, parameter)


def test_the_example_runs() -> None:
    """The example in the documentation of `book` does what it says."""
    found = doctest.testmod(library, optionflags=doctest.ELLIPSIS)
    assert found.attempted >= 4
    assert found.failed == 0


def test_the_five_make_what_they_say() -> None:
    """A book, a handout of a few pages, a week with its first day, a reissue, and the files of an export."""
    name = "line.tab"
    data = b"e|-0-1-3-1-|\nB|---------|\nG|---------|\nD|---------|\nA|---------|\nE|---------|\n"
    book = engrave.book(data, PLAN, name=name)
    assert "a m i in turn" in text(book)
    assert book == engrave.book(data, engrave.read_plan(PLAN, "plan"), name=name)
    handout = engrave.handout(data, PLAN, name=name, pages=3)
    assert len(pypdf.PdfReader(io.BytesIO(handout)).pages) <= 3
    assert "1 March 2027" in text(engrave.week(data, PLAN, name=name, start=date(2027, 3, 1)))
    other = b"e|-0-1-3-0-|\nB|---------|\nG|---------|\nD|---------|\nA|---------|\nE|---------|\n"
    assert "a m i in turn" in text(engrave.reissue(book, other, name="other.tab"))
    files = engrave.export(book, name="book.pdf", form="midi")
    assert len(files) >= 3
    assert all(content.startswith(b"MThd") for content in files.values())


def test_what_is_wrong_is_told() -> None:
    """Wrong input raises EngraveError with its faults, whatever the function."""
    for make in (engrave.book, engrave.week, engrave.handout, engrave.export):
        with pytest.raises(engrave.EngraveError) as caught:
            make(b"<nothing", name="x.musicxml")
        assert caught.value.faults
    with pytest.raises(engrave.EngraveError):
        engrave.reissue(b"%PDF-", b"")


def test_the_package_says_what_it_is() -> None:
    """Version, types, licence in full and its places are there for installers and type checkers."""
    assert engrave.__version__ == version("passage-studies")
    assert (ROOT / "py.typed").exists()
    assert "THE SOFTWARE IS PROVIDED" in (ROOT / "LICENSE").read_text(encoding="utf-8")
    said = metadata("passage-studies")
    assert said["License-Expression"] == "MIT"
    assert "engrave/LICENSE" in (said.get_all("License-File") or [])
    classifiers = said.get_all("Classifier") or []
    assert {f"Programming Language :: Python :: 3.{minor}" for minor in (11, 12, 13, 14)} <= set(classifiers)
