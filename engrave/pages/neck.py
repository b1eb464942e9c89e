"""The neck as a picture: where the fingers fall in a variation, with frets spaced as they really are."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

from engrave.model import Placement, System, Variation
from engrave.pages.drawn import Drawing, box, circle, line

_SPACING = 4.2
"""mm between strings"""
_DOT = 1.75
"""radius of a finger's circle in mm"""
_LEFT = 15.0
"""room for the names of the open strings"""
_TOP, _FOOT = 3.0, 9.5


def neck_height(strings: int) -> float:
    """Height in mm of the picture for so many strings."""
    return _TOP + (strings - 1) * _SPACING + _FOOT


def neck(variation: Variation, width: float) -> tuple[System, Drawing]:
    """The placements of a variation on the neck, `width` mm wide; the finger used most where several share a place."""
    placements = [note.placement for note in variation.passage.notes if note.placement and not note.tied_back]
    first, last = _span(placements)
    guitar = variation.instrument
    strings = len(guitar.strings)
    drawing = Drawing(width=width, height=neck_height(strings))
    left, right = guitar.mm(first), guitar.mm(last)

    def x(mm: float) -> float:
        return _LEFT + (mm - left) / (right - left) * (width - _LEFT - 1)

    def y(string: int) -> float:
        return _TOP + (string - 1) * _SPACING

    low = y(strings)
    for fret in range(first, last + 1):
        nut = fret == 0
        at = x(guitar.mm(fret))
        drawing.marks.append(box(at - 1.1, y(1), 1.1, low - y(1)) if nut else line(at, y(1), at, low, 0.2))
        if fret > first:
            middle = x((guitar.mm(fret - 1) + guitar.mm(fret)) / 2)
            drawing.letter(numeral(fret), middle, low + 4.6, 2.9)
    for string in range(1, strings + 1):
        pen = 0.32 if string in guitar.wound else 0.18
        drawing.marks.append(line(_LEFT, y(string), width - 1, y(string), pen))
        drawing.letter(guitar.strings[string - 1].name, 1.0, y(string) + 1.0, 3.2, at="start")
    _positions(drawing, variation, placements, (first, last), x)
    _fingers(drawing, variation, placements, x, y)
    return drawing.system(neck_words(placements)), drawing


def _span(placements: list[Placement]) -> tuple[int, int]:
    """First and last fret line of the picture: the places used, the nut where it is near, five spaces at least."""
    frets = [p.fret for p in placements if p.fret]
    lowest, highest = (min(frets), max(frets)) if frets else (1, 4)
    first = 0 if lowest <= 4 else lowest - 2
    return first, max(highest + 1, first + 5)


def _positions(
    drawing: Drawing,
    variation: Variation,
    placements: list[Placement],
    span: tuple[int, int],
    x: Callable[[float], float],
) -> None:
    """A bracket under the four frets of each position used."""
    guitar = variation.instrument
    for index, position in enumerate(sorted({p.position for p in placements if p.fret})):
        start, end = (x(guitar.mm(min(max(f, span[0]), span[1]))) for f in (position - 1, position + 3))
        low = drawing.height - 1.6 - (index % 2) * 1.5
        drawing.marks.append(line(start + 0.6, low, end - 0.6, low, 0.25))
        drawing.marks += [line(e, low, e, low - 1, 0.25) for e in (start + 0.6, end - 0.6)]


def _fingers(
    drawing: Drawing,
    variation: Variation,
    placements: list[Placement],
    x: Callable[[float], float],
    y: Callable[[int], float],
) -> None:
    """The finger used most at each place; a ring beside the nut for an open string."""
    guitar = variation.instrument
    used: dict[tuple[int, int], Counter[int]] = {}
    for placement in placements:
        used.setdefault((placement.string, placement.fret), Counter())[placement.finger] += 1
    for (string, fret), fingers in sorted(used.items()):
        if not fret:
            drawing.marks.append(circle(_LEFT - 4.2, y(string), 1.15, 0.28))
            continue
        finger = min(fingers, key=lambda f: (-fingers[f], f))
        behind = guitar.mm(fret - 1) + 0.62 * (guitar.mm(fret) - guitar.mm(fret - 1))
        drawing.marks.append(circle(x(behind), y(string), _DOT, white=True))
        drawing.marks.append(circle(x(behind), y(string), _DOT, 0.3))
        drawing.letter(str(finger), x(behind), y(string) + 1.02, 3.1, face="semibold")


def numeral(fret: int) -> str:
    """A fret as a Roman numeral, 1 to 39."""
    tens, ones = divmod(fret, 10)
    return "X" * tens + ("", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX")[ones]


def neck_words(placements: list[Placement]) -> str:
    """The same in words, string by string."""
    if not placements:
        return "The neck; no note is placed."
    said = []
    for string in sorted({p.string for p in placements}):
        here = sorted({(p.fret, p.finger) for p in placements if p.string == string})
        places = ("open" if not fret else f"fret {fret} finger {finger}" for fret, finger in here)
        said.append(f"string {string}: {', '.join(places)}")
    return "Places on the neck. " + "; ".join(said) + "."
