"""How numbers and sentences are written, wherever they stand."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from engrave.model.said import Said, beginning, say, strung

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
    return beginning(text) if first[1:2].isalpha() and "." not in first else text


def neighbours(numbers: Iterable[int]) -> list[list[int]]:
    """Rising numbers in runs, each number one more than that before it."""
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    return found


def bars_text(labels: Sequence[str], bars: Collection[int]) -> Said:
    """Some bars of a passage, given by their places in `labels`: bar 3, bars 1–4, bars 1, 2 and 5–8."""
    runs = neighbours(sorted(bars))
    parts = [f"{labels[run[0]]}–{labels[run[-1]]}" if len(run) > 1 else labels[run[0]] for run in runs]
    return say("bar {bars}", bars=parts[0]) if len(bars) == 1 else say("bars {bars}", bars=listed(parts))


def listed(items: Iterable[str]) -> Said:
    """Items as a sentence lists them: a, b and c."""
    *front, last = items
    return say("{front} and {last}", front=strung(front, ", "), last=last) if front else strung([last])


def either(items: Iterable[str]) -> Said:
    """Items as a sentence offers them: a, b or c."""
    *front, last = items
    return say("{front} or {last}", front=strung(front, ", "), last=last) if front else strung([last])
