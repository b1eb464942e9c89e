"""How likely a model of costs makes the printed digits, and which way the weights should move.

A fingering has probability proportional to exp(-cost). The printed digits (and strings) of a row are its evidence,
taken with a little doubt; the loss is minus their log likelihood, summed over all fingerings, each as likely as its
costs and the marks it goes against make it, against all fingerings by costs alone. Sums run over the very lattice that
the search walks, onset by onset, in plain (not logarithmic) numbers scaled at each onset.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from engrave.fretting.costs import (
    TABLES,
    TERMS,
    Amount,
    Cells,
    move_terms,
    open_terms,
    recall_terms,
    shape_terms,
    travel_terms,
)
from engrave.fretting.held import clashes, gone_before, gone_on
from engrave.fretting.lattice import Edge, Lattice, LatticeStep, Node
from engrave.fretting.search import heirs_of
from engrave.fretting.shapes import NOWHERE, Block, Bools, Floats, Geometry, Ints, Past, Stop
from engrave.fretting.weights import Weights
from tests.benchmarks.fingering_rows import Row, printed_string

TERM = {name: index for index, name in enumerate(TERMS)}
TABLE: dict[str, int] = {}
SIZE = len(TERMS)
for _name, _cells in TABLES.items():
    TABLE[_name] = SIZE
    SIZE += _cells
Key = tuple[object, ...]
DOUBT = math.exp(-1)
"""how much less likely each printed mark that it goes against makes a fingering: editors differ, and a run of digits
that no weights explain should not bend them"""
HABITS = ("high", "open", "open_high")
"""weights that each edition sets for itself: where on the neck to play and how often on open strings"""
HABIT_SPREAD = (0.3, 0.9, 0.3)
"""prior deviation of an edition's habit from the common one: wide, so that a habit does not seep into the tables"""


@dataclass(frozen=True, slots=True)
class Part:
    """The amounts of all terms in one matrix of costs, ready to be multiplied with weights."""

    shape: tuple[int, ...]
    amounts: NDArray[np.float32]
    terms: Ints
    cells: tuple[Ints, ...]

    def cost(self, theta: Floats) -> Floats:
        """The matrix of costs."""
        total = self.amounts @ theta[self.terms]
        for cell in self.cells:
            total = total + theta[cell]
        return np.asarray(total.reshape(self.shape))

    def add(self, gradient: Floats, share: Floats) -> None:
        """Adds the amounts, each counted `share` times, to a gradient."""
        flat = share.reshape(-1)
        np.add.at(gradient, self.terms, self.amounts.T @ flat)
        for cell in self.cells:
            gradient += np.bincount(cell, weights=flat, minlength=SIZE + 1)


def part(terms: Iterable[Amount | Cells], shape: tuple[int, ...]) -> Part:
    """A Part from the terms of the engine."""
    columns: list[Floats] = []
    names: list[int] = []
    cells: list[Ints] = []
    for term in terms:
        if isinstance(term, Amount):
            if term.value.any():
                columns.append(term.value.reshape(-1))
                names.append(TERM[term.name])
            continue
        cell = np.where(term.cell >= 0, term.cell + TABLE[term.name], SIZE)
        rows = [cell.reshape(-1)] if cell.shape == shape else [cell[:, j] for j in range(cell.shape[1])]
        cells += rows
    size = int(np.prod(shape))
    made = np.stack(columns, axis=1) if columns else np.zeros((size, 0))
    amounts = made.astype(np.float32)
    return Part(shape, amounts, np.array(names, dtype=np.int64), tuple(cells))


@dataclass(frozen=True, slots=True)
class Sample:
    """One row: its lattice and, for each step and node, how well each shape fits the printed marks."""

    row: Row
    lattice: Lattice
    fits: tuple[tuple[Floats, ...], ...]
    length: int
    """steps up to the last printed mark"""
    habit: int = 0
    """number of the habit it was fingered with"""
    weight: float = 1.0
    """how much it counts"""


def sample(row: Row, lattice: Lattice) -> Sample:
    """A row with its evidence."""
    tones = lattice.problem.tones
    marks = {}
    for index, tone in enumerate(tones):
        notes = [row["notes"][int(name)] for name in tone.ids]
        fingers = [n["finger"] for n in notes if n["finger"] is not None]
        strings = [s for s in map(printed_string, notes) if s]
        marks[index] = (fingers[0] if fingers else None, strings[0] if strings else None)
    fits, last = [], 0
    for number, (step, group) in enumerate(zip(lattice.steps, lattice.problem.groups, strict=True)):
        if any(mark is not None for tone in group.struck for mark in marks[tone]):
            last = number + 1
        fits.append(tuple(_fit(node, {t: marks[t] for t in group.struck}) for node in step.nodes))
    return Sample(row, lattice, tuple(fits), last)


def _fit(node: Node, marks: dict[int, tuple[int | None, int | None]]) -> Floats:
    """For each shape DOUBT to the power of the number of marks that it goes against."""
    against = np.zeros(node.block.size)
    columns, opens = dict(node.columns), dict(node.opens)
    for tone, (finger, string) in marks.items():
        if tone in columns:
            strings, fingers = node.block.placed[:, columns[tone], 0], node.block.placed[:, columns[tone], 2]
        else:
            strings, fingers = np.full(node.block.size, opens[tone]), np.zeros(node.block.size, dtype=np.int64)
        if finger is not None:
            against += fingers != finger
        if string is not None:
            against += strings != string
    return np.asarray(DOUBT**against)


@dataclass(slots=True)
class Model:
    """Parts of all matrices, made once, and their values under the present weights."""

    weights: Weights
    """only its times (freedom, settle) are used"""
    parts: dict[Key, Part] = field(default_factory=dict)
    theta: Floats = field(default_factory=lambda: np.zeros(SIZE + 1))
    bent: Floats = field(default_factory=lambda: np.zeros((0, SIZE + 1)))
    """one row of weights for each habit"""
    values: dict[Key, Floats] = field(default_factory=dict)
    clashing: dict[Key, Bools] = field(default_factory=dict)

    def set(self, theta: Floats, habits: Floats) -> None:
        """New weights, and what each habit adds to the HABITS among them."""
        self.theta = np.append(theta, 0.0)
        self.bent = np.tile(self.theta, (len(habits), 1))
        self.bent[:, [TERM[name] for name in HABITS]] += habits
        self.values.clear()

    def value(self, key: Key, make: Callable[[], Part]) -> Floats:
        """exp(-cost) of a part."""
        if key not in self.values:
            self.values[key] = np.exp(-self._part(key, make).cost(self.theta))
        return self.values[key]

    def _part(self, key: Key, make: Callable[[], Part]) -> Part:
        if key not in self.parts:
            self.parts[key] = make()
        return self.parts[key]

    def node(self, node: Node, step: LatticeStep, geometry: Geometry, habit: int) -> tuple[Key, Floats]:
        """Key and value of a node under a habit."""
        block = node.block

        def make() -> Part:
            if node.still:
                return part(open_terms(block, step.struck, step.climb), (block.size,))
            return part(shape_terms(block, geometry, step.climb), (block.size,))

        kind = ("open", step.struck) if node.still else ("shape", 0)
        key: Key = (kind[0], block.serial, kind[1], step.climb)
        full: Key = (*key, habit)
        if full not in self.values:
            self.values[full] = np.exp(-self._part(key, make).cost(self.bent[habit]))
        return full, self.values[full]

    def move(self, edge: Edge, one: Block, other: Block, geometry: Geometry) -> tuple[Key, Floats]:
        """Key and value of an edge on which the hand moves."""
        shape = (one.size, other.size)
        share = self.weights.travel(edge.free)
        key: Key = ("move", one.serial, other.serial, share, edge.off_beat, edge.rested)
        if key not in self.values:
            fingers = self.value(
                ("fingers", one.serial, other.serial, edge.rested),
                lambda: part(move_terms(one, other, geometry, rested=edge.rested), shape),
            )
            travel = self.value(
                ("travel", one.serial, other.serial), lambda: part(travel_terms(one, other, geometry), shape)
            )
            total = fingers * travel**share
            if edge.off_beat:
                moved = (one.pos[:, None] != other.pos[None, :]) & (one.pos[:, None] > NOWHERE)
                total = total * np.exp(-self.theta[TERM["shift_off_beat"]] * moved)
            self.values[key] = total
        value = self.values[key]
        return key, value if edge.mask is None else value * edge.mask

    def gone_on(self, edge: Edge, one: Block, other: Block, geometry: Geometry) -> Floats | None:
        """How many of the last tones of a broken chord are let go on each move of an edge; None: none."""
        if edge.chord is None:
            return None
        return gone_on(edge, edge.chord, one, other, self._clash(one.leads, other, geometry))

    def gone_before(self, edge: Edge, src: Node, block: Block, geometry: Geometry) -> Floats | None:
        """The same of the leads before the last."""
        if edge.chord is None or not edge.chord.memory.any():
            return None
        return gone_before(edge.chord, self._clash(src.memory, block, geometry)).astype(float)

    def _clash(self, before: tuple[Stop | Past, ...], block: Block, geometry: Geometry) -> Bools:
        key = (before, block.serial)
        if key not in self.clashing:
            self.clashing[key] = clashes(before, block, geometry)
        return self.clashing[key]

    def kept(self, gone: Floats | None) -> Floats | float:
        """Factor for tones that are let go."""
        return 1.0 if gone is None else np.exp(-self.theta[TERM["let_go"]] * gone)

    def recall(self, edge: Edge, src: Node, block: Block) -> tuple[Key, Floats]:
        """Key and value of what a shape costs after each memory."""
        key: Key = ("recall", src.memory, block.serial, edge.rested or edge.slow)
        shape = (len(src.memory), block.size)
        return key, self.value(
            key, lambda: part(recall_terms(src.memory, block, rested=edge.rested or edge.slow), shape)
        )


@dataclass(slots=True)
class _Pass:
    """Forward values of one row, and what the way back needs. The first axis of all values: evidence seen, not seen."""

    reached: list[list[Floats]]
    scales: list[Floats]
    log: Floats


def _forward(model: Model, sample_: Sample) -> _Pass | None:
    lattice = sample_.lattice
    geometry = lattice.problem.geometry
    before: tuple[Node, ...] = (lattice.start,)
    here = [np.ones((2, 1, 1))]
    found = _Pass([here], [], np.zeros(2))
    for number in range(sample_.length):
        step = lattice.steps[number]
        there = [np.zeros((2, len(node.memory), node.block.size)) for node in step.nodes]
        for edge in step.edges:
            src, dst = before[edge.src], step.nodes[edge.dst]
            if edge.carries:
                kept = model.kept(model.gone_on(edge, src.block, dst.block, geometry))
                value = here[edge.src] * kept if edge.mask is None else here[edge.src] * edge.mask * kept
            else:
                _, move = model.move(edge, src.block, dst.block, geometry)
                _, recall = model.recall(edge, src, dst.block)
                recall = recall * model.kept(model.gone_before(edge, src, dst.block, geometry))
                joined = np.matmul(here[edge.src].transpose(0, 2, 1), recall)
                joined *= move * model.kept(model.gone_on(edge, src.block, dst.block, geometry))
                value = np.add.reduceat(joined[:, src.block.by_lead], src.block.lead_starts, axis=1)
            # the heirs of an edge are all different, so plain addition will do
            there[edge.dst][:, edge.heir] += value
        for index, node in enumerate(step.nodes):
            there[index] *= model.node(node, step, geometry, sample_.habit)[1]
            there[index][0] *= sample_.fits[number][index]
        scale = np.sum([values.sum(axis=(1, 2)) for values in there], axis=0)
        if not (scale > 0).all():
            return None
        here = [values / scale[:, None, None] for values in there]
        found.reached.append(here)
        found.scales.append(scale)
        found.log += np.log(scale)
        before = step.nodes
    return found


def _backward(model: Model, sample_: Sample, there: _Pass, shares: dict[Key, Floats]) -> None:
    """Adds how much more often each cell of each part is used with the evidence than without, times `weight`."""
    lattice = sample_.lattice
    geometry = lattice.problem.geometry

    def add(key: Key, amount: Floats) -> None:
        more = sample_.weight * (amount[0] - amount[1])
        shares[key] = shares[key] + more if key in shares else more

    after = [np.ones_like(values) for values in there.reached[-1]]
    for number in range(sample_.length - 1, -1, -1):
        step = lattice.steps[number]
        before = lattice.steps[number - 1].nodes if number else (lattice.start,)
        here = there.reached[number]
        back = [np.zeros_like(values) for values in here]
        weighed = []
        for index, node in enumerate(step.nodes):
            key, value = model.node(node, step, geometry, sample_.habit)
            add(key, (there.reached[number + 1][index] * after[index]).sum(axis=1))
            value = value / there.scales[number][:, None]
            value[0] *= sample_.fits[number][index]
            weighed.append(after[index] * value[:, None, :])
        for edge in step.edges:
            src, dst = before[edge.src], step.nodes[edge.dst]
            gone = model.gone_on(edge, src.block, dst.block, geometry)
            if edge.carries:
                value = weighed[edge.dst][:, edge.heir] * model.kept(gone)
                value = value if edge.mask is None else value * edge.mask
                back[edge.src] += value
                if gone is not None:
                    add(("let_go",), (here[edge.src] * value * gone).sum(axis=(1, 2)))
                continue
            move_key, move = model.move(edge, src.block, dst.block, geometry)
            recall_key, recall = model.recall(edge, src, dst.block)
            heirs = heirs_of(src, edge)
            past = model.gone_before(edge, src, dst.block, geometry)
            recall = recall * model.kept(past)
            onward = move * model.kept(gone) * weighed[edge.dst][:, heirs]
            back[edge.src] += np.matmul(recall, onward.transpose(0, 2, 1))
            used = np.matmul(here[edge.src].transpose(0, 2, 1), recall) * onward
            add(move_key, used)
            if gone is not None:
                add(("let_go",), (used * gone).sum(axis=(1, 2)))
            recalled = np.matmul(here[edge.src], onward) * recall
            add(recall_key, recalled)
            if past is not None:
                add(("let_go",), (recalled * past).sum(axis=(1, 2)))
        after = back


CELLS = 1_000_000_000
"""numbers of all parts kept at one time (4 bytes each)"""


def loss(model: Model, theta: Floats, habits: Floats, samples: Sequence[Sample]) -> tuple[float, Floats, Floats]:
    """Minus the log likelihood of the printed marks, and its gradients by weights and by habits (habits × HABITS)."""
    model.set(theta, habits)
    if sum(part_.amounts.size for part_ in model.parts.values()) > CELLS:
        model.parts.clear()
    shares: dict[Key, Floats] = {}
    total = 0.0
    for one in samples:
        found = _forward(model, one)
        if found is None:
            continue
        total += one.weight * float(found.log[1] - found.log[0])
        _backward(model, one, found, shares)
    gradient, bent = np.zeros(SIZE + 1), np.zeros((len(habits), SIZE + 1))
    for key, share in shares.items():
        if key[0] in ("shape", "open"):
            model.parts[key[:-1]].add(bent[int(str(key[-1]))], share)
        elif key[0] == "let_go":
            gradient[TERM["let_go"]] += float(share)
        elif key[0] != "move":
            model.parts[key].add(gradient, share)
        else:
            _move_gradient(model, key, share, gradient)
    own = bent[:, [TERM[name] for name in HABITS]]
    return total, (gradient + bent.sum(axis=0))[:SIZE], own


def _move_gradient(model: Model, key: Key, share: Floats, gradient: Floats) -> None:
    """Adds what the use of a move says about the weights."""
    _, one, other, part_of_shift, off_beat, rested = key
    model.parts["fingers", one, other, rested].add(gradient, share)
    travel = model.parts["travel", one, other]
    travel.add(gradient, share * float(str(part_of_shift)))
    if off_beat:
        column = np.flatnonzero(travel.terms == TERM["shift"])
        if len(column):
            moved = travel.amounts[:, column[0]]
            gradient[TERM["shift_off_beat"]] += float(moved @ share.reshape(-1))


def theta_of(weights: Weights) -> Floats:
    """A weight vector from weights."""
    terms = [weights.terms[name] for name in TERMS]
    return np.concatenate([np.array(terms), *(weights.tables[name][:-1] for name in TABLES)])


def weights_of(theta: Floats, like: Weights) -> Weights:
    """Weights from a vector; times as in `like`."""
    tables = {name: np.append(theta[start : start + TABLES[name]], 0.0) for name, start in TABLE.items()}
    terms = {name: float(theta[index]) for name, index in TERM.items()}
    return Weights(terms=terms, tables=tables, freedom=like.freedom, settle=like.settle)


def _level(u: Floats) -> None:
    """Leaves the table `spot` to tell fingers apart, not places: where on the neck to play is not to be learnt."""
    start = TABLE["spot"]
    table = u[start : start + TABLES["spot"]].reshape(4, -1)
    table -= table.mean(axis=0)


def weighed(samples: Sequence[Sample], groups: Sequence[str]) -> list[Sample]:
    """Samples of which each group has a habit of its own and counts as the square root of its number of digits.

    Without that a single long work would set most of the weights.
    """
    names = sorted(set(groups))
    digits = [sum(note["finger"] is not None for note in one.row["notes"]) for one in samples]
    size = {name: sum(n for n, group in zip(digits, groups, strict=True) if group == name) for name in names}
    rates = {name: max(size[name], 1) ** -0.5 for name in names}
    even = sum(digits) / sum(size[name] * rates[name] for name in names)
    return [
        replace(one, habit=names.index(group), weight=even * rates[group])
        for one, group in zip(samples, groups, strict=True)
    ]


def fitted(
    model: Model,
    start: Floats,
    spread: Floats,
    floor: Floats,
    samples: Sequence[Sample],
    *,
    plain: int | None = None,
    epochs: int = 3,
    batch: int = 16,
) -> Floats:
    """Weights that make the printed marks likely, held near `start`.

    Each weight's prior deviation from it is its `spread`, and none falls below its `floor`. The habits of the samples
    are fitted beside them and left out of the answer; habit `plain` stays the common one. Adam on batches of rows in a
    fixed pseudo-random order, the mean of the last two rounds. Deterministic.
    """
    rows = [one for one in samples if one.length]
    kinds = 1 + max(one.habit for one in rows)
    size = len(start)
    spreads = np.concatenate([spread, np.tile(HABIT_SPREAD, kinds)])
    order = np.random.default_rng(0)
    u, first, second, mean = (np.zeros(len(spreads)) for _ in range(4))
    rounds = count = 0
    for epoch in range(epochs):
        shuffled = order.permutation(len(rows))
        for at in range(0, len(rows), batch):
            chosen = [rows[i] for i in shuffled[at : at + batch]]
            now = spreads * u
            _, gradient, own = loss(model, start + now[:size], now[size:].reshape(kinds, -1), chosen)
            slope = np.concatenate([gradient, own.reshape(-1)]) * spreads + u * len(chosen) / len(rows)
            rounds += 1
            print(f"round {rounds}", file=sys.stderr, flush=True)
            first = 0.9 * first + 0.1 * slope
            second = 0.98 * second + 0.02 * slope**2
            pace = 0.08 * (1 - 0.8 * epoch / epochs)
            u = u - pace * (first / (1 - 0.9**rounds)) / (np.sqrt(second / (1 - 0.98**rounds)) + 1e-6)
            _level(u)
            if plain is not None:
                u[size + len(HABITS) * plain : size + len(HABITS) * (plain + 1)] = 0
            u[:size] = np.where(spread > 0, np.maximum(u[:size], (floor - start) / np.where(spread > 0, spread, 1)), 0)
            if epoch >= epochs - 2:
                mean += u
                count += 1
    return np.asarray(start + (spreads * mean / max(count, 1))[:size])
