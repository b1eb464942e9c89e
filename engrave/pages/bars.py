"""Counts as bars: how much of the work each finger or string has."""

from __future__ import annotations

from collections import Counter

from engrave.model import Figures, Variation
from engrave.pages.drawn import Drawing, box
from engrave.pages.words import finger_name, listed

Counts = tuple[tuple[str, int], ...]
"""what is counted → how often, in the order it is shown"""

ROW = 5.2
"""mm from one bar to the next"""
HEAD = 5.5
"""room for the heading of a column"""


def draw_bars(drawing: Drawing, heading: str, counts: Counts, *, x: float, y: float, width: float) -> str:
    """Draw a column `width` mm wide, one bar a row, as long as its share; returns it in words."""
    drawing.letter(heading, x, y + 3.2, 3.2, face="italic", at="start")
    most, room = max(n for _, n in counts), width - 7 - 8
    for row, (name, number) in enumerate(counts):
        base = y + HEAD + row * ROW + 3.4
        plucking = name.isalpha()
        drawing.letter(name, x + 1.8, base, 4.2 if plucking else 3.5, face="italic" if plucking else "bold")
        long = max(room * number / most, 0.6)
        drawing.marks.append(box(x + 6, base - 1.9, long, 1.5))
        drawing.letter(str(number), x + 6 + long + 1.5, base, 3.3, at="start")
    return f"{heading}: {listed(f'{name} {number}' for name, number in counts)}."


def hand_bars(figures: Figures, little: str) -> tuple[tuple[str, Counts], ...]:
    """Heading and finger → notes, for each hand that has work."""
    plucking = tuple((finger_name(f, little), n) for f, n in figures.strokes if n)
    fretting = tuple((str(f), n) for f, n in figures.frettings if n)
    both = (("Plucking hand, notes", plucking), ("Fretting hand, notes", fretting))
    return tuple((heading, counts) for heading, counts in both if counts)


def survey_bars(line: Variation) -> tuple[tuple[str, Counts], ...]:
    """The line itself: notes on each string, notes each fretting finger stops, and how far up the neck they lie."""
    placed = [note.placement for note in line.passage.notes if note.placement and not note.tied_back]
    strings, fingers = Counter(p.string for p in placed), Counter(p.finger for p in placed)
    by_string = tuple((str(s), strings[s]) for s in sorted(strings))
    by_finger = tuple((str(f), fingers[f]) for f in sorted(fingers))
    found = (("Notes on each string", by_string), ("Notes for each finger, 0 open", by_finger))
    return tuple((heading, counts) for heading, counts in found if counts)
