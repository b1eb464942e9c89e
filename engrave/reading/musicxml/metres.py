"""Metres of a MusicXML file: read, and supplied where the file gives none."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from xml.etree.ElementTree import Element

from engrave.model import Metre
from engrave.model.said import say
from engrave.reading.musicxml.timed_notes import Walked
from engrave.reading.numbers import whole
from engrave.reading.tally import Tally

_UNITS = (1, 2, 4, 8, 16, 32, 64)


def metre_of(time: Element) -> Metre | None:
    """The metre of a <time>, sums of several lower figures brought to the smallest; None where we cannot print it."""
    tops, units = time.findall("beats"), [whole(unit.text, 1, 64) for unit in time.findall("beat-type")]
    if not tops or len(tops) != len(units) or len(tops) > 8:
        return None
    known = [unit for unit in units if unit in _UNITS]
    sums = [[whole(part, 1, 64) for part in (top.text or "").split("+")] for top in tops]
    if len(known) < len(units) or any(None in figures or len(figures) > 16 for figures in sums):
        return None
    least = max(known)
    beats = [figure * least // unit for figures, unit in zip(sums, known, strict=True) for figure in figures if figure]
    sign = time.get("symbol", "")
    return Metre(beats=tuple(beats), unit=least, sign=sign if sign in ("common", "cut") else "")


def supply(bars: Sequence[Walked], tally: Tally) -> None:
    """Gives each run of bars without a metre the one that most of them fill."""
    index = 0
    while index < len(bars):
        stop = index
        while stop < len(bars) and bars[stop].unmetred:
            stop += 1
        run = bars[index:stop]
        metre = _filled(run)
        if metre is not None:
            run[0].metre = metre
            said = say("the source gives no metre; {metre} is taken from the length of the bars", metre=str(metre))
            for bar in run:
                tally.add(said, bar.label)
        index = max(stop, index + 1)


def _filled(run: Sequence[Walked]) -> Metre | None:
    ends = (max((item.end for item in bar.items), default=Fraction(0)) for bar in run)
    lengths = Counter(end for end in ends if end)
    for length, _ in lengths.most_common():
        for unit in _UNITS[2:]:
            beats = length * unit / 4
            if beats.denominator == 1 and 1 <= beats <= 64:
                return Metre(beats=(int(beats),), unit=unit)
    return None
