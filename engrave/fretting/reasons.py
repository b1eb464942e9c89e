"""Why a note takes its finger: what the nearest other finger would cost, in the hand's own terms.

For every fretted note the search knows the cheapest fingering of the whole line in which another finger stops that
note on the same string. The words say the first thing in which the two differ: at the note, then around it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from engrave.fretting.candidates import pitch_of, place_of
from engrave.fretting.engine import Task
from engrave.fretting.lattice import Node
from engrave.fretting.likeness import alike
from engrave.fretting.search import State, forward, hand_at, onto, onward, source, states_of, stops_at
from engrave.fretting.shapes import NOWHERE, Floats, Stop


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
LEAST = 5.0
"""mm by which one hand has to go further than the other for that to be the reason"""
EVEN = 0.3
"""cost below which two fingers are as good as each other"""


def reasons(task: Task) -> tuple[Reason, ...]:
    """For the cheapest fingering a reason for each fretted note that another finger could stop on the same string.

    In the order of the tones.
    """
    lattice = task.lattice
    if not lattice.steps:
        return ()
    reached, rest = forward(lattice, task.costs), onward(lattice, task.costs)
    mine = states_of(lattice, task.costs, reached)
    best = min(float(values.min()) for values in reached[-1])
    found: list[Reason] = []
    for number, group in enumerate(lattice.problem.groups):
        through = [a + b for a, b in zip(reached[number], rest[number], strict=True)]
        placed = stops_at(lattice, number, mine[number])
        for tone in group.struck:
            other = _nearest(lattice.steps[number].nodes, through, tone, placed[tone]) if placed[tone].finger else None
            if other is None:
                continue
            cost, state = other
            pair = _Pair(task, mine, _rival(task, (reached, rest), number, state, mine), number, tone)
            dearer = round(cost - best, 3)
            stop, instead = placed[tone], pair.other(number)[tone].finger
            words = next(
                pair.words(), "would do as well" if dearer < EVEN else "would be the rarer finger there in print"
            )
            found.append(
                Reason(
                    note=task.tones[tone].ids[0],
                    finger=stop.finger,
                    string=stop.string,
                    instead=instead,
                    dearer=dearer,
                    words=f"{stop.finger} on {CIRCLED[stop.string]}: {instead} {words}",
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


def _rival(
    task: Task, ways: tuple[list[list[Floats]], list[list[Floats]]], number: int, state: State, mine: tuple[State, ...]
) -> dict[int, State]:
    """The cheapest way through a state of an onset: onset → state, where it is not the way of `mine`.

    `ways`: what the search found before each onset and after it.
    """
    reached, rest = ways
    found = {number: state}
    for at in range(number, 0, -1):
        before = source(task.lattice, task.costs, reached, at, found[at])
        if before == mine[at - 1]:
            break
        found[at - 1] = before
    for at in range(number, len(mine) - 1):
        after = onto(task.lattice, task.costs, rest, at, found[at])
        if after == mine[at + 1]:
            break
        found[at + 1] = after
    return found


@dataclass(frozen=True, slots=True)
class _Pair:
    """The cheapest fingering and the cheapest with another finger on one tone, held against each other."""

    task: Task
    mine: Sequence[State]
    apart: dict[int, State]
    number: int
    """onset of the tone"""
    tone: int

    def words(self) -> Iterator[str]:
        """What sets the other fingering apart, the nearest to the note first."""
        here = self.number
        yield from self._shifts(here, "")
        yield from self._jumps(here, "")
        yield from self._reaches()
        yield from self._stands_off()
        yield from self._breaks_figure()
        near = {at + step for at in self.apart for step in (0, 1)} - {here}
        around = sorted((at for at in near if 0 <= at < len(self.mine)), key=lambda at: (abs(at - here), at))
        for at in around:
            yield from self._shifts(at, f" for {self._named(at)}")
            yield from self._jumps(at, f" for {self._named(at)}")
        for at in around:
            yield from self._changes(at)

    def other(self, at: int) -> dict[int, Stop]:
        """The stops that begin at an onset, in the other fingering."""
        return stops_at(self.task.lattice, at, self._state(at))

    def _state(self, at: int) -> State:
        return self.apart.get(at, self.mine[at])

    def _shape(self, at: int, state: State) -> tuple[Node, int]:
        """The node of a state, and which of its shapes."""
        return self.task.lattice.steps[at].nodes[state[0]], state[2]

    def _named(self, at: int) -> str:
        """Which note an onset is, seen from the tone: "the F4 after it", or further off "the A4 of bar 2, beat 1"."""
        problem, passage = self.task.lattice.problem, self.task.passage
        tone = problem.tones[problem.groups[at].struck[-1]]
        between = range(min(at, self.number) + 1, max(at, self.number))
        if all(self._shape(group, self._state(group))[0].still for group in between):
            return f"the {pitch_of(passage, tone)} {'after' if at > self.number else 'before'} it"
        return f"the {pitch_of(passage, tone)} of {place_of(passage, tone).inside}"

    def _shifts(self, at: int, where: str) -> Iterator[str]:
        """The hand goes further into an onset."""
        if not at:
            return
        mine = self._way(at, self.mine[at - 1], self.mine[at])
        other = self._way(at, self._state(at - 1), self._state(at))
        if other - mine >= LEAST:
            instead = f" instead of {mine:.0f}" if mine >= LEAST else ""
            yield f"would shift {other:.0f} mm{instead}{where}"

    def _way(self, at: int, before: State, after: State) -> float:
        """Way of the hand into an onset in mm."""
        lattice = self.task.lattice
        one, two = hand_at(lattice, at - 1, before), hand_at(lattice, at, after)
        mm = lattice.problem.geometry.hand
        return 0.0 if one == NOWHERE else float(abs(mm[one - NOWHERE] - mm[two - NOWHERE]))

    def _jumps(self, at: int, where: str) -> Iterator[str]:
        """A finger stops a note of an onset that was wanted elsewhere just before."""
        if not at:
            return
        mine = set(self._moved(at, self.mine[at - 1], self.mine[at]))
        own = self.other(self.number)[self.tone].finger
        for finger, fret, string in self._moved(at, self._state(at - 1), self._state(at)):
            if any(finger == k for k, _, _ in mine) or (not where and finger != own):
                continue
            who = f"make {finger} come" if where else "come"
            yield f"would {who} from fret {fret} on {CIRCLED[string]}{where}"

    def _moved(self, at: int, before: State, after: State) -> Iterator[tuple[int, int, int]]:
        """Fingers that go from one place to another into an onset: finger, and the fret and string they leave."""
        (one, i), (two, j) = self._shape(at - 1, before), self._shape(at, after)
        if two.still:
            return
        for finger in range(1, 5):
            fret, low, high = (int(row[i, finger]) for row in (one.block.at, one.block.low, one.block.high))
            then, first = int(two.block.at[j, finger]), int(two.block.low[j, finger])
            if fret and two.block.new[j, finger] and (fret != then or not low <= first <= high):
                yield finger, fret, low

    def _reaches(self) -> Iterator[str]:
        """The finger stands further from another that is down than is comfortable."""
        other, to = self._widest(self._state(self.number))
        mine, _ = self._widest(self.mine[self.number])
        if other - mine >= LEAST:
            yield f"would reach {other:.0f} mm from {to}"

    def _widest(self, state: State) -> tuple[float, int]:
        """Widest reach in mm beyond comfort from the tone's finger to another, and to which; 0 if there is none."""
        geometry = self.task.lattice.problem.geometry
        stop = stops_at(self.task.lattice, self.number, state)[self.tone]
        node, shape = self._shape(self.number, state)
        widest = (0.0, 0)
        for finger in range(1, 5):
            fret = int(node.block.at[shape, finger])
            if fret and finger != stop.finger:
                low, high = sorted((finger, stop.finger))
                mm = float(abs(geometry.mm[fret] - geometry.mm[stop.fret]))
                widest = max(widest, (mm if mm > geometry.comfortable[low, high] else 0.0, finger))
        return widest

    def _stands_off(self) -> Iterator[str]:
        """The finger stops its note off its place in the hand position."""
        off, mine = (
            abs(stop.fret - stop.finger + 1 - hand_at(self.task.lattice, self.number, state))
            for state in (self._state(self.number), self.mine[self.number])
            for stop in (stops_at(self.task.lattice, self.number, state)[self.tone],)
        )
        if off > mine:
            yield f"would stand {off} {'fret' if off == 1 else 'frets'} off its place"

    def _breaks_figure(self) -> Iterator[str]:
        """The same figure, its mirror image or a pedal is fingered otherwise elsewhere."""
        models = [model for tone, model in self.task.lattice.steps[self.number].models if tone == self.tone]
        mine = stops_at(self.task.lattice, self.number, self.mine[self.number])[self.tone]
        if any(alike(mine, model) for model in models):
            yield "would finger the same figure in two ways"

    def _changes(self, at: int) -> Iterator[str]:
        """Another note takes another finger or string."""
        mine = stops_at(self.task.lattice, at, self.mine[at])
        for tone, stop in self.other(at).items():
            if stop.string != mine[tone].string:
                yield f"would move {self._named(at)} to {CIRCLED[stop.string]}"
            elif stop != mine[tone]:
                yield f"would put {stop.finger} on {self._named(at)}"
