"""The cheapest way through a lattice: an exact shortest path, onset by onset, over all hand shapes at once.

A state is a shape and the lead (highest fretted tone) before the shape's own; the last two leads and everything that is
down or sounds are thus known at each move. For each onset the cheapest cost of every state is kept; the way back is
worked out from those costs, so no pointers are stored.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from engrave.fretting.held import gone_before, gone_on
from engrave.fretting.lattice import Edge, Lattice, LatticeStep, Link, Node
from engrave.fretting.pricing import Costs
from engrave.fretting.shapes import NOWHERE, Block, Floats, Ints, Stop

UNSLURRED = {"slur": 20.0, "hammer-on": 50.0, "pull-off": 50.0, "slide": 50.0}
"""cost of not playing a slur of the source with the fretting hand: it is given up only where no hand can play it"""
BENT = 100.0
"""cost of one note that breaks a rule which may bend"""
_AT_ONCE = 400_000
"""cells of one broadcast; larger ones are folded memory by memory"""


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
State = tuple[int, int, int]
"""node, memory, shape"""


def cheapest(lattice: Lattice, costs: Costs, extra: Extra | None = None) -> Path:
    """The cheapest fingering. Among equals the one found first in the order of strings, frets and fingers."""
    if not lattice.steps:
        return Path(placed=(), cost=0.0)
    reached = forward(lattice, costs, extra)
    states = states_of(lattice, costs, reached)
    node, memory, shape = states[-1]
    return Path(placed=placed_of(lattice, states), cost=float(reached[-1][node][memory, shape]))


def states_of(lattice: Lattice, costs: Costs, reached: list[list[Floats]]) -> tuple[State, ...]:
    """The states of the cheapest way, one a step, the first among equals."""
    last = int(np.argmin([float(values.min()) for values in reached[-1]]))
    memory, shape = np.unravel_index(int(np.argmin(reached[-1][last])), reached[-1][last].shape)
    return traced(lattice, costs, reached, (last, int(memory), int(shape)))


def forward(lattice: Lattice, costs: Costs, extra: Extra | None = None) -> list[list[Floats]]:
    """For each step and node the cheapest cost of each state (memories × shapes), its own cost included."""
    reached: list[list[Floats]] = []
    before: tuple[Node, ...] = (lattice.start,)
    here = [np.zeros((1, 1))]
    for step, group in zip(lattice.steps, lattice.problem.groups, strict=True):
        there = [np.full((len(node.memory), node.block.size), np.inf) for node in step.nodes]
        for edge in step.edges:
            src, dst = before[edge.src], step.nodes[edge.dst]
            target = there[edge.dst]
            if edge.carries:
                value = here[edge.src] + edge_cost(edge, src.block, dst.block, costs)
            else:
                value = _joined(here[edge.src], src, dst, edge, costs)
            target[edge.heir] = np.minimum(target[edge.heir], value)
        for index, node in enumerate(step.nodes):
            there[index] += node_cost(node, step, costs)
            if extra:
                there[index] += _extra_cost(node, group.struck, extra)
        reached.append(there)
        here, before = there, step.nodes
    return reached


def _joined(here: Floats, src: Node, dst: Node, edge: Edge, costs: Costs) -> Floats:
    """For each lead of the source's block and each new shape the cheapest way to it, over memories and shapes."""
    recall = recalled(edge, src, dst.block, costs)
    if here.size * dst.block.size <= _AT_ONCE:
        best = (here[:, :, None] + recall[:, None, :]).min(axis=0)
    else:
        best = np.full((src.block.size, dst.block.size), np.inf)
        for row, ahead in zip(here, recall, strict=True):
            if np.isfinite(row).any():
                np.minimum(best, row[:, None] + ahead[None, :], out=best)
    best += edge_cost(edge, src.block, dst.block, costs)
    return np.asarray(np.minimum.reduceat(best[src.block.by_lead], src.block.lead_starts, axis=0))


def traced(lattice: Lattice, costs: Costs, reached: list[list[Floats]], last: State) -> tuple[State, ...]:
    """The cheapest way to a state of the last step reached, one state a step."""
    states = [last]
    for number in range(len(reached) - 1, 0, -1):
        states.append(source(lattice, costs, reached, number, states[-1]))
    return tuple(reversed(states))


def source(lattice: Lattice, costs: Costs, reached: list[list[Floats]], number: int, state: State) -> State:
    """The state of the step before from which a state is reached most cheaply; the first among equals."""
    step, before = lattice.steps[number], lattice.steps[number - 1].nodes
    node, memory, shape = state
    found: tuple[float, State] | None = None
    for edge in step.edges:
        if edge.dst != node:
            continue
        src, dst = before[edge.src], step.nodes[node]
        here = reached[number - 1][edge.src]
        heirs = np.flatnonzero(edge.heir == memory)
        if not len(heirs):
            continue
        price = edge_cost(edge, src.block, dst.block, costs)
        if edge.carries:
            value, place = float(here[heirs[0], shape] + price[shape]), (int(heirs[0]), shape)
        else:
            mine = np.flatnonzero((src.block.lead == np.array(src.block.leads[heirs[0]])).all(axis=1))
            total = here[:, mine] + recalled(edge, src, dst.block, costs)[:, [shape]] + price[mine, shape][None, :]
            m, x = np.unravel_index(int(np.argmin(total)), total.shape)
            value, place = float(total[m, x]), (int(m), int(mine[x]))
        if found is None or value < found[0]:
            found = value, (edge.src, *place)
    if found is None:
        raise AssertionError("a reached state has a source")
    return found[1]


def onto(lattice: Lattice, costs: Costs, rest: list[list[Floats]], number: int, state: State) -> State:
    """The state of the step after onto which the cheapest way on from a state leads; the first among equals."""
    step, (node, memory, shape) = lattice.steps[number + 1], state
    src = lattice.steps[number].nodes[node]
    found: tuple[float, State] | None = None
    for edge in step.edges:
        if edge.src != node:
            continue
        dst, ahead = step.nodes[edge.dst], rest[number + 1][edge.dst]
        price = edge_cost(edge, src.block, dst.block, costs)
        own = node_cost(dst, step, costs)
        if edge.carries:
            heir, there = int(edge.heir[memory]), shape
            value = float(price[shape] + own[shape] + ahead[heir, shape])
        else:
            heir = int(heirs_of(src, edge)[shape])
            total = price[shape] + recalled(edge, src, dst.block, costs)[memory] + own + ahead[heir]
            there = int(np.argmin(total))
            value = float(total[there])
        if found is None or value < found[0]:
            found = value, (edge.dst, heir, there)
    if found is None:
        raise AssertionError("every state of a lattice leads on")
    return found[1]


def edge_cost(edge: Edge, one: Block, other: Block, costs: Costs) -> Floats:
    """Cost of each move along an edge (n × m, or n where the hand stays still); inf where it is not allowed."""
    total = (
        np.zeros(one.size)
        if edge.carries
        else costs.move(one, other, edge.free, off_beat=edge.off_beat, rested=edge.rested)
    )
    if edge.chord is not None:
        gone = gone_on(edge, edge.chord, one, other, costs.clash(one.leads, other))
        total = total + costs.weights.terms["let_go"] * gone
    if edge.bent is not None:
        total = total + BENT * edge.bent
    for link, before, after in edge.links:
        total = total + _unslurred(link, before, after, one, other, carries=edge.carries)
    return total if edge.mask is None else np.where(edge.mask, total, np.inf)


def recalled(edge: Edge, src: Node, block: Block, costs: Costs) -> Floats:
    """Cost of each new shape for each lead before the last (memories × new shapes)."""
    recall = costs.recall(src.memory, block, rested=edge.rested or edge.slow)
    if edge.chord is None or not edge.chord.memory.any():
        return recall
    gone = gone_before(edge.chord, costs.clash(src.memory, block))
    return np.asarray(recall + costs.weights.terms["let_go"] * gone)


def node_cost(node: Node, step: LatticeStep, costs: Costs) -> Floats:
    """Cost of each shape of a node."""
    own = costs.opens(node.block, step.struck, step.climb) if node.still else costs.shape(node.block, step.climb)
    for tone, model in step.models:
        stops = side(node, tone)
        unlike = (stops != np.array(model)).any(axis=1) if model.string else stops[:, 2] != model.finger
        own = own + step.charge * unlike
    for tone, charges in step.fingers:
        own = own + charges[side(node, tone)[:, 2]]
    return own


def side(node: Node, tone: int) -> Ints:
    """Stops (n × 3) of a tone that sounds, in each shape of a node."""
    where = dict(node.columns).get(tone)
    return _side(node.block, where if where is not None else -dict(node.opens)[tone])


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
        stops = side(node, tone)
        for stop, cost in extra.get(tone, {}).items():
            total += cost * (stops == np.array(stop)).all(axis=1)
    return total


def placed_of(lattice: Lattice, states: tuple[State, ...]) -> tuple[Placed, ...]:
    """The stops of every tone along a way through the lattice. Before the hand's first place it waits there."""
    hands = [hand_at(lattice, number, state) for number, state in enumerate(states)]
    first = next((pos for pos in hands if pos > NOWHERE), 1)
    placed = {
        tone: Placed(stop=stop, position=pos if pos > NOWHERE else first)
        for number, (state, pos) in enumerate(zip(states, hands, strict=True))
        for tone, stop in stops_at(lattice, number, state).items()
    }
    return tuple(placed[tone] for tone in range(len(lattice.problem.tones)))


def hand_at(lattice: Lattice, number: int, state: State) -> int:
    """The hand's position in a state of a step."""
    return int(lattice.steps[number].nodes[state[0]].block.pos[state[2]])


def stops_at(lattice: Lattice, number: int, state: State) -> dict[int, Stop]:
    """The stops of the tones that begin at a step, in one of its states."""
    node = lattice.steps[number].nodes[state[0]]
    columns, opens = dict(node.columns), dict(node.opens)
    return {
        tone: Stop(*(int(x) for x in node.block.placed[state[2], columns[tone]]))
        if tone in columns
        else Stop(opens[tone], 0, 0)
        for tone in lattice.problem.groups[number].struck
    }


def onward(lattice: Lattice, costs: Costs) -> list[list[Floats]]:
    """For each step and node the cheapest cost of all that follows each state (memories × shapes)."""
    after = [np.zeros((len(node.memory), node.block.size)) for node in lattice.steps[-1].nodes]
    found = [after]
    for number in range(len(lattice.steps) - 1, 0, -1):
        step, before = lattice.steps[number], lattice.steps[number - 1].nodes
        here = [np.full((len(node.memory), node.block.size), np.inf) for node in before]
        ahead = [node_cost(node, step, costs) + rest for node, rest in zip(step.nodes, after, strict=True)]
        for edge in step.edges:
            src, dst = before[edge.src], step.nodes[edge.dst]
            price = edge_cost(edge, src.block, dst.block, costs)
            if edge.carries:
                value = price + ahead[edge.dst][edge.heir]
            else:
                value = _parted(recalled(edge, src, dst.block, costs), price + ahead[edge.dst][heirs_of(src, edge)])
            np.minimum(here[edge.src], value, out=here[edge.src])
        after = here
        found.append(here)
    return found[::-1]


def heirs_of(src: Node, edge: Edge) -> Ints:
    """For each shape of an edge's source its lead's place in the memory of the target."""
    block = src.block
    heirs = np.empty(block.size, dtype=np.int64)
    heirs[block.by_lead] = np.repeat(edge.heir, np.diff(np.append(block.lead_starts, block.size)))
    return heirs


def _parted(recall: Floats, price: Floats) -> Floats:
    """For each memory and shape the cheapest way on: recall is memories × new shapes, price shapes × new shapes."""
    if recall.size * len(price) <= _AT_ONCE:
        return np.asarray((recall[:, None, :] + price[None, :, :]).min(axis=2))
    return np.stack([(row[None, :] + price).min(axis=1) for row in recall])
