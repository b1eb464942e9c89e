"""How numbers and sentences are written, wherever they stand."""

from __future__ import annotations

_ROMAN = (
    (1000, "M"), (900, "CM"), (500, "D"), (400, "CD"), (100, "C"), (90, "XC"), (50, "L"), (40, "XL"), (10, "X"),
    (9, "IX"), (5, "V"), (4, "IV"), (1, "I"),
)  # fmt: skip


def numeral(number: int) -> str:
    """A Roman numeral, such as that of a fret: IV."""
    text = ""
    for value, sign in _ROMAN:
        text += sign * (number // value)
        number %= value
    return text


def sentence(text: str) -> str:
    """`text` as it begins a line: with a capital, unless it begins with a finger's letter or the name of a file."""
    first = text.split(" ", 1)[0].rstrip(",;:.")
    return text[:1].upper() + text[1:] if first[1:2].isalpha() and "." not in first else text
