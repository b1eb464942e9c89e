"""How likely a model of costs makes the printed digits, and which way the weights should move.

A fingering has probability proportional to exp(-cost). The printed digits (and strings) of a row are its evidence; the
loss is minus their log likelihood, summed over all fingerings that agree with them against all fingerings. Sums run
over the very lattice that the search walks, frame by frame, in plain (not logarithmic) numbers scaled at each frame.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

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
from engrave.fretting.shapes import NOWHERE, Block, Bools, Floats, Ground, Ints
from engrave.fretting.web import Edge, Lattice, Node
from engrave.fretting.weights import Weights
from tests.benchmarks.fingering_rows import Row, printed_string

TERM = {name: index for index, name in enumerate(TERMS)}
TABLE: dict[str, int] = {}
SIZE = len(TERMS)
for _name, _cells in TABLES.items():
    TABLE[_name] = SIZE
    SIZE += _cells
Key = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """The amounts of all terms in one matrix of costs, ready to be multiplied with weights."""

    shape: tuple[int, ...]
    amounts: Floats
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
    amounts = np.stack(columns, axis=1) if columns else np.zeros((size, 0))
    return Part(shape, amounts, np.array(names, dtype=np.int64), tuple(cells))


@dataclass(frozen=True, slots=True)
class Sample:
    """One row: its lattice and, for each step and node, which shapes agree with the printed marks."""

    row: Row
    lattice: Lattice
    agrees: tuple[tuple[Bools, ...], ...]
    length: int
    """steps up to the last printed mark"""


def sample(row: Row, lattice: Lattice) -> Sample:
    """A row with its evidence. Marks that no shape allows are left out."""
    tones = lattice.problem.tones
    marks = {}
    for index, tone in enumerate(tones):
        notes = [row["notes"][int(name)] for name in tone.ids]
        fingers = [n["finger"] for n in notes if n["finger"] is not None]
        strings = [s for s in map(printed_string, notes) if s]
        marks[index] = (fingers[0] if fingers else None, strings[0] if strings else None)
    agrees, last = [], 0
    for number, (step, frame) in enumerate(zip(lattice.steps, lattice.problem.frames, strict=True)):
        rows = tuple(_agreeing(node, {t: marks[t] for t in frame.struck}) for node in step.nodes)
        if not any(row_.any() for row_ in rows):
            rows = tuple(np.ones_like(row_) for row_ in rows)
        if not all(row_.all() for row_ in rows):
            last = number + 1
        agrees.append(rows)
    return Sample(row, lattice, tuple(agrees), last)


def _agreeing(node: Node, marks: dict[int, tuple[int | None, int | None]]) -> Bools:
    ok = np.ones(node.block.size, dtype=bool)
    columns, opens = dict(node.columns), dict(node.opens)
    for tone, (finger, string) in marks.items():
        if tone in columns:
            strings, fingers = node.block.placed[:, columns[tone], 0], node.block.placed[:, columns[tone], 2]
        else:
            strings, fingers = np.full(node.block.size, opens[tone]), np.zeros(node.block.size, dtype=np.int64)
        if finger is not None:
            ok &= fingers == finger
        if string is not None:
            ok &= strings == string
    return ok


@dataclass(slots=True)
class Model:
    """Parts of all matrices, made once, and their values under the present weights."""

    weights: Weights
    """only its times (freedom, settle) are used"""
    parts: dict[Key, Part] = field(default_factory=dict)
    theta: Floats = field(default_factory=lambda: np.zeros(SIZE + 1))
    values: dict[Key, Floats] = field(default_factory=dict)

    def set(self, theta: Floats) -> None:
        """New weights."""
        self.theta = np.append(theta, 0.0)
        self.values.clear()

    def value(self, key: Key, make: Callable[[], Part]) -> Floats:
        """exp(-cost) of a part."""
        if key not in self.values:
            if key not in self.parts:
                self.parts[key] = make()
            self.values[key] = np.exp(-self.parts[key].cost(self.theta))
        return self.values[key]

    def node(self, node: Node, struck: int, ground: Ground) -> tuple[Key, Floats]:
        """Key and value of a node."""
        block = node.block
        if node.carried:
            key: Key = ("open", block.serial, struck)
            return key, self.value(key, lambda: part(open_terms(block, struck), (block.size,)))
        key = ("shape", block.serial)
        return key, self.value(key, lambda: part(shape_terms(block, ground), (block.size,)))

    def move(self, edge: Edge, one: Block, other: Block, ground: Ground) -> tuple[Key, Floats]:
        """Key and value of an edge on which the hand moves."""
        shape = (one.size, other.size)
        share = self.weights.travel(edge.free)
        key: Key = ("move", one.serial, other.serial, share, edge.off_beat)
        if key not in self.values:
            fingers = self.value(
                ("fingers", one.serial, other.serial), lambda: part(move_terms(one, other, ground), shape)
            )
            travel = self.value(
                ("travel", one.serial, other.serial), lambda: part(travel_terms(one, other, ground), shape)
            )
            total = fingers * travel**share
            if edge.off_beat:
                moved = (one.pos[:, None] != other.pos[None, :]) & (one.pos[:, None] > NOWHERE)
                total = total * np.exp(-self.theta[TERM["shift_off_beat"]] * moved)
            self.values[key] = total
        value = self.values[key]
        return key, value if edge.mask is None else value * edge.mask

    def recall(self, src: Node, block: Block) -> tuple[Key, Floats]:
        """Key and value of what a shape costs after each memory."""
        key: Key = ("recall", src.memory, block.serial)
        shape = (len(src.memory), block.size)
        return key, self.value(key, lambda: part(recall_terms(src.memory, block), shape))


@dataclass(slots=True)
class _Pass:
    """Forward values of one row, and what the way back needs."""

    reached: list[list[Floats]]
    scales: list[float]
    log: float


def _spread(values: Floats, heir: Ints, size: int) -> Floats:
    """Rows added up where their heirs are the same."""
    target = np.zeros((size, values.shape[1]))
    np.add.at(target, heir, values)
    return target


def _forward(model: Model, sample_: Sample, *, given: bool) -> _Pass | None:
    lattice = sample_.lattice
    ground = lattice.problem.ground
    before: tuple[Node, ...] = (lattice.start,)
    here = [np.ones((1, 1))]
    found = _Pass([here], [], 0.0)
    for number in range(sample_.length):
        step = lattice.steps[number]
        there = [np.zeros((len(node.memory), node.block.size)) for node in step.nodes]
        for edge in step.edges:
            src, dst = before[edge.src], step.nodes[edge.dst]
            if edge.carries:
                value = here[edge.src] if edge.mask is None else here[edge.src] * edge.mask
            else:
                _, move = model.move(edge, src.block, dst.block, ground)
                _, recall = model.recall(src, dst.block)
                joined = (here[edge.src].T @ recall) * move
                value = np.add.reduceat(joined[src.block.by_lead], src.block.lead_starts, axis=0)
            there[edge.dst] += _spread(value, edge.heir, len(dst.memory))
        for index, node in enumerate(step.nodes):
            there[index] *= model.node(node, step.struck, ground)[1]
            if given:
                there[index] *= sample_.agrees[number][index]
        scale = float(sum(values.sum() for values in there))
        if not scale > 0:
            return None
        here = [values / scale for values in there]
        found.reached.append(here)
        found.scales.append(scale)
        found.log += float(np.log(scale))
        before = step.nodes
    return found


def _backward(
    model: Model, sample_: Sample, there: _Pass, *, given: bool, sign: float, shares: dict[Key, Floats]
) -> None:
    """Adds the expected number of times each cell of each part is used, times `sign`, to `shares`."""
    lattice = sample_.lattice
    ground = lattice.problem.ground

    def add(key: Key, amount: Floats) -> None:
        shares[key] = shares[key] + sign * amount if key in shares else sign * amount

    after = [np.ones_like(values) for values in there.reached[-1]]
    for number in range(sample_.length - 1, -1, -1):
        step = lattice.steps[number]
        before = lattice.steps[number - 1].nodes if number else (lattice.start,)
        here = there.reached[number]
        back = [np.zeros_like(values) for values in here]
        weighed = []
        for index, node in enumerate(step.nodes):
            key, value = model.node(node, step.struck, ground)
            add(key, (there.reached[number + 1][index] * after[index]).sum(axis=0))
            value = value / there.scales[number]
            weighed.append(after[index] * (value * sample_.agrees[number][index] if given else value))
        for edge in step.edges:
            src, dst = before[edge.src], step.nodes[edge.dst]
            if edge.carries:
                value = weighed[edge.dst][edge.heir]
                back[edge.src] += value if edge.mask is None else value * edge.mask
                continue
            move_key, move = model.move(edge, src.block, dst.block, ground)
            recall_key, recall = model.recall(src, dst.block)
            heirs = np.empty(src.block.size, dtype=np.int64)
            heirs[src.block.by_lead] = np.repeat(edge.heir, np.diff(np.append(src.block.lead_starts, src.block.size)))
            onward = move * weighed[edge.dst][heirs]
            back[edge.src] += recall @ onward.T
            add(move_key, (here[edge.src].T @ recall) * onward)
            add(recall_key, (here[edge.src] @ onward) * recall)
        after = back


def loss(model: Model, theta: Floats, samples: Sequence[Sample]) -> tuple[float, Floats]:
    """Minus the log likelihood of the printed marks, and its gradient."""
    model.set(theta)
    shares: dict[Key, Floats] = {}
    total = 0.0
    for one in samples:
        given = _forward(model, one, given=True)
        free = _forward(model, one, given=False)
        if given is None or free is None:
            continue
        total += free.log - given.log
        _backward(model, one, given, given=True, sign=1.0, shares=shares)
        _backward(model, one, free, given=False, sign=-1.0, shares=shares)
    gradient = np.zeros(SIZE + 1)
    for key, share in shares.items():
        if key[0] != "move":
            model.parts[key].add(gradient, share)
            continue
        _, one_, other, part_of_shift, off_beat = key
        model.parts["fingers", one_, other].add(gradient, share)
        travel = model.parts["travel", one_, other]
        travel.add(gradient, share * float(str(part_of_shift)))
        if off_beat:
            column = np.flatnonzero(travel.terms == TERM["shift"])
            if len(column):
                moved = travel.amounts[:, column[0]]
                gradient[TERM["shift_off_beat"]] += float(moved @ share.reshape(-1))
    return total, gradient[:SIZE]


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
    """Leaves the table `place` to tell fingers apart, not places: where on the neck to play is not to be learnt."""
    start = TABLE["place"]
    cells = u[start : start + TABLES["place"]].reshape(4, -1)
    cells -= cells.mean(axis=0)


def fitted(
    model: Model, start: Floats, spread: Floats, samples: Sequence[Sample], *, epochs: int = 6, batch: int = 16
) -> Floats:
    """Weights that make the printed marks likely, held near `start`: each weight's prior deviation is its `spread`.

    Adam on batches of rows in a fixed pseudo-random order, the mean of the last two rounds. Deterministic.
    """
    rows = [one for one in samples if one.length]
    order = np.random.default_rng(0)
    u, first, second, mean = (np.zeros(len(start)) for _ in range(4))
    rounds = count = 0
    for epoch in range(epochs):
        shuffled = order.permutation(len(rows))
        for at in range(0, len(rows), batch):
            chosen = [rows[i] for i in shuffled[at : at + batch]]
            _, gradient = loss(model, start + spread * u, chosen)
            slope = gradient * spread + u * len(chosen) / len(rows)
            rounds += 1
            first = 0.9 * first + 0.1 * slope
            second = 0.98 * second + 0.02 * slope**2
            pace = 0.06 * (1 - 0.8 * epoch / epochs)
            u = u - pace * (first / (1 - 0.9**rounds)) / (np.sqrt(second / (1 - 0.98**rounds)) + 1e-6)
            _level(u)
            if epoch >= epochs - 2:
                mean += u
                count += 1
    return np.asarray(start + spread * mean / max(count, 1))
