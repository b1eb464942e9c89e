"""Every bound of what is read is reached by a file that is read, and passed by one more, which is refused.

What a file holds of each is counted here by itself, from how the file is made; the bounds in force are far larger.
"""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import fields, replace
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from engrave.model import EngraveError
from engrave.reading import read
from engrave.reading.limits import LIMITS, Limits, hold_to_studies
from tests.reading.xml import attributes, container, note, notes, packed, score

_PLAIN = score(notes("E4/4 F4/4 G4/4 A4/4"), notes("E4/1"))
_WORD = "<direction><direction-type><words>x</words></direction-type></direction>"
_PACKED = packed({"META-INF/container.xml": container("s.xml"), "s.xml": _PLAIN})
_TAB = b"metre: 4/4\n\n" + b"".join(name + b"|-0-1-3-0-|\n" for name in (b"e", b"B", b"G", b"D", b"A", b"E"))
_BACK = "<backup><duration>96</duration></backup>"
_VOICES = score(_BACK.join(notes("E4/1", voice=str(voice)) for voice in (1, 2, 3)))
_FIVES = score("".join(note("E4/4", tuplet=(5, 4), divisions=120) for _ in range(5)), first=attributes(divisions="120"))


def _deepest(element: ET.Element) -> int:
    return 1 + max((_deepest(child) for child in element), default=0)


_TREE = ET.fromstring(_PLAIN)  # noqa: S314  (our own file)
_ALL = list(_TREE.iter())
_CASES: dict[str, tuple[bytes, str, int]] = {
    "file_bytes": (_PLAIN, "x.xml", len(_PLAIN)),
    "archive_bytes": (_PACKED, "x.mxl", len(_PACKED)),
    "unpacked_bytes": (_PACKED, "x.mxl", len(_PLAIN)),
    "archive_files": (_PACKED, "x.mxl", len(zipfile.ZipFile(io.BytesIO(_PACKED)).namelist())),
    "text_bytes": (_TAB, "x.tab", len(_TAB)),
    "depth": (_PLAIN, "x.xml", _deepest(_TREE)),
    "elements": (_PLAIN, "x.xml", len(_ALL)),
    "names": (_PLAIN, "x.xml", len({element.tag for element in _ALL})),
    "attributes": (_PLAIN, "x.xml", max(len(element.attrib) for element in _ALL)),
    "text": (_PLAIN, "x.xml", max(len(element.text or "") for element in _ALL)),
    "note_elements": (_PLAIN, "x.xml", max(len(list(found.iter())) for found in _TREE.iter("note"))),
    "parts": (score(notes("E4/1"), others='<part id="P2"><measure/></part>' * 3), "x.xml", 4),
    "bars": (_PLAIN, "x.xml", 2),
    "notes": (_PLAIN, "x.xml", 5),
    "bar_notes": (_PLAIN, "x.xml", 4),
    "study_bars": (_PLAIN, "x.xml", 2),
    "study_notes": (_PLAIN, "x.xml", 5),
    "directions": (score(_WORD * 3 + notes("E4/1")), "x.xml", 3),
    "voices": (_VOICES, "x.xml", 3),
    "bar_quarters": (_PLAIN, "x.xml", 4),
    "divisions": (_FIVES, "x.xml", 120),
    "tuplet": (_FIVES, "x.xml", 5),
}
"""limit → a file, its name, and how much of it the file holds"""
_OTHERWISE = {
    "token_bytes": "holds to what the parser has not yet taken, within a piece of the file (test_trust.py)",
    "tuplet_depth": "brackets beyond it are left out with a notice",
    "faults": "what is beyond it is not told",
    "words": "what is beyond it is cut (tests/trust/test_texts.py)",
    "inside_bytes": "of a printed book (tests/trust/test_books.py)",
    "inside_files": "of a printed book (tests/trust/test_books.py)",
}
"""limits that refuse no passage, or are tried elsewhere"""


def test_no_limit_is_left_out() -> None:
    """Each is reached here, or named with the reason why not."""
    assert {field.name for field in fields(Limits)} == {*_CASES, *_OTHERWISE}


@pytest.mark.parametrize("limit", _CASES)
def test_a_limit_is_reached_and_passed_by_one(limit: str) -> None:
    """A file that holds just so much is read; under a limit of one less every line of the refusal says it."""
    data, name, count = _CASES[limit]

    def tried(most: int) -> None:
        changed: dict[str, Any] = {limit: most}
        limits = replace(LIMITS, **changed)
        hold_to_studies(read(data, name, limits=limits), limits)

    tried(count)
    with pytest.raises(EngraveError) as caught:
        tried(count - 1)
    for said in str(caught.value).splitlines():
        assert re.search(rf"\b{count - 1:,}\b", said), said
