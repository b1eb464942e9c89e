"""How hard a page is beside others of the same line: a house measure for putting pages in order, not a grade.

The sum of what the work itself asks (a weak pair more than a strong one, two new things more than one) and of what the
notes show: awkward crossings, travel, reach, slurs and speed beyond those of the line. tests/regimen/test_difficulty.py
holds it against more than twenty pairs of pages that any teacher would put in the same order.
"""

from __future__ import annotations

from fractions import Fraction
from math import log2

from engrave import axes
from engrave.model import Study, Variation
from engrave.regimen.load import slurred

WORK = {
    "plain": 0.0,
    "open": 0.0,
    "strong": 0.3,
    "stroke": 0.8,
    "accent": 1.4,
    "rhythm": 1.2,
    "thumb": 1.6,
    "place": 1.6,
    "fingering": 1.8,
    "weak": 2.2,
    "layer": 1.0,
    "chord": 2.2,
    "order": 2.4,
    "cycle": 2.8,
    "repeat": 2.8,
    "slur": 2.8,
    "pair": 3.0,
    "triple": 3.4,
    "single": 3.8,
    "burst": 3.8,
    "tremolo": 4.8,
    "little": 5.0,
}
"""kind of work → points; house figures"""
_HARDER = {
    "against the metre": 1.2,
    "off the beat": 1.0,
    "one note later": 1.0,
    "climb": 0.8,
    "left hand alone": 2.2,
    "crescendo": -0.6,
    "decrescendo": -0.6,
    "beats": -0.6,
    "none": -0.6,
    "planting": -0.9,
    "double values": -0.9,
    "in fives": 0.8,
    "rest, then free": 0.4,
    "free, then rest": 0.4,
    "dotted, short first": 0.3,
    "along one string": 0.6,
    "block": -0.2,
    "block first": -0.1,
}
"""settings that are harder or easier than their kind as a rule; house figures"""
_FINGERS = {"c": 0.6, "4": 0.6, "3": 0.6}
"""fingers that make a cycle or a turn with them harder"""
_MIXED = 1.0
"""points for each further thing that is new at once"""


def difficulty(variation: Variation, study: Study, line: Variation) -> float:
    """Points of a page; 0 for the line as written."""
    changed = axes.changed(study)
    points = 0.0
    for setting in changed:
        points += WORK.get(setting.kind, 2.0) + _HARDER.get(setting.name, 0.0)
        if setting.axis in ("fret", "slurs", "pluck"):
            points += sum(_FINGERS.get(sign, 0.0) for sign in set(setting.name.replace("-", " ").split()))
    points += _MIXED * max(0, len(changed) - 1)
    return round(points + (_shown(variation, line) if changed else 0.0), 2)


def _shown(variation: Variation, line: Variation) -> float:
    """Points of what the notes show beyond the line."""
    here, there = variation.figures, line.figures
    notes, before = max(1, here.notes), max(1, there.notes)
    comfort = variation.hand.comfortable[1, 4]
    points = 4 * max(0.0, here.awkward / notes - there.awkward / before)
    points += max(0.0, here.travel / notes - there.travel / before) / 25
    points += max(0.0, here.reach - max(comfort, there.reach)) / 10
    points += 1.5 * max(0.0, slurred(variation) - slurred(line))
    points += 1.2 * max(0.0, log2(_speed(variation) / _speed(line)))
    points += 1.0 * max(0.0, _high(variation) - _high(line))
    return points


def _speed(variation: Variation) -> float:
    """Notes in a quarter."""
    bars = variation.passage.bars
    length = bars[-1].end if bars else Fraction(0)
    return max(1, variation.figures.notes) / float(length or 1)


def _high(variation: Variation) -> float:
    """Mean fret of the stopped notes, in octaves."""
    frets = [n.placement.fret for n in variation.passage.notes if n.placement and n.placement.fret]
    return sum(frets) / len(frets) / 12 if frets else 0.0
