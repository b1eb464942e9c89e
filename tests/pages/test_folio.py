"""Page numbers that the binder writes: the line is found, and every number ends where the line ended."""

from __future__ import annotations

import re

import pytest

from engrave.pages.folio import ALL, cut
from engrave.pages.fonts import _opened, glyph_width


def content(text: str, size: str = "12") -> bytes:
    """Operators for a line of text, as WeasyPrint writes them, between other ones."""
    font, names, _ = _opened("regular")
    shown = ">0<".join(f"{font.getGlyphID(names[ord(character)]):04x}" for character in text)
    line = f"1 0 0 -1 100 700.5 Tm\n/ABC {size} Tf\n[<{shown}>0] TJ\nET\nQ"
    return f"q\nBT\n1 0 0 -1 9 9 Tm\n/ABC 9 Tf\n[<00010002>] TJ\nET\nBT\n{line}".encode()


@pytest.mark.parametrize("text", ["1", "7 of 9", "10 of 85", "123 of 456"])
def test_a_number_ends_where_its_line_ended(text: str) -> None:
    """Whatever the number, its right edge is that of the line it stands for, by the advances of the font file."""
    found = cut(content(ALL))
    assert found is not None
    before, folio, after = found
    assert before + after == content(ALL).replace(content(ALL)[len(before) : -len(after)], b"")
    match = re.fullmatch(rb"1 0 0 -1 (\S+) 700\.5 Tm\n/ABC 12 Tf\n<(\w+)> Tj\n", folio.show(text))
    assert match is not None
    shown = [int(match[2][at : at + 4], 16) for at in range(0, len(match[2]), 4)]
    font, names, _ = _opened("regular")
    assert shown == [font.getGlyphID(names[ord(character)]) for character in text]
    _, _, widths = _opened("regular")
    end = 100 + sum(widths[names[ord(character)]][0] for character in ALL) * 12 / 1000
    assert float(match[1]) + sum(map(glyph_width, shown)) * 12 == pytest.approx(end, abs=0.001)


def test_kerning_in_the_line_counts() -> None:
    """What is moved between two glyphs moves the end of the line, thousandths of the size to the left."""
    plain, kerned = cut(content(ALL)), cut(content(ALL).replace(b">0<", b">50<", 1))
    assert plain
    assert kerned
    assert plain[1].right - kerned[1].right == pytest.approx(0.05 * 12, abs=0.002)


def test_a_page_without_the_line_has_none() -> None:
    """Other lines are no folio, not even one of as many letters."""
    assert cut(content("page")) is None
    assert cut(content("o" * len(ALL))) is None
