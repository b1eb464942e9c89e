"""From a passage to a placed passage: builds the problem, mends what cannot hold, searches, writes placements.

Order of mending where a moment cannot be played as written, each with a notice: a held tone is let go early; a mark of
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
from engrave.fretting.tones import Tone, beats_of, climbs_of, moments_of, tones_of
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
    """what had to be mended"""

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
        moments=(moments := broken_chords(tones, moments_of(tones, on_beat=on_beat))),
        stops=tuple(stops_for(tone, instrument) for tone in tones),
        geometry=geometry,
        links=links_of(passage, tones),
        climbs=climbs_of(tones, moments, instrument),
    )
    mender = Mender(passage=passage, instrument=instrument, hand=hand, maker=maker, on_beat=on_beat)
    lattice, mended = mender.mend(problem)
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
        notices=(*notices, *mended),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Mend:
    """One way to make a moment playable: tones let go before it, tones whose marks are left out."""

    let_go: tuple[int, ...] = ()
    unmarked: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Mender:
    """Makes a problem playable, moment by moment."""

    passage: Passage
    instrument: Instrument
    hand: Hand
    maker: BlockMaker
    on_beat: Callable[[Fraction], bool]

    def mend(self, problem: Problem) -> tuple[Lattice, tuple[Notice, ...]]:
        """The lattice of a problem in which every moment can be reached, and what had to be changed."""
        let_go: frozenset[tuple[int, int]] = frozenset()
        notices: list[Notice] = []
        found = lattice_of(problem, self.maker)
        while isinstance(found, Dead):
            number = found.moment
            if not self._alone(problem, problem.moments[number].struck):
                raise UnplayableError(*self._faults(problem))
            for mend in _mends(problem, number):
                trial_go = let_go | {(tone, number) for tone in mend.let_go}
                trial, first = self._changed(problem, mend, trial_go, number)
                if isinstance(lattice_of(trial, self.maker, found.steps[:first], number + 1), Dead):
                    continue
                notices += self._said(problem, mend, number)
                problem, let_go = trial, trial_go
                found = lattice_of(problem, self.maker, found.steps[:first])
                break
            else:
                raise UnplayableError(self._fault(problem, number))
        return found, tuple(notices)

    def _changed(
        self, problem: Problem, mend: _Mend, let_go: frozenset[tuple[int, int]], number: int
    ) -> tuple[Problem, int]:
        """The problem after a mend, and the first moment it touches."""
        tones, stops = list(problem.tones), list(problem.stops)
        first = number
        for tone in mend.unmarked:
            tones[tone] = replace(tones[tone], given=Given())
            stops[tone] = stops_for(tones[tone], self.instrument)
            begins = next(i for i, moment in enumerate(problem.moments) if tone in moment.struck)
            first = min(first, begins)
        moments = problem.moments
        if mend.let_go:
            moments = broken_chords(tuple(tones), moments_of(tuple(tones), let_go, self.on_beat))
        return replace(problem, tones=tuple(tones), stops=tuple(stops), moments=moments), first

    def _said(self, problem: Problem, mend: _Mend, number: int) -> Iterator[Notice]:
        moment, tones = problem.moments[number], problem.tones
        place = place_of(self.passage, tones[moment.struck[0]])
        under = " ".join(pitch_of(self.passage, tones[i]) for i in moment.struck)
        for tone in mend.let_go:
            yield Notice(
                text=say(
                    "{pitch} cannot be held while {others} is played: its finger lets go here",
                    pitch=pitch_of(self.passage, tones[tone]),
                    others=under,
                ),
                place=place,
            )
        if mend.unmarked:
            marks = [
                strung([pitch_of(self.passage, tones[i]), marks_text(tones[i].given)])
                for i in sorted((*moment.held, *moment.struck))
                if marks_text(tones[i].given)
            ]
            gone = listed(pitch_of(self.passage, tones[i]) for i in mend.unmarked)
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
        alone = replace(problem, tones=tones, moments=moments_of(tones), stops=stops, links=(), turn=None)
        return not isinstance(lattice_of(alone, self.maker), Dead)

    def _faults(self, problem: Problem) -> Iterator[Fault]:
        """A fault for every moment whose notes cannot be struck together."""
        for number, moment in enumerate(problem.moments):
            if len(moment.struck) > 1 and not self._alone(problem, moment.struck):
                yield self._fault(problem, number)

    def _fault(self, problem: Problem, number: int) -> Fault:
        """Why the tones struck at a moment cannot be played together."""
        moment = problem.moments[number]
        struck = [problem.tones[i] for i in moment.struck]
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
        for one, other in combinations(moment.struck, 2):
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


def _mends(problem: Problem, number: int) -> Iterator[_Mend]:
    """Ways to make a moment playable, the gentlest first."""
    moment, tones = problem.moments[number], problem.tones
    held = sorted(moment.held, key=lambda i: (tones[i].end, i))
    marked = [i for i in (*moment.struck, *held) if marks_text(tones[i].given)]
    for gone in _few(held):
        yield _Mend(let_go=gone)
    for bare in _few(marked):
        yield _Mend(unmarked=bare)
        if held:
            yield _Mend(unmarked=bare, let_go=tuple(held))


def _few(items: list[int]) -> Iterator[tuple[int, ...]]:
    """Each item alone, each two, then all of them."""
    for count in range(1, min(len(items), 2) + 1):
        yield from combinations(items, count)
    if len(items) > 2:
        yield tuple(items)
