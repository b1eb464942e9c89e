"""Why a note takes its finger: what the nearest other finger would cost, in the hand's own terms.

For every fretted note the search knows the cheapest fingering of the whole line in which another finger stops that
note on the same string. The words compare the two around the note.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from engrave.fretting.engine import Task
from engrave.fretting.search import Path, State, forward, onward, traced
from engrave.fretting.shapes import NOWHERE, Floats, Ground, Stop
from engrave.fretting.web import Node


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why one note is fingered as it is."""

    note: str
    """id of the note"""
    finger: int
    string: int
    instead: int
    """the finger that comes nearest"""
    dearer: float
    """what the cheapest fingering with that finger costs more"""
    words: str
    """e.g. "3 on ②: 1 would shift 33 mm" """


CIRCLED = "⓪①②③④⑤⑥⑦⑧⑨"


def reasons(task: Task, path: Path) -> tuple[Reason, ...]:
    """A reason for each fretted note that another finger could stop on the same string, in the order of the tones."""
    lattice = task.lattice
    if not lattice.steps:
        return ()
    reached, rest = forward(lattice, task.costs), onward(lattice, task.costs)
    found: list[Reason] = []
    for number, frame in enumerate(lattice.problem.frames):
        step = lattice.steps[number]
        through = [a + b for a, b in zip(reached[number], rest[number], strict=True)]
        for tone in frame.struck:
            stop = path.placed[tone].stop
            if not stop.finger:
                continue
            other = _nearest(step.nodes, through, tone, stop)
            if other is None:
                continue
            cost, state = other
            before = traced(lattice, task.costs, reached[: number + 1], state, steps=1)
            finger, words = _words(task, path, number, tone, before)
            found.append(
                Reason(
                    note=task.tones[tone].ids[0],
                    finger=stop.finger,
                    string=stop.string,
                    instead=finger,
                    dearer=round(cost - path.cost, 3),
                    words=f"{stop.finger} on {CIRCLED[stop.string]}: {finger} {words}",
                )
            )
    return tuple(found)


def _nearest(nodes: tuple[Node, ...], through: list[Floats], tone: int, stop: Stop) -> tuple[float, State] | None:
    """The cheapest state in which another finger stops the tone on the same string."""
    best: tuple[float, State] | None = None
    for index, node in enumerate(nodes):
        column = dict(node.columns).get(tone)
        if column is None:
            continue
        placed = node.block.placed[:, column]
        other = (placed[:, 0] == stop.string) & (placed[:, 1] == stop.fret) & (placed[:, 2] != stop.finger)
        costs = np.where(other[None, :], through[index], np.inf)
        memory, shape = np.unravel_index(int(np.argmin(costs)), costs.shape)
        cost = float(costs[memory, shape])
        if np.isfinite(cost) and (best is None or cost < best[0]):
            best = cost, (index, int(memory), int(shape))
    return best


def _words(task: Task, path: Path, number: int, tone: int, states: tuple[State, ...]) -> tuple[int, str]:
    """The other finger, and what it would mean: the first of these that tells the two apart."""
    lattice, ground = task.lattice, task.lattice.problem.ground
    node = lattice.steps[number].nodes[states[-1][0]]
    shape = states[-1][2]
    block = node.block
    stop = Stop(*(int(x) for x in block.placed[shape, dict(node.columns)[tone]]))
    here = int(block.pos[shape])
    if len(states) > 1:
        last = lattice.steps[number - 1].nodes[states[0][0]].block
        was, at = int(last.pos[states[0][2]]), states[0][2]
        mine = path.placed[lattice.problem.frames[number - 1].struck[0]].position
        extra = _travel(ground, was, here) - _travel(ground, mine, path.placed[tone].position)
        if extra >= 5:
            return stop.finger, f"would shift {extra:.0f} mm further"
        fret, low, high = (int(x[at, stop.finger]) for x in (last.at, last.low, last.high))
        if fret and (fret != stop.fret or not low <= stop.string <= high):
            return stop.finger, f"would leave fret {fret} on {CIRCLED[low]} at once"
    reach = _stretch(ground, block.at[shape].tolist(), stop)
    if reach:
        return stop.finger, f"would reach {reach:.0f} mm"
    off = stop.fret - stop.finger + 1 - here
    if off:
        return stop.finger, f"would stand {abs(off)} {'fret' if abs(off) == 1 else 'frets'} off its place"
    later = here != path.placed[tone].position
    return stop.finger, "would move the hand for the notes around it" if later else "would come less easily"


def _travel(ground: Ground, one: int, other: int) -> float:
    """Way of the hand between two positions in mm."""
    return 0.0 if one == NOWHERE else float(abs(ground.hand[one - NOWHERE] - ground.hand[other - NOWHERE]))


def _stretch(ground: Ground, at: list[int], stop: Stop) -> float:
    """Widest reach in mm from this finger to another that is down, if it is beyond comfort; else 0."""
    widest = 0.0
    for finger in range(1, 5):
        if at[finger] and finger != stop.finger:
            low, high = min(finger, stop.finger), max(finger, stop.finger)
            mm = float(abs(ground.mm[at[finger]] - ground.mm[stop.fret]))
            if mm > ground.comfortable[low, high]:
                widest = max(widest, mm)
    return widest
