"""The next best fingerings that really differ.

Neighbours in cost mostly change one finger somewhere. So every note that keeps its place and finger is charged a
little, and the charge is raised until the fingering differs in enough notes. Each answer is exact in this sense: no
fingering that shares as few notes (or fewer) with those before it is cheaper. Where it fingers one figure in two ways,
the search is made once more with models of its own (see engrave.fretting.likeness). Memory does not grow with their
number.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from engrave.fretting.lattice import Lattice
from engrave.fretting.likeness import charges, own_models, whole_cost
from engrave.fretting.pricing import Costs
from engrave.fretting.search import Path, cheapest
from engrave.fretting.shapes import Stop

SHARE = 0.3
"""share of the notes that must lie elsewhere or take another finger for a fingering to count as another"""
FIRM = 6.0
"""how much more a figure fingered in two ways is charged in another fingering than in the best: without that, as few
notes are changed as can be, and that is often one half of a figure"""
_HIGHEST = 8.0
_ROUNDS = 12
_SAME = 1e-6
"""costs nearer than this are one"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One fingering of several."""

    path: Path
    extra: float
    """what it costs more than the best"""
    differs: float
    """share of the notes in which it differs from the nearest of those before it; 1 for the best"""


def alternatives(
    lattice: Lattice, costs: Costs, count: int, share: float = SHARE, known: tuple[Alternative, ...] = ()
) -> tuple[Alternative, ...]:
    """The best fingering and up to `count` - 1 others, each unlike all before it in `share` of the notes or more.

    Fewer where the passage allows no more. `known`: the first of them, where they have been worked out before.
    """
    found = list(known) or [Alternative(path=cheapest(lattice, costs), extra=0.0, differs=1.0)]
    best = whole_cost(lattice, costs, found[0].path)
    while len(found) < count:
        known_ways = [a.path for a in found]
        path = _another(lattice, costs, known_ways, share)
        if path is None:
            break
        path = _likened(lattice, costs, known_ways, share, path)
        differs = min(distance(path, a.path) for a in found)
        found.append(Alternative(path=path, extra=whole_cost(lattice, costs, path) - best, differs=differs))
    return tuple(found)


def _likened(lattice: Lattice, costs: Costs, known: list[Path], share: float, path: Path) -> Path:
    """`path`, or a fingering as unlike the known ones in which what it fingers in two ways is fingered in one."""
    trial = own_models(lattice, costs, path, FIRM)
    if trial is lattice:
        return path
    mine, *others = (_repriced(way, lattice, trial) for way in (path, *known))
    other: Path | None = cheapest(trial, costs)
    if other is None or _nearest(other, known) < share:
        other = _another(trial, costs, others, share)
    return path if other is None or mine.cost <= other.cost else _repriced(other, trial, lattice)


def _repriced(path: Path, one: Lattice, other: Lattice) -> Path:
    """A path of a lattice with what it costs in another, whose charges for twins differ."""
    return replace(path, cost=path.cost - charges(one, path) + charges(other, path))


def _another(lattice: Lattice, costs: Costs, known: list[Path], share: float) -> Path | None:
    """The cheapest path under the smallest charge that makes it unlike every known one; None if no charge does.

    Under a charge a path costs its own cost and the charge for each note it shares: a line over the charge. Two paths
    at the ends of a stretch of charges cross somewhere between; either a third path lies below that crossing, and the
    search goes on at its side, or none does and the crossing is the charge at which the one gives way to the other.
    """
    low, high = known[0], _charged(lattice, costs, known, _HIGHEST)
    if _nearest(high, known) < share:
        return None
    for _ in range(_ROUNDS):
        gained = _shared(low, known) - _shared(high, known)
        if gained <= 0:
            break
        charge = (high.cost - low.cost) / gained
        path = _charged(lattice, costs, known, charge)
        if _paid(path, known, charge) >= _paid(high, known, charge) - _SAME:
            break
        if _nearest(path, known) >= share:
            high = path
        else:
            low = path
    return high


def _charged(lattice: Lattice, costs: Costs, known: list[Path], charge: float) -> Path:
    """The cheapest path where each note placed as in a known path is charged; its cost is given without the charge."""
    extra: dict[int, dict[Stop, float]] = {}
    for path in known:
        for tone, placed in enumerate(path.placed):
            row = extra.setdefault(tone, {})
            row[placed.stop] = row.get(placed.stop, 0.0) + charge
    path = cheapest(lattice, costs, extra)
    return Path(placed=path.placed, cost=path.cost - charge * _shared(path, known))


def _shared(path: Path, known: list[Path]) -> int:
    """How many notes lie as in the known paths, counted for each of them."""
    return sum(a.stop == b.stop for other in known for a, b in zip(path.placed, other.placed, strict=True))


def _paid(path: Path, known: list[Path], charge: float) -> float:
    """What a path costs with the charge for what it shares."""
    return path.cost + charge * _shared(path, known)


def _nearest(path: Path, known: list[Path]) -> float:
    """Share of the notes in which a path differs from the known one most like it."""
    return min(distance(path, other) for other in known)


def distance(one: Path, other: Path) -> float:
    """Share of the notes that lie elsewhere or take another finger."""
    if not one.placed:
        return 0.0
    pairs = zip(one.placed, other.placed, strict=True)
    return sum(a.stop != b.stop for a, b in pairs) / len(one.placed)
