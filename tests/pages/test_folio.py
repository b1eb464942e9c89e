"""Numbers that the binder writes: the line is found, and every number stands where the line stood."""

from __future__ import annotations

import re

import pytest

from engrave.pages.folio import PAGE, PLACE, cut, place
from engrave.pages.fonts import _opened, glyph_width

SPACE = place(1)[-1]
"""the space behind the number of a variation"""


def named(names: dict[int, str], character: str) -> str:
    """The name of a character's glyph: a space that the font has not is its own space, wider."""
    return names[ord(" " if character == SPACE else character)]


def content(text: str, size: str = "12") -> bytes:
    """Operators for a line of text, as WeasyPrint writes them, between other ones."""
    font, names, _ = _opened("regular")
    shown = ">0<".join(f"{font.getGlyphID(named(names, character)):04x}" for character in text)
    line = f"1 0 0 -1 100 700.5 Tm\n/ABC {size} Tf\n[<{shown}>0] TJ\nET\nQ"
    return f"q\nBT\n1 0 0 -1 9 9 Tm\n/ABC 9 Tf\n[<00010002>] TJ\nET\nBT\n{line}".encode()


LINES = [
    (PAGE, "1"),
    (PAGE, "7 of 9"),
    (PAGE, "123 of 456"),
    (PAGE, "xviii"),
    (PLACE, place(4)),
    (PLACE, place(128)),
]


@pytest.mark.parametrize(("said", "text"), LINES)
def test_a_number_stands_where_its_line_stood(said: str, text: str) -> None:
    """A page's number ends, a variation's begins where the line did that it stands for, by the font's advances."""
    whole = content(said)
    (before, after), (folio,) = cut(whole)
    assert whole.startswith(before)
    assert whole.endswith(after)
    assert folio.said == said
    match = re.fullmatch(rb"1 0 0 -1 (\S+) 700\.5 Tm\n/ABC 12 Tf\n<(\w+)> Tj\n", folio.show(text))
    assert match is not None
    shown = [int(match[2][at : at + 4], 16) for at in range(0, len(match[2]), 4)]
    font, names, widths = _opened("regular")
    assert shown == [font.getGlyphID(named(names, character)) for character in text]
    start, end = float(match[1]), float(match[1]) + sum(map(glyph_width, shown)) * 12
    if said == PLACE:
        assert start == 100
    else:
        line = sum(widths[names[ord(character)]][0] for character in PAGE) * 12 / 1000
        assert end == pytest.approx(100 + line, abs=0.001)


def test_kerning_in_the_line_counts() -> None:
    """What is moved between two glyphs moves the end of the line, thousandths of the size to the left."""
    (_, (plain,)), (_, (kerned,)) = cut(content(PAGE)), cut(content(PAGE).replace(b">0<", b">50<", 1))
    assert plain.right - kerned.right == pytest.approx(0.05 * 12, abs=0.002)


def test_all_lines_of_a_page_are_found() -> None:
    """A page may have both, and what stands before, between and behind them is kept."""
    first, second = content(PLACE), content(PAGE)
    parts, folios = cut(first + second)
    assert [folio.said for folio in folios] == [PLACE, PAGE]
    ((begin, end), _), ((start, rest), _) = cut(first), cut(second)
    assert parts == [begin, end + start, rest]


@pytest.mark.parametrize("text", ["page", "o" * len(PAGE), "out by flame", "0123456789 9876543210", PLACE[:10]])
def test_a_page_without_the_line_has_none(text: str) -> None:
    """Other lines are no folio, not even one of as many letters, or of eleven that are all different."""
    assert cut(content(text)) == ([content(text)], [])
