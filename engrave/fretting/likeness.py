"""The same figure keeps its fingering: an exact second search of what the lattice alone cannot hold.

A note that comes back in the same figure, in its mirror image (up and down a scale), in one broken chord or as a pedal
between other notes has twins; where a figure comes back higher or lower, they share the finger only. The cheapest
fingering is taken first; for each set of twins the place most of them take is made the model, and the line is searched
again with a charge for each twin that leaves it. The second fingering counts where its own cost and a charge for each
twin unlike the others of its set are less than the first's; else, in a line that is not long, one more is tried, with
the last of each set for its model where two are as good. All later questions (why this finger, what comes next best)
are asked with the same charges.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise, takewhile
from typing import NamedTuple

from engrave.fretting.lattice import Lattice, Problem
from engrave.fretting.pricing import Costs
from engrave.fretting.search import Path, cheapest
from engrave.fretting.shapes import Stop
from engrave.fretting.tones import Tone, ToneGroup

LEAST, LEAST_MOVED = 4, 8
"""onsets that a figure has at least, and one that comes back higher or lower"""
SHORT, LONG = 256, 512
"""onsets of a line up to which a second set of models is tried, and up to which any is: a line that is longer is no
passage to study, and would take twice the time"""
AHEAD = 256
"""onsets after its first that a figure is looked for again"""


class Twins(NamedTuple):
    """Tones that should be fingered alike, in the order of the line."""

    tones: tuple[int, ...]
    moved: bool
    """some sound higher or lower than others: they share the finger only"""

    def stops(self, path: Path) -> list[Stop]:
        """How each tone is stopped, as far as twins are alike in it."""
        stops = [path.placed[tone].stop for tone in self.tones]
        return [Stop(0, 0, stop.finger) for stop in stops] if self.moved else stops


Models = tuple[tuple[int, Stop], ...]
"""tone and how it should be stopped; string 0: any place, the finger alone counts"""


def likened(lattice: Lattice, costs: Costs) -> tuple[Lattice, Path]:
    """The lattice with charges for twins that leave their model, and its cheapest fingering.

    The lattice itself where all twins are fingered alike already, or where no charge makes it better.
    """
    charge = costs.weights.terms["unlike"]
    free = cheapest(lattice, costs)
    sets = twins_of(lattice.problem) if charge and len(lattice.steps) <= LONG else ()
    if not _unlike(free, sets):
        return lattice, free
    least = free.cost + charge * _unlike(free, sets)
    for latest in (False, True)[: 2 if len(lattice.steps) <= SHORT else 1]:
        models = _models(free, sets, latest=latest)
        trial = charged(lattice, models, charge)
        path = cheapest(trial, costs)
        own = path.cost - charge * sum(not alike(path.placed[tone].stop, stop) for tone, stop in models)
        if own + charge * _unlike(path, sets) < least - 1e-9:
            return trial, path
    return lattice, free


def unlike(lattice: Lattice, path: Path) -> int:
    """How many notes of a figure that comes back at the same pitch are not stopped as most of their like are.

    None in a line that is too long to look.
    """
    if len(lattice.steps) > LONG:
        return 0
    return _unlike(path, tuple(twins for twins in twins_of(lattice.problem) if not twins.moved))


def alike(stop: Stop, model: Stop) -> bool:
    """Is a tone stopped like its model."""
    return stop.finger == model.finger if model.string == 0 else stop == model


def charged(lattice: Lattice, models: Models, charge: float) -> Lattice:
    """The lattice in which each tone of `models` pays where it is not stopped like its model."""
    rows: defaultdict[int, list[Stop]] = defaultdict(list)
    for tone, stop in models:
        rows[tone].append(stop)
    steps = tuple(
        replace(step, models=tuple((tone, stop) for tone in group.struck for stop in rows[tone]), charge=charge)
        for step, group in zip(lattice.steps, lattice.problem.groups, strict=True)
    )
    return replace(lattice, steps=steps)


def _models(path: Path, sets: tuple[Twins, ...], *, latest: bool) -> Models:
    """For each twin the stop most of its set take; of as many, that of the first (or the last) in the line."""
    made: list[tuple[int, Stop]] = []
    for twins in sets:
        stops = twins.stops(path)
        model = Counter(reversed(stops) if latest else stops).most_common(1)[0][0]
        made += [(tone, model) for tone in twins.tones]
    return tuple(made)


def _unlike(path: Path, sets: tuple[Twins, ...]) -> int:
    """How many twins are not stopped as most of their set are."""
    return sum(len(twins.tones) - max(Counter(twins.stops(path)).values()) for twins in sets)


def twins_of(problem: Problem) -> tuple[Twins, ...]:
    """Sets of tones that should be fingered alike."""
    every = [(tuple(problem.tones[i].midi for i in group.struck), group) for group in problem.groups]
    # what is struck again keeps its shape anyway: the notes of a tremolo are one onset of its figure
    first = [at for at, (pitches, _) in enumerate(every) if not at or pitches != every[at - 1][0]]
    heard, groups = [every[at][0] for at in first], tuple(every[at][1] for at in first)
    found = [*_repeats(heard, groups), *_mirrors(heard), *_pedals(heard), *_returns(heard, groups)]
    same = [(first[one], first[other]) for one, other in found]
    moved = [(first[one], first[other]) for one, other in _moved(heard, groups)]
    return (*_sets(problem, same, moved=False), *(_sets(problem, [*same, *moved], moved=True) if moved else ()))


def _sets(problem: Problem, pairs: Iterable[tuple[int, int]], *, moved: bool) -> Iterator[Twins]:
    """The sets that pairs of onsets make; of those that are moved only sets of several pitches."""
    tones, groups = problem.tones, problem.groups
    root = list(range(len(tones)))

    def head(tone: int) -> int:
        while root[tone] != tone:
            root[tone] = root[root[tone]]
            tone = root[tone]
        return tone

    for one, other in pairs:
        for a, b in zip(groups[one].struck, groups[other].struck, strict=True):
            # marks of the source may put one pitch on two strings
            asked = tones[a].midi == tones[b].midi and problem.stops[a] != problem.stops[b]
            if _free(tones[a]) and _free(tones[b]) and not asked:
                low, high = sorted((head(a), head(b)))
                root[high] = low
    sets: defaultdict[int, list[int]] = defaultdict(list)
    for tone in range(len(tones)):
        sets[head(tone)].append(tone)
    for twins in sets.values():
        if len(twins) > 1 and (not moved or len({tones[tone].midi for tone in twins}) > 1):
            yield Twins(tuple(twins), moved)


def _free(tone: Tone) -> bool:
    """Does the source leave a tone's finger open."""
    return tone.given.finger is None and not tone.muted


Heard = list[tuple[int, ...]]
"""what is struck at each onset"""


def _repeats(heard: Heard, groups: tuple[ToneGroup, ...]) -> Iterator[tuple[int, int]]:
    """Onsets that stand at the same place of a figure and of its next return."""
    gaps = [Fraction(0), *(then.onset - one.onset for one, then in pairwise(groups))]
    keys = [(*heard[i : i + LEAST], *gaps[i + 1 : i + LEAST]) for i in range(len(heard) - LEAST + 1)]
    last: dict[object, int] = {}
    for start, key in enumerate(keys):
        before = last.get(key)
        if before is not None and start - AHEAD <= before and len(set(heard[start : start + LEAST])) > 1:
            yield from ((before + i, start + i) for i in range(LEAST))
        last[key] = start


def _moved(heard: Heard, groups: tuple[ToneGroup, ...]) -> Iterator[tuple[int, int]]:
    """Onsets at the same place of a figure and of its next return higher or lower, where it turns up and down.

    A scale that goes on in the next octave is no such figure.
    """
    gaps = [Fraction(0), *(then.onset - one.onset for one, then in pairwise(groups))]
    last: dict[object, int] = {}
    for start in range(len(heard) - LEAST_MOVED + 1):
        window = heard[start : start + LEAST_MOVED]
        if any(len(pitches) != 1 for pitches in window):
            continue
        steps = tuple(b[0] - a[0] for a, b in pairwise(window))
        if min(steps) >= 0 or max(steps) <= 0:
            continue
        key = (steps, tuple(gaps[start + 1 : start + LEAST_MOVED]))
        before = last.get(key)
        if before is None or start - before >= LEAST_MOVED:
            last[key] = start
        if before is not None and AHEAD >= start - before >= LEAST_MOVED and heard[before] != heard[start]:
            yield from ((before + i, start + i) for i in range(LEAST_MOVED))


def _mirrors(heard: Heard) -> Iterator[tuple[int, int]]:
    """Onsets that stand as far before as after a turn, where the line goes back as it came."""
    for turn in range(1, len(heard) - 1):
        for right in (turn + 1, turn):
            ways = range(min(turn, len(heard) - right))
            pairs = [(turn - 1 - way, right + way) for way in ways]
            pairs = list(takewhile(lambda pair: heard[pair[0]] == heard[pair[1]], pairs))
            if len(pairs) >= LEAST and len({heard[one] for one, _ in pairs}) >= LEAST:
                yield from pairs


def _pedals(heard: Heard) -> Iterator[tuple[int, int]]:
    """A note that comes back after one other, and again: a pedal."""
    for at in range(len(heard) - 4):
        if len(heard[at]) == 1 and heard[at] == heard[at + 2] == heard[at + 4] != heard[at + 1]:
            yield at, at + 2
            yield at + 2, at + 4


def _returns(heard: Heard, groups: tuple[ToneGroup, ...]) -> Iterator[tuple[int, int]]:
    """A note of a broken chord and its next return in it."""
    last: dict[tuple[int | None, tuple[int, ...]], int] = {}
    for at, group in enumerate(groups):
        key = (group.chord, heard[at])
        if group.chord is not None and key in last:
            yield last[key], at
        last[key] = at
