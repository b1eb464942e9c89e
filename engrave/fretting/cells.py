"""Which cell of a table of costs applies: finger by place on the neck, two fingers by how they lie to each other."""

from __future__ import annotations

from itertools import combinations

import numpy as np

from engrave.fretting.shapes import Ints

FRETS, STRINGS = 10, 6
"""frets told apart in the table `spot`, the last with all beyond; strings, the last with all below"""
STEPS = (-2, 5)
"""frets from the lower finger to the higher told apart in the table `pair`, the ends with all beyond"""
SIZES = {"spot": 4 * STRINGS * FRETS, "pair": 6 * (STEPS[1] - STEPS[0] + 1) * 5}
"""number of cells of each table"""

_PAIR = np.zeros((5, 5), dtype=np.int64)
for _number, (_low, _high) in enumerate(combinations(range(1, 5), 2)):
    _PAIR[_low, _high] = _PAIR[_high, _low] = _number


def spot(strings: Ints, frets: Ints, fingers: Ints) -> Ints:
    """Finger × string × fret."""
    string = np.minimum(strings - 1, STRINGS - 1)
    return np.asarray(((fingers - 1) * STRINGS + string) * FRETS + np.clip(frets - 1, 0, FRETS - 1))


def pair(one: tuple[Ints, Ints, Ints], other: tuple[Ints, Ints, Ints]) -> Ints:
    """Pair of different fingers × frets from the lower to the higher × where the higher finger's string lies.

    Where: the same string, the next towards the treble, further that way, the next towards the bass, further that way.
    `one` and `other` are strings, frets and fingers. The same for both orders: it is how the two lie, not which comes
    first.
    """
    (s1, f1, k1), (s2, f2, k2) = one, other
    swapped = k1 > k2
    step = np.clip(np.where(swapped, f1 - f2, f2 - f1), *STEPS) - STEPS[0]
    over = np.where(swapped, s2 - s1, s1 - s2)
    where = np.select([over == 0, over == 1, over > 1, over == -1], [0, 1, 2, 3], 4)
    return np.asarray((_PAIR[k1, k2] * (STEPS[1] - STEPS[0] + 1) + step) * 5 + where)
