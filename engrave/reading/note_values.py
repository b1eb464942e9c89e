"""Lengths of time as notes that can be written: dotted values, tied where one is not enough, inside tuplets.

Rule: a length in quarters is brought to halves of halves by one tuplet where its denominator has an odd factor, and is
then written as one value with at most two dots, or tied together from values with at most one, the longest first.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache

from engrave.model import Value
from engrave.model.passage import VALUE_NAMES
from engrave.model.time_spelling import SHORTEST, odd_part, single
from engrave.reading.limits import LIMITS

Chain = tuple[tuple[int, int, int], ...]
"""(key of the bracket, actual, normal) of each tuplet over a note, outermost first"""

_TIED = sorted(
    (Value(kind=kind, dots=dots) for kind in VALUE_NAMES for dots in (0, 1) if kind or not dots),
    key=lambda value: value.quarters,
    reverse=True,
)


@lru_cache(maxsize=4096)
def written(length: Fraction) -> tuple[tuple[Value, ...], tuple[int, int]] | None:
    """A length in quarters as tied values under one tuplet (actual, normal); None where it cannot be written.

    (1, 1) stands for no tuplet.
    """
    odd = odd_part(length.denominator)
    if odd > LIMITS.tuplet or length <= 0:
        return None
    ratio = odd, 1 << (odd.bit_length() - 1)
    left = length * Fraction(*ratio)
    if left > 4 * LIMITS.bar_quarters or left % SHORTEST:
        return None
    whole = single(left, most_dots=2)
    values = [whole] if whole else []
    while left and not whole:
        value = next(v for v in _TIED if v.quarters <= left and (left - v.quarters) % SHORTEST == 0)
        values.append(value)
        left -= value.quarters
    return tuple(values), ratio


def counted(run: Iterable[tuple[Fraction, Fraction, tuple[int, int], bool]]) -> list[Chain]:
    """The tuplets of notes of which only the ratio is known, one over a note at the most.

    Each note comes as (length in quarters, written value in quarters, (actual, normal), joined by a beam to the next);
    (1, 1) stands for no tuplet. A bracket is full when its length is `normal` times its smallest value and no beam goes
    on.
    """
    chains: list[Chain] = []
    key = 0
    held = Fraction(0)
    smallest: Fraction | None = None
    before = (1, 1)
    for length, value, ratio, joined in run:
        if ratio == (1, 1):
            smallest = None
            chains.append(())
        else:
            if smallest is None or ratio != before:
                key, held, smallest = key + 1, Fraction(0), value
            held += length
            smallest = min(smallest, value)
            if held % (smallest * ratio[1]) == 0 and not joined:
                smallest = None
            chains.append(((key, *ratio),))
        before = ratio
    return chains
