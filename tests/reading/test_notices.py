"""What readers leave out or change is said in sentences that can be said in every language."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from engrave.line import built_in
from engrave.model import Notice
from engrave.model.said import Said
from engrave.reading import read
from engrave.reading.musicxml.sign_names import left_out
from tests.languages.catalogue import messages
from tests.reading.features import FEATURES
from tests.reading.fuzz import OTHERS, other_seeds

_PACKAGE = Path(__file__).parents[2] / "engrave"
_ROOMS = ("reading", "fretting", "model")
_PLAIN = (ast.JoinedStr, ast.Constant, ast.BinOp)


def _plain_notices(tree: ast.AST) -> Iterator[int]:
    """Lines on which a notice is made of a text that is put together or written down there."""
    for call in ast.walk(tree):
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "Notice":
            yield from (call.lineno for word in call.keywords if word.arg == "text" and isinstance(word.value, _PLAIN))


def test_no_notice_is_put_together_as_plain_text() -> None:
    """The text of a notice comes from `say` and its kin, or has a name; it is no bare or formatted string."""
    files = [path for room in _ROOMS for path in sorted((_PACKAGE / room).rglob("*.py"))] + [_PACKAGE / "line.py"]
    found = {str(path): list(_plain_notices(ast.parse(path.read_text()))) for path in files}
    assert not {path: lines for path, lines in found.items() if lines}


def test_a_plain_notice_would_be_found() -> None:
    """What the law above looks for is told from what it allows."""
    said = "Notice(text=say('a'))\nNotice(text=NAME)\nNotice(text='a')\nNotice(text=f'{a}')\nNotice(text='a' + b)"
    assert list(_plain_notices(ast.parse(said))) == [3, 4, 5]


def _words(text: Said) -> Iterator[str]:
    """The messages a text was said with, with those in its places."""
    yield text.message
    yield from (message for value in text.places.values() if isinstance(value, Said) for message in _words(value))


@pytest.fixture(scope="module")
def known() -> frozenset[str]:
    """Every message that a catalogue can hold."""
    ids = (message.id for message in messages())
    return frozenset(one for found in ids for one in ((found,) if isinstance(found, str) else found))


def _notices() -> Iterator[Notice]:
    """What readers say of the sound files the tests have."""
    for data in FEATURES.values():
        yield from read(data, "x.xml").notices
    for kind in OTHERS:
        yield from read(other_seeds(kind)[0], "x").notices
    yield from read(*built_in()).notices


def test_every_notice_of_the_readers_stands_in_the_catalogues(known: frozenset[str]) -> None:
    """Each is a sentence of ours, and so is every text in it that has words of its own."""
    found = {notice.text: notice for notice in _notices()}
    assert len(found) > 20
    for text in found:
        assert isinstance(text, Said), text
        bare = [message for message in _words(text) if message not in known and not message.startswith("{part0}")]
        assert not bare, text


def test_signs_of_the_standard_have_names_and_others_their_own(known: frozenset[str]) -> None:
    """A sign that is left out is called by its name in the language of the pages; an unknown one as the file has it."""
    assert left_out("inverted-turn") == "left out: inverted turn"
    assert left_out("inverted-turn").places["what"].message in known
    assert left_out("a-thing") == "left out: a thing"
