"""The little font of signs, checked with fontTools against what Unicode and OpenType ask."""

from __future__ import annotations

import hashlib
import unicodedata
from io import BytesIO

from fontTools.pens.boundsPen import BoundsPen  # type: ignore[import-untyped]
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]
from uharfbuzz import Face, SubsetFlags, SubsetInput, SubsetInputSets, subset

from engrave.pages.sign_font import SIGNS, missing, sign_font
from engrave.typefaces import clean

NAMES = {
    "♯": "MUSIC SHARP SIGN",
    "♭": "MUSIC FLAT SIGN",
    "♮": "MUSIC NATURAL SIGN",
    "\U0001d12a": "MUSICAL SYMBOL DOUBLE SHARP",
    "\U0001d12b": "MUSICAL SYMBOL DOUBLE FLAT",
    "\U0001d15d": "MUSICAL SYMBOL WHOLE NOTE",
    "\U0001d15e": "MUSICAL SYMBOL HALF NOTE",
    "♩": "QUARTER NOTE",
    "♪": "EIGHTH NOTE",
    "\U0001d161": "MUSICAL SYMBOL SIXTEENTH NOTE",
    "☐": "BALLOT BOX",
    "⓪": "CIRCLED DIGIT ZERO",
    "⑩": "CIRCLED NUMBER TEN",
}
"""Unicode Character Database names"""


def test_every_sign_is_the_character_it_is_called_by() -> None:
    """The font's characters are those of the Unicode character database, each with ink inside its width."""
    assert all(unicodedata.name(sign) == name for sign, name in NAMES.items())
    font = TTFont(BytesIO(sign_font()))
    assert set(font.getBestCmap()) - {ord(" ")} == {ord(sign) for sign in SIGNS} >= {ord(sign) for sign in NAMES}
    glyphs = font.getGlyphSet()
    for code in map(ord, SIGNS):
        name = font.getBestCmap()[code]
        pen = BoundsPen(glyphs)
        glyphs[name].draw(pen)
        assert pen.bounds is not None, chr(code)
        left, low, right, high = pen.bounds
        assert 0 <= left < right <= glyphs[name].width, chr(code)
        assert -260 <= low < high <= 900, chr(code)


def test_the_font_is_the_same_each_time() -> None:
    """Made anew, it has the same bytes: no date, no order of chance."""
    first = hashlib.sha256(sign_font()).digest()
    sign_font.cache_clear()
    assert hashlib.sha256(sign_font()).digest() == first


def test_texts_are_cleaned() -> None:
    """Control and invisible characters go; composed letters stay; spaces and breaks become one line."""
    assert clean("A\x00B\u200bC\u2028D e\u0301\u202ef") == "A BC D éf"


def test_missing_characters_are_named_once_each() -> None:
    """Latin, Greek, Cyrillic and our signs can be printed; other scripts are told apart."""
    assert missing("Łódź Ωmega жук ♯♭♮ ①⑩ ♩ ☐ “…” ½") == ""
    assert missing("\U000f0000a\U000f0000\ue001") == "\U000f0000\ue001"
    assert missing("".join(sorted(SIGNS))) == ""


def test_the_font_can_be_cut_twice() -> None:
    """Its private dictionary is not empty: HarfBuzz 10 refuses a second cut of a font whose dictionary is (tried)."""
    font = TTFont(BytesIO(sign_font()))
    assert font["CFF "].cff.topDictIndex[0].Private.rawDict
    once = SubsetInput()
    once.flags = SubsetFlags.RETAIN_GIDS
    once.sets(SubsetInputSets.GLYPH_INDEX).update({14, 15})
    first = subset(Face(sign_font()), once)
    again = SubsetInput()
    again.sets(SubsetInputSets.GLYPH_INDEX).update(range(16))
    assert len(TTFont(BytesIO(subset(first, again).blob.data)).getGlyphOrder()) == 16
