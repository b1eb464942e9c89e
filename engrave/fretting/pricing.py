"""The costs of shapes and moves under one set of weights, each worked out once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from engrave.fretting.costs import Amount, Cells, move_terms, open_terms, recall_terms, shape_terms, travel_terms
from engrave.fretting.held import clashes
from engrave.fretting.shapes import Block, Bools, Floats, Geometry, Past, Stop
from engrave.fretting.weights import Weights

CACHE_CELLS = 30_000_000
"""cells of move matrices kept at one time (8 bytes each)"""


@dataclass(slots=True)
class Costs:
    """Costs under one set of weights. Blocks are known by their serial numbers."""

    weights: Weights
    geometry: Geometry
    _shape: dict[tuple[int, float], Floats] = field(default_factory=dict)
    _opens: dict[tuple[int, int, float], Floats] = field(default_factory=dict)
    _parts: dict[tuple[int, int, bool], tuple[Floats, Floats, Floats]] = field(default_factory=dict)
    _moves: dict[tuple[int, int, float, bool, bool], Floats] = field(default_factory=dict)
    _recall: dict[tuple[tuple[Past, ...], int, bool], Floats] = field(default_factory=dict)
    _clash: dict[tuple[tuple[Stop | Past, ...], int], Bools] = field(default_factory=dict)
    _cells: int = 0

    def shape(self, block: Block, climb: float) -> Floats:
        """Cost of each shape of a block where the music climbs so far."""
        key = (block.serial, climb)
        if key not in self._shape:
            self._shape[key] = self._sum(shape_terms(block, self.geometry, climb), (block.size,))
        return self._shape[key]

    def opens(self, block: Block, count: int, climb: float) -> Floats:
        """Cost of striking `count` open strings with the hand in each shape of a block."""
        key = (block.serial, count, climb)
        if key not in self._opens:
            self._opens[key] = self._sum(open_terms(block, count, climb), (block.size,))
        return self._opens[key]

    def recall(self, memory: tuple[Past, ...], block: Block, *, rested: bool) -> Floats:
        """Cost of each new shape for each lead before the last (m × n); `rested`: the hand has just had a rest."""
        key = (memory, block.serial, rested)
        if key not in self._recall:
            self._recall[key] = self._sum(recall_terms(memory, block, rested=rested), (len(memory), block.size))
        return self._recall[key]

    def clash(self, before: tuple[Stop | Past, ...], block: Block) -> Bools:
        """Which of `before` have to be let go for each shape (c × n)."""
        key = (before, block.serial)
        if key not in self._clash:
            self._clash[key] = clashes(before, block, self.geometry)
            self._keep(self._clash[key].size)
        return self._clash[key]

    def move(self, one: Block, other: Block, free: float, *, off_beat: bool, rested: bool) -> Floats:
        """Cost of each move between two blocks, `free` quarters after the last finger was needed (n × m)."""
        share = self.weights.travel(free)
        key = (one.serial, other.serial, share, off_beat, rested)
        if key not in self._moves:
            fingers, travel, moved = self._split(one, other, rested=rested)
            total = fingers + share * travel
            if off_beat:
                total += self.weights.terms["shift_off_beat"] * moved
            self._keep(total.size)
            self._moves[key] = total
        return self._moves[key]

    def _split(self, one: Block, other: Block, *, rested: bool) -> tuple[Floats, Floats, Floats]:
        """What the fingers do, what the hand's travel costs, and whether it moves at all."""
        key = (one.serial, other.serial, rested)
        if key not in self._parts:
            shape = (one.size, other.size)
            travel = list(travel_terms(one, other, self.geometry))
            moved = next(term.value for term in travel if term.name == "shift")
            self._keep(3 * one.size * other.size)
            self._parts[key] = (
                self._sum(move_terms(one, other, self.geometry, rested=rested), shape),
                self._sum(travel, shape),
                moved,
            )
        return self._parts[key]

    def _keep(self, cells: int) -> None:
        """Makes room: what is forgotten is worked out again when it is needed."""
        self._cells += cells
        if self._cells > CACHE_CELLS:
            self._parts.clear()
            self._moves.clear()
            self._recall.clear()
            self._clash.clear()
            self._cells = cells

    def _sum(self, terms: Iterable[Amount | Cells], shape: tuple[int, ...]) -> Floats:
        total = np.zeros(shape)
        for term in terms:
            if isinstance(term, Amount):
                weight = self.weights.terms[term.name]
                if weight:
                    total += weight * term.value
            else:
                cells = self.weights.tables[term.name][term.cell]
                total += cells if cells.shape == shape else cells.sum(axis=1)
        return total
