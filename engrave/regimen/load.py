"""What a sitting with one study asks of time and hands.

Conventions: a sitting is every time through at every tempo step; its minutes are those, each at its own tempo, repeats
not taken, and the settling time before it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction

from engrave.model import Load, Passage, Variation
from engrave.regimen.practice import figure

NOTICED = 0.15
"""share of its hand's work by which a finger must do more than in the line as written to be named; house default"""
_WEAKEST_FIRST = ("c", "a", "4", "3", "m", "i", "2", "1", "p")


def beat_of(passage: Passage) -> Fraction:
    """The beat that tempo steps count: that of the first bar's metre, in quarters."""
    return passage.bars[0].metre.beat if passage.bars else Fraction(1)


def minutes(variation: Variation, *, times: int, tempo: Sequence[int], beat: Fraction) -> float:
    """Minutes that `times` through at each tempo (beats of `beat` quarters a minute) take, with the time to settle."""
    bars = variation.passage.bars
    beats = (bars[-1].end if bars else Fraction(0)) / beat
    # whole numbers divide as exactly as fractions, and a week is dealt by many thousands of these
    over, under = times * beats.numerator, beats.denominator
    return sum(over / (step * under) for step in tempo) + figure("time", "settle")


def load_of(variation: Variation, *, times: int, tempo: Sequence[int], beat: Fraction, line: Variation) -> Load:
    """The load of one sitting. `line` is the line as written, which the named muscle is measured against."""
    return Load(minutes=minutes(variation, times=times, tempo=tempo, beat=beat), muscle=muscle(variation, line))


def muscle(variation: Variation, line: Variation) -> str:
    """The finger with more of the work than in the line as written; empty where none stands out.

    Where the fretting hand sounds more of the notes itself, it is the finger that does so most.
    """
    slurring = _slurring(variation)
    if slurred(variation) - slurred(line) >= NOTICED and slurring:
        return max(slurring, key=lambda finger: (slurring[finger], -_WEAKEST_FIRST.index(finger)))
    here, there = _shares(variation), _shares(line)
    more = {finger: here.get(finger, 0.0) - there.get(finger, 0.0) for finger in _WEAKEST_FIRST}
    # two fingers whose shares differ by a note or so are even: then it is the weaker that tires
    found = max(_WEAKEST_FIRST, key=lambda finger: (round(20 * more[finger]), -_WEAKEST_FIRST.index(finger)))
    return found if more[found] >= NOTICED else ""


def _shares(variation: Variation) -> dict[str, float]:
    """Finger → its share of its hand's notes; a finger that sounds a slur works for it as for a note it stops."""
    figures = variation.figures
    plucked = sum(n for _, n in figures.strokes) or 1
    stopped = Counter({str(finger): n for finger, n in figures.frettings}) + _slurring(variation)
    fretted = sum(stopped.values()) or 1
    return {finger: n / plucked for finger, n in figures.strokes} | {
        finger: n / fretted for finger, n in stopped.items()
    }


def _slurring(variation: Variation) -> Counter[str]:
    """Fretting finger → slurs it sounds: a pull-off by leaving the string, a hammer-on by landing on it."""
    found: Counter[str] = Counter()
    for pair, n in variation.figures.slurs:
        found[max(pair.split("-"))] += n
    return found


def slurred(variation: Variation) -> float:
    """Share of the notes that the fretting hand sounds."""
    return sum(n for _, n in variation.figures.slurs) / (variation.figures.notes or 1)
