"""From a passage to a placed passage: builds the problem, mends what cannot hold, searches, writes placements.

Order of mending where a moment cannot be played as written, each with a notice: a held tone is let go early; a mark of
the source is left out. What still cannot be played raises UnplayableError.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations

from engrave.fretting.broken import broken_chords
from engrave.fretting.candidates import FREE, SchemeLimits, in_range, marks_text, own_marks, pitch_of, place_of
from engrave.fretting.lattice import Forge, lattice_of
from engrave.fretting.likeness import likened
from engrave.fretting.pricing import Costs
from engrave.fretting.search import Path
from engrave.fretting.shapes import ground_of
from engrave.fretting.slurs import links_of
from engrave.fretting.taste import NEUTRAL, Taste
from engrave.fretting.tones import Tone, beats_of, climbs_of, frames_of, tones_of
from engrave.fretting.web import Dead, Lattice, Problem
from engrave.fretting.weights import Weights, flavoured, standard_weights
from engrave.model import Fault, Given, Hand, Instrument, Notice, Passage, UnplayableError


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
    forge: Forge
    """the maker of the lattice's blocks, for lattices of the same tones under other rules"""
    notices: tuple[Notice, ...]
    """what had to be mended"""

    @property
    def tones(self) -> tuple[Tone, ...]:
        """The tones searched."""
        return self.lattice.problem.tones


def prepared(
    passage: Passage,
    instrument: Instrument,
    hand: Hand,
    *,
    limits: SchemeLimits = FREE,
    taste: Taste = NEUTRAL,
    turn: Mapping[int, frozenset[int]] | None = None,
    weights: Weights | None = None,
) -> Task:
    """The lattice and costs of a passage. Raises UnplayableError with every fault of one kind."""
    tones = tones_of(passage)
    in_range(passage, tones, instrument)
    tones, notices = own_marks(passage, tones, instrument, limits)
    ground, forge = ground_of(instrument, hand), Forge()
    on_beat = beats_of(passage)
    problem = Problem(
        tones=tones,
        frames=(frames := broken_chords(tones, frames_of(tones, on_beat=on_beat))),
        stops=tuple(limits.stops(tone, instrument) for tone in tones),
        ground=ground,
        slot=limits.slot,
        positions=limits.positions,
        turn=turn,
        links=links_of(passage, tones),
        climbs=climbs_of(tones, frames, instrument),
    )
    mender = Mender(passage=passage, instrument=instrument, hand=hand, limits=limits, forge=forge, on_beat=on_beat)
    lattice, mended = mender.mend(problem)
    costs = Costs(flavoured(weights or standard_weights(), taste), ground)
    lattice, best = likened(lattice, costs)
    return Task(
        passage=passage,
        instrument=instrument,
        hand=hand,
        lattice=lattice,
        best=best,
        costs=costs,
        forge=forge,
        notices=(*notices, *mended),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Mend:
    """One way to make a frame playable: tones let go before it, tones whose marks are left out."""

    let_go: tuple[int, ...] = ()
    unmarked: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Mender:
    """Makes a problem playable, frame by frame."""

    passage: Passage
    instrument: Instrument
    hand: Hand
    limits: SchemeLimits
    forge: Forge
    on_beat: Callable[[Fraction], bool]

    def mend(self, problem: Problem) -> tuple[Lattice, tuple[Notice, ...]]:
        """The lattice of a problem in which every frame can be reached, and what had to be changed."""
        let_go: frozenset[tuple[int, int]] = frozenset()
        notices: list[Notice] = []
        found = lattice_of(problem, self.forge)
        while isinstance(found, Dead):
            number = found.frame
            if not self._alone(problem, problem.frames[number].struck):
                raise UnplayableError(*self._faults(problem))
            for mend in _mends(problem, number):
                trial_go = let_go | {(tone, number) for tone in mend.let_go}
                trial, first = self._changed(problem, mend, trial_go, number)
                if isinstance(lattice_of(trial, self.forge, found.steps[:first], number + 1), Dead):
                    continue
                notices += self._said(problem, mend, number)
                problem, let_go = trial, trial_go
                found = lattice_of(problem, self.forge, found.steps[:first])
                break
            else:
                raise UnplayableError(self._fault(problem, number))
        return found, tuple(notices)

    def _changed(
        self, problem: Problem, mend: _Mend, let_go: frozenset[tuple[int, int]], number: int
    ) -> tuple[Problem, int]:
        """The problem after a mend, and the first frame it touches."""
        tones, stops = list(problem.tones), list(problem.stops)
        first = number
        for tone in mend.unmarked:
            tones[tone] = replace(tones[tone], given=Given())
            stops[tone] = self.limits.stops(tones[tone], self.instrument)
            begins = next(i for i, frame in enumerate(problem.frames) if tone in frame.struck)
            first = min(first, begins)
        frames = problem.frames
        if mend.let_go:
            frames = broken_chords(tuple(tones), frames_of(tuple(tones), let_go, self.on_beat))
        return replace(problem, tones=tuple(tones), stops=tuple(stops), frames=frames), first

    def _said(self, problem: Problem, mend: _Mend, number: int) -> Iterator[Notice]:
        frame, tones = problem.frames[number], problem.tones
        place = place_of(self.passage, tones[frame.struck[0]])
        under = " ".join(pitch_of(self.passage, tones[i]) for i in frame.struck)
        for tone in mend.let_go:
            yield Notice(
                text=f"{pitch_of(self.passage, tones[tone])} cannot be held while {under} is played: "
                "its finger lets go here",
                place=place,
            )
        if mend.unmarked:
            marks = [
                f"{pitch_of(self.passage, tones[i])} {marks_text(tones[i].given)}"
                for i in sorted((*frame.held, *frame.struck))
                if marks_text(tones[i].given)
            ]
            gone = " and ".join(pitch_of(self.passage, tones[i]) for i in mend.unmarked)
            yield Notice(
                text=f"the marks given here contradict each other ({'; '.join(marks)}): those of {gone} are left out",
                place=place,
            )

    def _alone(self, problem: Problem, struck: tuple[int, ...]) -> bool:
        """Can these tones be struck together, their marks and all else left aside."""
        if len(struck) > len(self.instrument.strings):
            return False
        tones = tuple(replace(problem.tones[i], end=problem.tones[i].onset, given=Given()) for i in struck)
        stops = tuple(self.limits.stops(tone, self.instrument) for tone in tones)
        alone = replace(problem, tones=tones, frames=frames_of(tones), stops=stops, links=(), turn=None)
        return not isinstance(lattice_of(alone, self.forge), Dead)

    def _faults(self, problem: Problem) -> Iterator[Fault]:
        """A fault for every moment whose notes cannot be struck together."""
        for number, frame in enumerate(problem.frames):
            if len(frame.struck) > 1 and not self._alone(problem, frame.struck):
                yield self._fault(problem, number)

    def _fault(self, problem: Problem, number: int) -> Fault:
        """Why the tones struck at a frame cannot be played together."""
        frame = problem.frames[number]
        struck = [problem.tones[i] for i in frame.struck]
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
        for one, other in combinations(frame.struck, 2):
            if not self._alone(problem, (one, other)):
                pair = " and ".join(pitch_of(self.passage, problem.tones[i]) for i in (one, other))
                return Fault(fact=f"{pair} {self._why(problem, one, other)}", hint=hint, place=place)
        return Fault(
            fact=f"{names} cannot be stopped together by four fingers within the reach of a hand with "
            f"{self.hand.label or self.hand.name} ({self.hand.practical[1, 4]:g} mm from finger 1 to 4)",
            hint=hint,
            place=place,
        )

    def _why(self, problem: Problem, one: int, other: int) -> str:
        pairs = [
            (abs(self.instrument.mm(a.fret) - self.instrument.mm(b.fret)))
            for a in problem.stops[one]
            for b in problem.stops[other]
            if a.string != b.string and a.fret and b.fret
        ]
        if not pairs:
            return "lie on one string only, which sounds one note at a time"
        return f"lie at least {min(pairs):.0f} mm apart, this hand reaches {self.hand.practical[1, 4]:g} mm"


def _mends(problem: Problem, number: int) -> Iterator[_Mend]:
    """Ways to make a frame playable, the gentlest first."""
    frame, tones = problem.frames[number], problem.tones
    held = sorted(frame.held, key=lambda i: (tones[i].end, i))
    marked = [i for i in (*frame.struck, *held) if marks_text(tones[i].given)]
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
