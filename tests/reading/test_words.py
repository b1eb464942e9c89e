"""Words guitarists print: what is a barre, a position, a stroke, and what is only words. The forms: common practice."""

from __future__ import annotations

import pytest

from engrave.model.wording import numeral
from engrave.reading.musicxml.guitar_words import barre_of, classify, position_of, roman, stroke_of


@pytest.mark.parametrize(
    ("text", "fret"),
    [
        *(("C5", 5), ("CV", 5), ("C V", 5), ("C.V", 5), ("c7", 7), ("BIII", 3), ("B III", 3), ("½CV", 5), ("½ C 5", 5)),
        *(("1/2 CII", 2), ("2/6 C7", 7), ("mCIV", 4), ("mezzo CIV", 4), ("⅔ BII", 2), ("CVII 4/6", 7), ("C5 (4)", 5)),
        *(("cej. IX", 9), ("cejilla II", 2), ("Barré III", 3), ("barre 3", 3), ("¢V", 5), ("₵V", 5), ("CVII......", 7)),
        *(("CXII", 12), ("C10", 10)),
    ],
)
def test_barres_are_known_in_every_hand(text: str, fret: int) -> None:
    """C, B, ceja, cejilla, barré, with or without a part of the strings, in Roman or plain figures."""
    assert barre_of(text) == fret
    assert classify(text) == ("barre", text, fret)


@pytest.mark.parametrize(
    ("text", "fret"),
    [
        *(("V", 5), ("IX", 9), ("I", 1), ("XII", 12), ("VII.", 7), ("V ----", 5), ("pos. V", 5), ("Pos V", 5)),
        *(("pos. 5", 5), ("position VII", 7), ("posición II", 2), ("V pos.", 5), ("5th pos.", 5), ("3. Lage", 3)),
        *(("III. Lage", 3), ("2ª posición", 2), ("1st position", 1)),
    ],
)
def test_positions_are_known_in_every_hand(text: str, fret: int) -> None:
    """A Roman numeral alone, or a figure with the word."""
    assert position_of(text) == fret
    assert classify(text) == ("position", text, fret)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        *(("apoyando", "rest"), ("Apoyando sempre", "rest"), ("rest stroke", "rest"), ("rest-strokes", "rest")),
        *(("appoggiato", "rest"), ("tirando", "free"), ("free stroke", "free"), ("(tirando)", "free")),
    ],
)
def test_stroke_words_are_known(text: str, kind: str) -> None:
    """Spanish, Italian and English words."""
    assert stroke_of(text) == kind
    assert classify(text) == ("stroke", kind, None)


@pytest.mark.parametrize(
    "text",
    [
        *("dolce", "rit.", "Coda", "C", "B", "Cantabile", "VIVO", "IIII", "VX", "I love you", "C99", "C0", "B 25", "5"),
        *(
            "posato",
            "Vivace",
            "D.C. al Fine",
            "Mit Ruhe",
            "X-Large",
            "Am",
            "cresc.",
            "arrest",
            "the rest",
            "CIIIII",
            "",
        ),
    ],
)
def test_other_words_are_only_words(text: str) -> None:
    """Nothing is read into words that only look like it."""
    assert classify(text) == ("words", text, None)


def test_roman_numerals_go_there_and_back() -> None:
    """Every fret of a neck; nothing written otherwise."""
    assert [roman(numeral(n)) for n in range(1, 25)] == list(range(1, 25))
    assert [roman(text) for text in ("", "IIX", "XXV", "VV", "A", "IC")] == [None] * 6
