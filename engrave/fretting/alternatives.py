"""Other good fingerings that really differ: what a player of another taste would play.

The next cheapest fingerings mostly swap one finger here and there, and no teacher writes such a one down. So the line
is searched again as if for players of other tastes: up the neck, on stopped strings, both. Each finds a fingering that
is right throughout for its own reason. One counts where enough notes lie or are fingered otherwise than in all before
it, where the hand moves hardly oftener than in the best, and where no more figures are fingered in two ways.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from engrave.fretting.chances import settled_on
from engrave.fretting.lattice import Lattice
from engrave.fretting.likeness import unlike
from engrave.fretting.pricing import Costs
from engrave.fretting.search import Path, cheapest
from engrave.fretting.taste import Taste
from engrave.fretting.weights import flavoured

SHARE = 0.3
"""share of the notes that must lie elsewhere or take another finger for a fingering to count as another"""
MOVES = 2
"""how much oftener than in the best the hand may move"""
TASTES = (Taste(neck=1.0), Taste(open=-0.5), Taste(neck=0.7, open=-0.7), Taste(open=-1.0))
"""tastes whose fingerings are tried: up the neck, fewer open strings, both, stopped strings alone"""

FIRM = 1.5
"""how much more a figure fingered in two ways is charged than in the best"""
_GAIN = 1e5
"""more than a note can cost: what is given for each note that stays where it is"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One fingering of several."""

    path: Path
    extra: float
    """what it costs more than the best, under the weights of the best"""


def alternatives(lattice: Lattice, costs: Costs, best: Path, count: int) -> tuple[Alternative, ...]:
    """The best fingering and up to `count` - 1 others, those with fewer moves first, then the cheaper ones.

    Fewer where the passage allows no more. `lattice`, `costs` and `best` are as the engine settled on them.
    """
    found = [Alternative(path=best, extra=0.0)]
    if count < 2 or not lattice.steps:
        return tuple(found)
    free = replace(lattice, steps=tuple(replace(step, models=(), charge=0.0, fingers=()) for step in lattice.steps))
    usual, least = unlike(lattice, best), _again(free, costs, best).cost
    tried: list[tuple[int, float, int, Path]] = []
    for number, taste in enumerate(TASTES):
        weights = flavoured(costs.weights, taste)
        firm = replace(weights, terms={**weights.terms, "unlike": FIRM * weights.terms["unlike"]})
        _, path = settled_on(free, Costs(firm, costs.geometry))
        if distance(path, best) < SHARE or unlike(lattice, path) > usual:
            continue
        path = _again(free, costs, path)
        if _moves(path) <= _moves(best) + MOVES:
            tried.append((_moves(path), max(path.cost - least, 0.0), number, path))
    for _, extra, _, path in sorted(tried, key=lambda one: one[:3]):
        if all(distance(path, one.path) >= SHARE for one in found):
            found.append(Alternative(path=path, extra=extra))
    return tuple(found[:count])


def _again(lattice: Lattice, costs: Costs, path: Path) -> Path:
    """The stops of a path with what they cost in a lattice, and with the hand where it then lies best."""
    gain = {tone: {placed.stop: -_GAIN} for tone, placed in enumerate(path.placed)}
    found = cheapest(lattice, costs, gain)
    return replace(found, cost=found.cost + _GAIN * len(path.placed))


def _moves(path: Path) -> int:
    """How often the hand moves."""
    return sum(one.position != other.position for one, other in pairwise(path.placed))


def distance(one: Path, other: Path) -> float:
    """Share of the notes that lie elsewhere or take another finger."""
    if not one.placed:
        return 0.0
    pairs = zip(one.placed, other.placed, strict=True)
    return sum(a.stop != b.stop for a, b in pairs) / len(one.placed)
