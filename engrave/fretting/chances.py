"""How likely each finger is on each note, over all fingerings at once, and a charge for the unlikely ones.

A fingering is as likely as exp(-cost), which is what the weights were fitted to. The cheapest of all may owe a finger
to a narrow margin somewhere else; summed over all fingerings, most notes have one finger that most of the likely ways
agree on. So each note is charged for each finger by how unlikely it is, and the line is searched once more: of the
cheap fingerings the one whose fingers most others share. On printed fingerings left out of the fit that is worth a
digit in a hundred. Twins (see engrave.fretting.likeness) share their chances.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from engrave.fretting.lattice import Lattice, LatticeStep, Node
from engrave.fretting.likeness import LONG, likened, twins_of
from engrave.fretting.pricing import Costs
from engrave.fretting.search import Path, cheapest, edge_cost, heirs_of, node_cost, recalled, side
from engrave.fretting.shapes import Floats

Sums = list[Floats]
"""for each node of a step a number for each state (memories × shapes)"""


def settled_on(lattice: Lattice, costs: Costs) -> tuple[Lattice, Path]:
    """The lattice with charges for twins that leave their model and for unlikely fingers, and its cheapest fingering.

    A line that is long is charged neither.
    """
    lattice, path = likened(lattice, costs)
    charge = costs.weights.terms["unlikely"]
    if not charge or not lattice.steps or len(lattice.steps) > LONG:
        return lattice, path
    likely = chances(lattice, costs)
    if likely is None:
        return lattice, path
    for twins in twins_of(lattice.problem):
        likely[list(twins.tones)] = likely[list(twins.tones)].mean(axis=0)
    charges = charge * (1 - likely)
    steps = tuple(
        replace(step, fingers=tuple((tone, charges[tone]) for tone in group.struck))
        for step, group in zip(lattice.steps, lattice.problem.groups, strict=True)
    )
    made = replace(lattice, steps=steps)
    return made, cheapest(made, costs)


def chances(lattice: Lattice, costs: Costs) -> Floats | None:
    """For each tone the chance of each finger (tones × 5), all fingerings as likely as exp(-cost).

    None where all that can be played to the end is less likely by more than numbers hold.
    """
    there = _there(lattice, costs)
    found = np.zeros((len(lattice.problem.tones), 5))
    on: Sums = [np.ones_like(values) for values in there[-1]]
    for number in range(len(lattice.steps) - 1, -1, -1):
        step = lattice.steps[number]
        shapes = [(a * b).sum(axis=0) for a, b in zip(there[number], on, strict=True)]
        whole = sum(float(values.sum()) for values in shapes)
        if not whole:
            return None
        for tone in lattice.problem.groups[number].struck:
            for node, values in zip(step.nodes, shapes, strict=True):
                found[tone] += np.bincount(side(node, tone)[:, 2], weights=values / whole, minlength=5)
        if number:
            on = _on(lattice.steps[number - 1].nodes, step, costs, on)
    return found


def _there(lattice: Lattice, costs: Costs) -> list[Sums]:
    """For each step and state how likely the ways to it are, all of a step together 1."""
    before: tuple[Node, ...] = (lattice.start,)
    here: Sums = [np.ones((1, 1))]
    found: list[Sums] = []
    for step in lattice.steps:
        made: Sums = [np.zeros((len(node.memory), node.block.size)) for node in step.nodes]
        for edge in step.edges:
            src, dst = before[edge.src], step.nodes[edge.dst]
            move, value = _weight(edge_cost(edge, src.block, dst.block, costs)), here[edge.src]
            if edge.carries:
                value = value * move
            else:
                value = value.T @ _weight(recalled(edge, src, dst.block, costs)) * move
                value = np.add.reduceat(value[src.block.by_lead], src.block.lead_starts, axis=0)
            # the heirs of an edge are all different, so plain addition will do
            made[edge.dst][edge.heir] += value
        here = _evened(
            values * _weight(node_cost(node, step, costs)) for node, values in zip(step.nodes, made, strict=True)
        )
        found.append(here)
        before = step.nodes
    return found


def _on(before: Sequence[Node], step: LatticeStep, costs: Costs, on: Sums) -> Sums:
    """For each state of the step before how likely the ways on from it are."""
    ahead = [values * _weight(node_cost(node, step, costs)) for node, values in zip(step.nodes, on, strict=True)]
    made: Sums = [np.zeros((len(node.memory), node.block.size)) for node in before]
    for edge in step.edges:
        src, dst = before[edge.src], step.nodes[edge.dst]
        move = _weight(edge_cost(edge, src.block, dst.block, costs))
        if edge.carries:
            value = ahead[edge.dst][edge.heir] * move
        else:
            onward = ahead[edge.dst][heirs_of(src, edge)] * move
            value = _weight(recalled(edge, src, dst.block, costs)) @ onward.T
        made[edge.src] += value
    return _evened(made)


def _weight(cost: Floats) -> Floats:
    return np.asarray(np.exp(-cost))


def _evened(values: Iterable[Floats]) -> Sums:
    """Values that add up to 1, or are all 0: products of many would leave the range of numbers."""
    made = list(values)
    whole = sum(float(one.sum()) for one in made)
    return [one / whole for one in made] if whole else made
