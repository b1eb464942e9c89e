"""From a passage to a placed passage: builds the problem, relaxes what cannot hold, searches, writes placements.

Order of relaxing where an onset cannot be played as written, each with a notice: a held tone is let go early; a mark of
the source is left out. What still cannot be played raises UnplayableError.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations

from engrave.fretting.broken import broken_chords
from engrave.fretting.building import BlockMaker, lattice_of
from engrave.fretting.candidates import in_range, marks_text, own_marks, pitch_of, place_of, stops_for
from engrave.fretting.chances import settled_on
from engrave.fretting.lattice import Dead, Lattice, Problem
from engrave.fretting.pricing import Costs
from engrave.fretting.search import Path
from engrave.fretting.shapes import geometry_of
from engrave.fretting.slurs import links_of
from engrave.fretting.taste import NEUTRAL, Taste
from engrave.fretting.tones import Tone, beats_of, climbs_of, groups_of, tones_of
from engrave.fretting.weights import flavoured, standard_weights
from engrave.model import Fault, Given, Hand, Instrument, Notice, Passage, UnplayableError
from engrave.model.said import say, strung
from engrave.model.wording import listed


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A passage made ready for the search."""

    passage: Passage
    instrument: Instrument
    hand: Hand
    lattice: Lattice
    best: Path
    """the cheapest fingering"""
    costs: Costs
    maker: BlockMaker
    """the maker of the lattice's blocks, for lattices of the same tones under other rules"""
    notices: tuple[Notice, ...]
    """what had to be relaxed"""

    @property
    def tones(self) -> tuple[Tone, ...]:
        """The tones searched."""
        return self.lattice.problem.tones


def prepared(passage: Passage, instrument: Instrument, hand: Hand, taste: Taste = NEUTRAL) -> Task:
    """The lattice and costs of a passage. Raises UnplayableError with every fault of one kind."""
    tones = tones_of(passage)
    in_range(passage, tones, instrument)
    tones, notices = own_marks(passage, tones, instrument)
    geometry, maker = geometry_of(instrument, hand), BlockMaker()
    on_beat = beats_of(passage)
    problem = Problem(
        tones=tones,
        groups=(groups := broken_chords(tones, groups_of(tones, on_beat=on_beat))),
        stops=tuple(stops_for(tone, instrument) for tone in tones),
        geometry=geometry,
        links=links_of(passage, tones),
        climbs=climbs_of(tones, groups, instrument),
    )
    relaxer = Relaxer(passage=passage, instrument=instrument, hand=hand, maker=maker, on_beat=on_beat)
    lattice, relaxed = relaxer.relaxed(problem)
    costs = Costs(flavoured(standard_weights(), taste), geometry)
    lattice, best = settled_on(lattice, costs)
    return Task(
        passage=passage,
        instrument=instrument,
        hand=hand,
        lattice=lattice,
        best=best,
        costs=costs,
        maker=maker,
        notices=(*notices, *relaxed),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Relaxation:
    """One way to make an onset playable: tones let go before it, tones whose marks are left out."""

    let_go: tuple[int, ...] = ()
    unmarked: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Relaxer:
    """Makes a problem playable, onset by onset."""

    passage: Passage
    instrument: Instrument
    hand: Hand
    maker: BlockMaker
    on_beat: Callable[[Fraction], bool]

    def relaxed(self, problem: Problem) -> tuple[Lattice, tuple[Notice, ...]]:
        """The lattice of a problem in which every onset can be reached, and what had to be changed."""
        let_go: frozenset[tuple[int, int]] = frozenset()
        notices: list[Notice] = []
        found = lattice_of(problem, self.maker)
        while isinstance(found, Dead):
            number = found.group
            if not self._alone(problem, problem.groups[number].struck):
                raise UnplayableError(*self._faults(problem))
            for change in _relaxations(problem, number):
                trial_go = let_go | {(tone, number) for tone in change.let_go}
                trial, first = self._changed(problem, change, trial_go, number)
                if isinstance(lattice_of(trial, self.maker, found.steps[:first], number + 1), Dead):
                    continue
                notices += self._said(problem, change, number)
                problem, let_go = trial, trial_go
                found = lattice_of(problem, self.maker, found.steps[:first])
                break
            else:
                raise UnplayableError(self._fault(problem, number))
        return found, tuple(notices)

    def _changed(
        self, problem: Problem, change: _Relaxation, let_go: frozenset[tuple[int, int]], number: int
    ) -> tuple[Problem, int]:
        """The problem after a change, and the first onset it touches."""
        tones, stops = list(problem.tones), list(problem.stops)
        first = number
        for tone in change.unmarked:
            tones[tone] = replace(tones[tone], given=Given())
            stops[tone] = stops_for(tones[tone], self.instrument)
            begins = next(i for i, group in enumerate(problem.groups) if tone in group.struck)
            first = min(first, begins)
        groups = problem.groups
        if change.let_go:
            groups = broken_chords(tuple(tones), groups_of(tuple(tones), let_go, self.on_beat))
        return replace(problem, tones=tuple(tones), stops=tuple(stops), groups=groups), first

    def _said(self, problem: Problem, change: _Relaxation, number: int) -> Iterator[Notice]:
        group, tones = problem.groups[number], problem.tones
        place = place_of(self.passage, tones[group.struck[0]])
        under = " ".join(pitch_of(self.passage, tones[i]) for i in group.struck)
        for tone in change.let_go:
            yield Notice(
                text=say(
                    "{pitch} cannot be held while {others} is played: its finger lets go here",
                    pitch=pitch_of(self.passage, tones[tone]),
                    others=under,
                ),
                place=place,
            )
        if change.unmarked:
            marks = [
                strung([pitch_of(self.passage, tones[i]), marks_text(tones[i].given)])
                for i in sorted((*group.held, *group.struck))
                if marks_text(tones[i].given)
            ]
            gone = listed(pitch_of(self.passage, tones[i]) for i in change.unmarked)
            yield Notice(
                text=say(
                    "the marks given here contradict each other ({marks}): those of {pitches} are left out",
                    marks=strung(marks, "; "),
                    pitches=gone,
                ),
                place=place,
            )

    def _alone(self, problem: Problem, struck: tuple[int, ...]) -> bool:
        """Can these tones be struck together, their marks and all else left aside."""
        if len(struck) > len(self.instrument.strings):
            return False
        tones = tuple(replace(problem.tones[i], end=problem.tones[i].onset, given=Given()) for i in struck)
        stops = tuple(stops_for(tone, self.instrument) for tone in tones)
        alone = replace(problem, tones=tones, groups=groups_of(tones), stops=stops, links=(), turn=None)
        return not isinstance(lattice_of(alone, self.maker), Dead)

    def _faults(self, problem: Problem) -> Iterator[Fault]:
        """A fault for every onset whose notes cannot be struck together."""
        for number, group in enumerate(problem.groups):
            if len(group.struck) > 1 and not self._alone(problem, group.struck):
                yield self._fault(problem, number)

    def _fault(self, problem: Problem, number: int) -> Fault:
        """Why the tones struck at an onset cannot be played together."""
        group = problem.groups[number]
        struck = [problem.tones[i] for i in group.struck]
        names = " ".join(pitch_of(self.passage, tone) for tone in struck)
        place = place_of(self.passage, struck[0])
        count = len(self.instrument.strings)
        if len(struck) > count:
            return Fault(
                fact=f"{names}: {len(struck)} notes at once, the {self.instrument.label} has {count} strings",
                hint="leave out a note, or read one voice alone with --voice",
                place=place,
            )
        hint = "leave out a note, choose a hand with a wider reach, or read one voice alone with --voice"
        for one, other in combinations(group.struck, 2):
            if not self._alone(problem, (one, other)):
                return Fault(fact=self._why(problem, one, other), hint=hint, place=place)
        return Fault(
            fact=say(
                "{pitches} cannot be stopped together by four fingers within the reach of a hand with {hand} "
                "({reach} mm from finger 1 to 4)",
                pitches=names,
                hand=self.hand.label or self.hand.name,
                reach=format(self.hand.practical[1, 4], "g"),
            ),
            hint=hint,
            place=place,
        )

    def _why(self, problem: Problem, one: int, other: int) -> str:
        """Why two tones cannot be struck together."""
        pairs = [
            (abs(self.instrument.mm(a.fret) - self.instrument.mm(b.fret)))
            for a in problem.stops[one]
            for b in problem.stops[other]
            if a.string != b.string and a.fret and b.fret
        ]
        pair = listed(pitch_of(self.passage, problem.tones[i]) for i in (one, other))
        if not pairs:
            return say("{pitches} lie on one string only, which sounds one note at a time", pitches=pair)
        return say(
            "{pitches} lie at least {apart} mm apart, this hand reaches {reach} mm",
            pitches=pair,
            apart=round(min(pairs)),
            reach=format(self.hand.practical[1, 4], "g"),
        )


def _relaxations(problem: Problem, number: int) -> Iterator[_Relaxation]:
    """Ways to make an onset playable, the gentlest first."""
    group, tones = problem.groups[number], problem.tones
    held = sorted(group.held, key=lambda i: (tones[i].end, i))
    marked = [i for i in (*group.struck, *held) if marks_text(tones[i].given)]
    for gone in _few(held):
        yield _Relaxation(let_go=gone)
    for bare in _few(marked):
        yield _Relaxation(unmarked=bare)
        if held:
            yield _Relaxation(unmarked=bare, let_go=tuple(held))


def _few(items: list[int]) -> Iterator[tuple[int, ...]]:
    """Each item alone, each two, then all of them."""
    for count in range(1, min(len(items), 2) + 1):
        yield from combinations(items, count)
    if len(items) > 2:
        yield tuple(items)
