"""Metres of a MusicXML file: read, measured, and supplied where the file gives none."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from xml.etree.ElementTree import Element, SubElement

from engrave.model.said import say
from engrave.reading.musicxml.timed_notes import Walked
from engrave.reading.numbers import whole
from engrave.reading.tally import Tally

UNITS = (1, 2, 4, 8, 16, 32, 64)


def metre_pairs(metre: Element | None) -> list[tuple[tuple[int, ...], int]]:
    """Upper figures and lower figure of each part of a <time>; empty where there is none or it cannot be printed."""
    if metre is None or metre.find("senza-misura") is not None:
        return []
    pairs: list[tuple[tuple[int, ...], int]] = []
    tops, units = metre.findall("beats"), metre.findall("beat-type")
    if len(tops) != len(units) or len(tops) > 8:
        return []
    for top, unit in zip(tops, units, strict=True):
        figures = [whole(part, 1, 64) for part in (top.text or "").split("+")]
        below = whole(unit.text, 1, 64)
        known = tuple(figure for figure in figures if figure is not None)
        if below not in UNITS or len(known) < len(figures) or len(known) > 16:
            return []
        pairs.append((known, below))
    return pairs


def full_length(metre: Element | None) -> Fraction | None:
    """Length of a full bar in quarters; None without a metre."""
    pairs = metre_pairs(metre)
    return sum((Fraction(4 * sum(tops), unit) for tops, unit in pairs), Fraction(0)) if pairs else None


def beat_length(metre: Element | None) -> Fraction:
    """Length in quarters of the beat a player counts, as engrave.model.Metre.beat; 1 without a metre."""
    pairs = metre_pairs(metre)
    if not pairs:
        return Fraction(1)
    tops, unit = pairs[0]
    compound = len(pairs) == 1 and len(tops) == 1 and unit >= 8 and tops[0] % 3 == 0 and tops[0] > 3
    return Fraction(4, unit) * (3 if compound else 1)


def supply(bars: Sequence[Walked], tally: Tally) -> None:
    """Gives each run of bars without a metre the one that most of them fill."""
    index = 0
    while index < len(bars):
        stop = index
        while stop < len(bars) and bars[stop].unmetred:
            stop += 1
        if stop > index:
            run = bars[index:stop]
            figures = _figures(run)
            if figures is not None:
                top, unit = figures
                run[0].metre = Element("time")
                SubElement(run[0].metre, "beats").text = str(top)
                SubElement(run[0].metre, "beat-type").text = str(unit)
                figure = f"{top}/{unit}"
                said = say("the source gives no metre; {metre} is taken from the length of the bars", metre=figure)
                for bar in run:
                    tally.add(said, bar.label)
        index = max(stop, index + 1)


def _figures(run: Sequence[Walked]) -> tuple[int, int] | None:
    ends = (max((item.end for item in bar.items), default=Fraction(0)) for bar in run)
    lengths = Counter(end for end in ends if end)
    for length, _ in lengths.most_common():
        for unit in (4, 8, 16, 32, 64):
            beats = length * unit / 4
            if beats.denominator == 1 and 1 <= beats <= 64:
                return int(beats), unit
    return None
