"""Every fingering of a passage as a lattice: one step an onset, nodes of hand shapes, edges between them.

A node is a block of shapes plus the open strings struck since: where an onset can be played on open strings alone, the
shapes of the node before stay as they are, so the hand keeps its place and its last fingers through open
strings. So they are where what was struck is struck again: a tremolo or a repeated chord is one shape. Which shapes may
follow each other is decided here (held tones keep string and finger, ringing strings are not struck again, fingers keep
their turn); what it costs is not.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np

from engrave.fretting.lattice import Chord, Dead, Edge, Lattice, LatticeStep, Link, Node, Problem
from engrave.fretting.restruck import repeated, struck_again
from engrave.fretting.shapes import NOWHERE, Block, Bools, Ints, Past, shapes, start_block
from engrave.fretting.tones import ToneGroup

Sounding = tuple[tuple[int, int], ...]
"""tones that sound, each with its column of a block or its open string"""
SLOW = 1.0
"""quarters from a note to the next in which a finger that is not needed gets anywhere; a house figure"""


@dataclass(slots=True)
class BlockMaker:
    """Makes blocks, each once; shared by searches on one instrument and hand."""

    blocks: dict[object, Block] = field(default_factory=dict)
    masks: dict[object, Bools] = field(default_factory=dict)
    start: Block = field(default_factory=start_block)

    def block(self, problem: Problem, group: ToneGroup) -> Block:
        """The block of an onset's sounding tones."""
        sounding = _sounding(problem, group)
        struck = tuple(tone in group.struck for tone in sounding)
        stops = tuple(problem.stops[tone] for tone in sounding)
        key = (stops, struck, problem.slot, problem.positions)
        if key not in self.blocks:
            self.blocks[key] = shapes(
                stops, struck, geometry=problem.geometry, slot=problem.slot, positions=problem.positions
            )
        return self.blocks[key]

    def mask(self, src: Node, block: Block, kept: tuple[tuple[str, int, int], ...]) -> Bools | None:
        """Which shapes of `src` may go to which of `block`, given how the held tones lie in both."""
        if not kept:
            return None
        key = (src.block.serial, block.serial, kept)
        if key not in self.masks:
            ok = np.ones((src.block.size, block.size), dtype=bool)
            for kind, before, column in kept:
                here = block.placed[None, :, column, :]
                if kind == "open":
                    ok &= (here[..., 0] == before) & (here[..., 2] == 0)
                else:
                    ok &= (src.block.placed[:, None, before, :] == here).all(axis=2)
            self.masks[key] = ok
        return self.masks[key]


def lattice_of(
    problem: Problem, maker: BlockMaker, prefix: tuple[LatticeStep, ...] = (), until: int | None = None
) -> Lattice | Dead:
    """The lattice of a problem, or the first onset that cannot be reached.

    `prefix`: the first steps where they are known already; `until`: number of onsets to go, if not all.
    """
    start = Node(block=maker.start, columns=(), still=True)
    nodes: tuple[Node, ...] = prefix[-1].nodes if prefix else (start,)
    alive: tuple[Bools, ...] = prefix[-1].alive if prefix else (np.ones(1, dtype=bool),)
    steps: list[LatticeStep] = list(prefix)
    for number in range(len(prefix), len(problem.groups) if until is None else until):
        step = _step(problem, maker, number, nodes, alive)
        if step is None:
            return Dead(group=number, steps=tuple(steps))
        steps.append(step)
        nodes, alive = step.nodes, step.alive
    return Lattice(problem=problem, start=start, steps=tuple(steps))


def _sounding(problem: Problem, group: ToneGroup) -> tuple[int, ...]:
    tones = problem.tones
    return tuple(sorted(group.held + group.struck, key=lambda i: (tones[i].midi, i)))


def _step(
    problem: Problem, maker: BlockMaker, number: int, before: tuple[Node, ...], living: tuple[Bools, ...]
) -> LatticeStep | None:
    """The nodes and edges of one onset."""
    group = problem.groups[number]
    if number and struck_again(problem, problem.groups[number - 1], group):
        return repeated(problem, number, before, living)
    step = LatticeStep(nodes=(), edges=(), alive=(), struck=len(group.struck), climb=problem.climbs[number])
    block = maker.block(problem, group)
    if block.size:
        columns = tuple((tone, c) for c, tone in enumerate(_sounding(problem, group)))
        node = Node(block=block, columns=columns, memory=_united(_past(src) for src in before))
        made = (
            _stopping(problem, maker, group=group, index=index, src=src, node=node) for index, src in enumerate(before)
        )
        edges = tuple(edge for edge in made if edge is not None)
        here = np.zeros(block.size, dtype=bool)
        for edge in edges:
            here |= _reached(living[edge.src], edge.mask, block.size)
        if here.any():
            step = replace(step, nodes=(node,), edges=edges, alive=(here,))
    step = _carry(problem, group, before, living, step)
    return step if step.nodes else None


def _past(src: Node) -> tuple[Past, ...]:
    """What the leads of a node are to the shape that follows."""
    return tuple(Past(*lead, rested=src.rested) for lead in src.block.leads)


def _united(rows: Iterable[tuple[Past, ...]]) -> tuple[Past, ...]:
    """All leads of several rows, each once."""
    return tuple(dict.fromkeys(lead for row in rows for lead in row))


def _places(leads: tuple[Past, ...], row: tuple[Past, ...]) -> Ints:
    """The place of each lead in a row."""
    place = {lead: i for i, lead in enumerate(row)}
    return np.array([place[lead] for lead in leads], dtype=np.int64)


def _reached(living: Bools, mask: Bools | None, size: int) -> Bools:
    if mask is None:
        return np.full(size, bool(living.any()))
    return np.asarray(mask[living].any(axis=0))


def _stopping(
    problem: Problem, maker: BlockMaker, *, group: ToneGroup, index: int, src: Node, node: Node
) -> Edge | None:
    """The edge on which the hand takes a new shape; None if a held tone is no longer there."""
    column = dict(node.columns)
    opens, columns = dict(src.opens), dict(src.columns)
    kept: list[tuple[str, int, int]] = []
    for tone in group.held:
        if tone in opens:
            kept.append(("open", opens[tone], column[tone]))
        elif tone in columns:
            kept.append(("shape", columns[tone], column[tone]))
        else:
            return None
    mask = maker.mask(src, node.block, tuple(kept))
    if problem.still:
        stays = _stays(src.block, node.block)
        mask = stays if mask is None else mask & stays
    bent = None
    if problem.turn is not None:
        turn = _turns(problem.turn, src.block, node.block)
        if problem.bend:
            bent = ~turn
        else:
            mask = turn if mask is None else mask & turn
    if mask is not None and not mask.any():
        return None
    return Edge(
        src=index,
        dst=0,
        carries=False,
        free=(group.gap if src.free else group.rest),
        off_beat=not group.beat,
        rested=src.rested,
        slow=group.gap >= SLOW,
        heir=_places(_past(src), node.memory),
        mask=mask,
        bent=bent,
        chord=_chord(problem, group, src),
        links=_links(problem, group, src, column),
    )


def _chord(problem: Problem, group: ToneGroup, src: Node) -> Chord | None:
    """What a node may still hold of the broken chord an onset belongs to."""
    if not group.ringing:
        return None
    cells = {(stop.string, stop.fret) for tone in group.ringing for stop in problem.stops[tone] if stop.fret}
    leads, memory = (np.array([(s.string, s.fret) in cells for s in row]) for row in (src.block.leads, src.memory))
    opens = tuple(sorted(string for tone, string in src.opens if tone in group.ringing))
    return Chord(leads=leads, memory=memory, opens=opens) if leads.any() or memory.any() or opens else None


def _stays(one: Block, other: Block) -> Bools:
    """Moves on which the hand keeps its position, or takes its first."""
    before = one.pos[:, None]
    return np.asarray((before == other.pos[None, :]) | (before == NOWHERE))


def _turns(turn: Mapping[int, frozenset[int]], one: Block, other: Block) -> Bools:
    """Moves in which the new fretted notes are all stopped by one finger whose turn it is."""
    allowed = np.zeros((5, 5), dtype=bool)
    for finger, then in turn.items():
        allowed[finger, sorted(then)] = True
    single = other.new.sum(axis=1) == 1
    return np.asarray(allowed[one.lead[:, 2][:, None], other.lead[:, 2][None, :]] & single[None, :])


def _links(
    problem: Problem, group: ToneGroup, src: Node, after: Mapping[int, int]
) -> tuple[tuple[Link, int, int], ...]:
    """The slurs into an onset with where their tones lie, a column or minus an open string; `after`: of what begins."""
    where = {tone: -string for tone, string in src.opens} | dict(src.columns)
    return tuple(
        (link, where[link.before], after[link.after])
        for link in problem.links
        if link.after in group.struck and link.before in where
    )


def _carry(
    problem: Problem, group: ToneGroup, before: tuple[Node, ...], living: tuple[Bools, ...], step: LatticeStep
) -> LatticeStep:
    """`step` with the nodes on which the onset is played on open strings and the hand stays still."""
    strings = [tuple(stop.string for stop in problem.stops[tone] if stop.finger == 0) for tone in group.struck]
    choices = [choice for choice in product(*strings) if len(set(choice)) == len(choice)]
    found: dict[tuple[int, Sounding, Sounding], list[tuple[int, Bools]]] = {}
    for index, src in enumerate(before):
        columns = tuple((tone, c) for tone, c in src.columns if tone in group.held)
        opens = tuple((tone, s) for tone, s in src.opens if tone in group.held)
        if len(columns) + len(opens) < len(group.held):
            continue
        for choice in choices:
            mask = _clear(src.block, columns, opens, choice) & living[index]
            if mask.any():
                key = (src.block.serial, columns, (*opens, *zip(group.struck, choice, strict=True)))
                found.setdefault(key, []).append((index, mask))
    nodes, alive, edges = list(step.nodes), list(step.alive), list(step.edges)
    for (_, columns, opens), ways in found.items():
        memory = _united(before[index].memory for index, _ in ways)
        block, strung = before[ways[0][0]].block, dict(opens)
        for index, mask in ways:
            src = before[index]
            edge = Edge(
                src=index,
                dst=len(nodes),
                carries=True,
                free=0.0,
                off_beat=not group.beat,
                heir=_places(src.memory, memory),
                mask=mask,
                struck=tuple(sorted(strung[tone] for tone in group.struck)),
                chord=_chord(problem, group, src),
                links=_links(problem, group, src, {tone: -string for tone, string in opens}),
            )
            edges.append(edge)
        nodes.append(Node(block=block, columns=columns, opens=opens, still=True, rested=True, memory=memory))
        alive.append(np.any([mask for _, mask in ways], axis=0))
    edges.sort(key=lambda edge: edge.src)
    return replace(step, nodes=tuple(nodes), alive=tuple(alive), edges=tuple(edges))


def _clear(
    block: Block, columns: tuple[tuple[int, int], ...], opens: tuple[tuple[int, int], ...], choice: tuple[int, ...]
) -> Bools:
    """Shapes that leave the open strings of `choice` free: nothing that still sounds is on them or lies over them."""
    mask = np.ones(block.size, dtype=bool)
    if any(s in choice for _, s in opens):
        mask[:] = False
    for _, c in columns:
        mask &= ~np.isin(block.placed[:, c, 0], choice)
        mask &= ~_covered(block, c, choice)
    return mask


def _covered(block: Block, column: int, choice: tuple[int, ...]) -> Bools:
    """Shapes in which the finger that holds `column` lies, as a barre, over one of the open strings of `choice`."""
    finger = block.placed[:, column, 2]
    low = np.take_along_axis(block.low, finger[:, None], axis=1)[:, 0]
    high = np.take_along_axis(block.high, finger[:, None], axis=1)[:, 0]
    inside = np.zeros(block.size, dtype=bool)
    for string in choice:
        inside |= (finger > 0) & (low < string) & (string < high)
    return inside
