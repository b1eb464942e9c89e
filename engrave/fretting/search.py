"""The cheapest way through a lattice: an exact shortest path, frame by frame, over all hand shapes at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np

from engrave.fretting.costs import Amount, Cells, move_terms, open_terms, shape_terms, travel_terms
from engrave.fretting.lattice import Edge, Lattice, Link, Node, Step
from engrave.fretting.shapes import NOWHERE, Block, Floats, Ground, Ints, Stop
from engrave.fretting.weights import Weights

CACHE_CELLS = 40_000_000
"""cells of move matrices kept at one time (8 bytes each)"""
UNSLURRED = {"slur": 2.5, "hammer-on": 50.0, "pull-off": 50.0, "slide": 50.0}
"""cost of not playing a slur of the source with the fretting hand; a plain curve may be a phrase mark"""

BENT = 100.0
"""cost of one note that breaks a rule which may bend"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """Where one tone is played, and where the hand then lies."""

    stop: Stop
    position: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """A fingering: one Placed for each tone, and its cost."""

    placed: tuple[Placed, ...]
    cost: float


Extra = Mapping[int, Mapping[Stop, float]]
"""tone → stop → added cost"""


@dataclass(slots=True)
class Costs:
    """Costs of shapes and moves under one set of weights, each worked out once."""

    weights: Weights
    ground: Ground
    _shape: dict[int, Floats] = field(default_factory=dict)
    _move: dict[tuple[int, int], tuple[Floats, Floats]] = field(default_factory=dict)
    _cells: int = 0

    def shape(self, block: Block) -> Floats:
        """Cost of each shape of a block."""
        if block.serial not in self._shape:
            self._shape[block.serial] = self._sum(shape_terms(block, self.ground), np.zeros(block.size))
        return self._shape[block.serial]

    def opens(self, block: Block, count: int) -> Floats:
        """Cost of striking `count` open strings with the hand in each shape of a block."""
        return self._sum(open_terms(block, count), np.zeros(block.size))

    def move(self, one: Block, other: Block) -> tuple[Floats, Floats]:
        """Cost of each move between two blocks: what fingers do, and the hand's travel."""
        key = (one.serial, other.serial)
        if key not in self._move:
            shape = (one.size, other.size)
            made = (
                self._sum(move_terms(one, other, self.ground), np.zeros(shape)),
                self._sum(travel_terms(one, other, self.ground), np.zeros(shape)),
            )
            if self._cells > CACHE_CELLS:
                self._move.clear()
                self._cells = 0
            self._move[key] = made
            self._cells += 2 * one.size * other.size
        return self._move[key]

    def _sum(self, terms: Iterable[Amount | Cells], total: Floats) -> Floats:
        for term in terms:
            if isinstance(term, Amount):
                weight = self.weights.terms[term.name]
                if weight:
                    total += weight * term.value
            elif isinstance(term, Cells):
                cells = self.weights.tables[term.name][term.cell]
                total += cells if cells.shape == total.shape else cells.sum(axis=1)
        return total


@dataclass(slots=True)
class _Back:
    """For each shape of a node where the best way to it came from."""

    src: Ints
    state: Ints


def cheapest(lattice: Lattice, costs: Costs, extra: Extra | None = None) -> Path:
    """The cheapest fingering. Among equals the one found first in the order of strings, frets and fingers."""
    reached: list[Floats] = [np.zeros(1)]
    before: tuple[Node, ...] = (lattice.start,)
    backs: list[list[_Back]] = []
    for step, frame in zip(lattice.steps, lattice.problem.frames, strict=True):
        reached, back = _advance(step, before, reached, costs)
        for index, node in enumerate(step.nodes):
            reached[index] += node_cost(node, step, costs)
            if extra:
                reached[index] += _extra_cost(node, frame.struck, extra)
        backs.append(back)
        before = step.nodes
    if not lattice.steps:
        return Path(placed=(), cost=0.0)
    ends = [float(values.min()) for values in reached]
    last = int(np.argmin(ends))
    places = _traced(backs, last, int(np.argmin(reached[last])))
    return Path(placed=placed_of(lattice, places), cost=ends[last])


def _advance(
    step: Step, before: tuple[Node, ...], reached: list[Floats], costs: Costs
) -> tuple[list[Floats], list[_Back]]:
    """The cheapest way to each shape of a step, without the cost of the shape, and where it came from."""
    forward = [np.full(node.block.size, np.inf) for node in step.nodes]
    back = [_Back(src=np.zeros(len(f), dtype=np.int64), state=np.zeros(len(f), dtype=np.int64)) for f in forward]
    for edge in step.edges:
        total = edge_cost(edge, before[edge.src].block, step.nodes[edge.dst].block, costs)
        if edge.carries:
            value = total + reached[edge.src]
            state = np.arange(len(value))
        else:
            total = total + reached[edge.src][:, None]
            state = np.argmin(total, axis=0)
            value = total[state, np.arange(total.shape[1])]
        better = value < forward[edge.dst]
        forward[edge.dst][better] = value[better]
        back[edge.dst].src[better] = edge.src
        back[edge.dst].state[better] = state[better]
    return forward, back


def edge_cost(edge: Edge, one: Block, other: Block, costs: Costs) -> Floats:
    """Cost of each move along an edge (n × m, or n where the hand is carried on); inf where it is not allowed."""
    if edge.carries:
        total = np.zeros(one.size)
    else:
        moves, travel = costs.move(one, other)
        total = moves + costs.weights.travel(edge.free) * travel
    if edge.bent is not None:
        total = total + BENT * edge.bent
    for link, before, after in edge.links:
        total = total + _unslurred(link, before, after, one, other, carries=edge.carries)
    return total if edge.mask is None else np.where(edge.mask, total, np.inf)


def node_cost(node: Node, step: Step, costs: Costs) -> Floats:
    """Cost of each shape of a node."""
    return costs.opens(node.block, step.struck) if node.carried else costs.shape(node.block)


def _side(block: Block, where: int) -> Ints:
    """Stops (n × 3) of one tone: a column of the block, or minus an open string."""
    if where >= 0:
        return block.placed[:, where]
    return np.tile(np.array([-where, 0, 0]), (block.size, 1))


def _unslurred(link: Link, before: int, after: int, one: Block, other: Block, *, carries: bool) -> Floats:
    """What a move pays where the fretting hand cannot play the slur into it."""
    first, then = _side(one, before), _side(other, after)
    if not carries:
        first, then = first[:, None], then[None, :]
    (s1, f1, k1), (s2, f2, k2) = np.moveaxis(first, -1, 0), np.moveaxis(then, -1, 0)
    if link.kind == "slide":
        ok = (s1 == s2) & (f1 != f2) & (k1 == k2) & (k1 > 0)
    else:
        rises = (f1 < f2) & (k1 < k2)
        falls = (f1 > f2) & ((k1 > k2) | (f2 == 0))
        ok = (s1 == s2) & (rises | falls)
    return np.where(ok, 0.0, UNSLURRED[link.kind])


def _extra_cost(node: Node, struck: tuple[int, ...], extra: Extra) -> Floats:
    total = np.zeros(node.block.size)
    for tone in struck:
        where = dict(node.columns).get(tone)
        stops = _side(node.block, where if where is not None else -dict(node.opens)[tone])
        for stop, cost in extra.get(tone, {}).items():
            total += cost * (stops == np.array(stop)).all(axis=1)
    return total


def _traced(backs: list[list[_Back]], node: int, state: int) -> tuple[tuple[int, int], ...]:
    """(node, shape) of each step on the way that ends in `node`, `state`."""
    places = [(node, state)]
    for back in reversed(backs[1:]):
        here = back[node]
        node, state = int(here.src[state]), int(here.state[state])
        places.append((node, state))
    return tuple(reversed(places))


def placed_of(lattice: Lattice, places: tuple[tuple[int, int], ...]) -> tuple[Placed, ...]:
    """The stops of every tone along a way through the lattice. Before the hand's first place it waits there."""
    placed: dict[int, Placed] = {}
    blocks = [step.nodes[node].block for step, (node, _) in zip(lattice.steps, places, strict=True)]
    hands = [int(block.pos[state]) for block, (_, state) in zip(blocks, places, strict=True)]
    first = next((pos for pos in hands if pos > NOWHERE), 1)
    for step, frame, (index, state), pos in zip(lattice.steps, lattice.problem.frames, places, hands, strict=True):
        node = step.nodes[index]
        columns, opens = dict(node.columns), dict(node.opens)
        for tone in frame.struck:
            if tone in columns:
                stop = Stop(*(int(x) for x in node.block.placed[state, columns[tone]]))
            else:
                stop = Stop(opens[tone], 0, 0)
            placed[tone] = Placed(stop=stop, position=pos if pos > NOWHERE else first)
    return tuple(placed[tone] for tone in range(len(lattice.problem.tones)))
