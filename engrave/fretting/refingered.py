"""Fingers a variation again under a scheme."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from typing import Any

from engrave.fretting.alternatives import Alternative, alternatives
from engrave.fretting.building import lattice_of
from engrave.fretting.candidates import pitch_of, place_of
from engrave.fretting.effort import differences, hand_figures
from engrave.fretting.engine import Task, prepared
from engrave.fretting.fingered import variation_of
from engrave.fretting.lattice import Dead, Lattice, Problem
from engrave.fretting.ruling import SoftRule, ruled_costs, soft_rules, strict_problems
from engrave.fretting.schemes import Scheme, find_scheme
from engrave.fretting.search import Path, cheapest
from engrave.fretting.slurs import unresolved
from engrave.model import Declined, Fault, Note, Notice, Passage, PlanError, UnplayableError, Variation, with_notes
from engrave.model.said import say

AXIS = "fret"
_RANKS = {"best": 1, "second best": 2, "third best": 3}


def refret(variation: Variation, scheme: str, *, bend: bool = False, keep_places: bool = False) -> Variation | Declined:
    """`variation` with its fretting hand worked out again under a scheme (see engrave.fretting.schemes).

    `keep_places`: strings and frets stay, only fingers and positions change (set where the line was moved on purpose);
    fingers in turn and left-out fingers always keep them. `bend`: where the rule cannot hold, break it at as few notes
    as can be, each with a notice, instead of declining. Raises PlanError for a scheme that is not known.
    """
    found = find_scheme(scheme)
    if found is None:
        raise PlanError(Fault(fact=f"fretting scheme {scheme!r} is not known"))
    if found.name == "as given":
        return variation
    line = _Line(variation.passage, variation.instrument, variation.hand)
    try:
        free = _prepared(line, keep_places or found.keeps_places)
    except UnplayableError as fault:
        return Declined(axis=AXIS, setting=scheme, reason=fault.faults[0].fact, place=fault.faults[0].place.inside)
    if found.name in _RANKS:
        return _ranked(variation, free, found, line, keep=keep_places)
    return _ruled(variation, free, found, bend=bend)


class _Line:
    """What is fingered and by whom, the same only as itself: comparing music note by note would cost what it saves."""

    def __init__(self, *parts: Any) -> None:
        self.parts = parts

    def __hash__(self) -> int:
        return hash(tuple(map(id, self.parts)))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Line) and all(a is b for a, b in zip(self.parts, other.parts, strict=True))


# a catalogue tries every scheme on one line: preparing it once took about an eighth off the time of the axis
@lru_cache(maxsize=4)
def _prepared(line: _Line, keep: bool) -> Task:
    passage, instrument, hand = line.parts
    return prepared(_bared(passage, keep=keep), instrument, hand)


# second and third best come from one round of searches
@lru_cache(maxsize=4)
def _others(line: _Line, keep: bool) -> tuple[Alternative, ...]:
    """The best fingering and the others that count."""
    task = _prepared(line, keep)
    return alternatives(task.lattice, task.costs, task.best, len(_RANKS))


def _bared(passage: Passage, *, keep: bool) -> Passage:
    """The passage with fingers left out; its marks are its present places where they are to be kept."""
    changed: dict[str, Note] = {}
    for note in passage.notes:
        place = note.placement
        given = replace(note.given, finger=None, string=None, fret=None)
        if keep and place is not None:
            given = replace(given, string=place.string, fret=place.fret)
        elif note.muted and place is not None:
            given = replace(given, string=place.string)
        changed[note.id] = replace(note, given=given, placement=None)
    return unresolved(with_notes(passage, changed))


def _finished(variation: Variation, task: Task, path: Path, notices: tuple[Notice, ...]) -> Variation:
    """The variation with the new placements; the source's marks stand in it as before."""
    made = variation_of(task, path)
    marks = {note.id: note.given for note in variation.passage.notes}
    given = {note.id: replace(note, given=marks[note.id]) for note in made.passage.notes}
    before = set(variation.notices)
    added = tuple(n for n in (*made.notices, *notices) if n not in before)
    return replace(variation, passage=with_notes(made.passage, given), notices=(*variation.notices, *added))


def _ranked(variation: Variation, free: Task, scheme: Scheme, line: _Line, *, keep: bool) -> Variation | Declined:
    """The best, second or third best fingering."""
    rank = _RANKS[scheme.name]
    if rank == 1:
        return _finished(variation, free, free.best, ())
    found = _others(line, keep)
    if len(found) < rank:
        return Declined(
            axis=AXIS,
            setting=scheme.name,
            reason=say("the notes leave no second good fingering that differs in three notes of ten")
            if rank == 2
            else say("the notes leave no third good fingering that differs in three notes of ten"),
        )
    path = found[rank - 1].path
    if keep or any(n.placement is None for n in variation.passage.notes):
        # what it would be held against is printed nowhere
        return _finished(variation, free, path, ())
    words = differences(hand_figures(variation), hand_figures(variation_of(free, path)))
    # for the translator: {differs} is "shifts more often, takes no open strings"
    notice = Notice(text=say("compared with the line as written, this fingering {differs}", differs=words))
    return _finished(variation, free, path, (notice,))


def _ruled(variation: Variation, free: Task, scheme: Scheme, *, bend: bool) -> Variation | Declined:
    """A scheme with a rule: strict first, then bent if that is asked."""
    best: Path | None = None
    stuck, blocked = -1, free.lattice.problem
    costs = ruled_costs(scheme, free.costs)
    for problem in strict_problems(scheme, free.lattice.problem):
        group = _first_empty(problem)
        lattice = lattice_of(problem, free.maker) if group is None else None
        if isinstance(lattice, Dead):
            group, lattice = lattice.group, None
        if lattice is None:
            if group is not None and group > stuck:
                stuck, blocked = group, problem
            continue
        path = cheapest(lattice, costs)
        if best is None or path.cost < best.cost:
            best = path
    if best is not None:
        return _finished(variation, free, best, ())
    if bend:
        return _bent(variation, free, scheme)
    return _declined(free, scheme, max(stuck, 0), blocked)


def _first_empty(problem: Problem) -> int | None:
    """The first onset with a tone that has no way left."""
    for number, group in enumerate(problem.groups):
        if any(not problem.stops[tone] for tone in group.struck):
            return number
    return None


def _declined(free: Task, scheme: Scheme, number: int, problem: Problem) -> Declined:
    """Why a scheme cannot hold, naming the notes at which it fails."""
    group, tones = problem.groups[number], problem.tones
    place = place_of(free.passage, tones[group.struck[0]]).inside
    names = " ".join(pitch_of(free.passage, tones[i]) for i in group.struck)
    empty = [i for i in group.struck if not problem.stops[i]]
    if empty:
        # for the translator: {rule} is "with one finger per fret", "without finger 2" or the like
        reason = say("{pitch} cannot be played {rule}", pitch=pitch_of(free.passage, tones[empty[0]]), rule=scheme.rule)
    elif group.held:
        under = " ".join(pitch_of(free.passage, tones[i]) for i in group.held)
        reason = say(
            "{pitches} cannot be played {rule} while {others} is held", pitches=names, rule=scheme.rule, others=under
        )
    elif len(group.struck) > 1:
        reason = say("{pitches} cannot be stopped together {rule}", pitches=names, rule=scheme.rule)
    else:
        reason = say("up to {pitches} the line holds, but no further {rule}", pitches=names, rule=scheme.rule)
    return Declined(axis=AXIS, setting=scheme.name, reason=reason, place=place)


def _bent(variation: Variation, free: Task, scheme: Scheme) -> Variation:
    """The scheme broken at as few notes as can be, with a notice for each."""
    options: list[tuple[float, Lattice, Path, SoftRule]] = []
    for soft in soft_rules(scheme, free.lattice.problem, free.costs):
        lattice = lattice_of(soft.problem, free.maker)
        if isinstance(lattice, Lattice):
            path = cheapest(lattice, soft.costs, soft.extra)
            options.append((path.cost, lattice, path, soft))
    _, lattice, path, soft = min(options, key=lambda option: option[0])
    return _finished(variation, free, path, tuple(_broken(free, scheme, lattice, path, soft)))


def _broken(free: Task, scheme: Scheme, lattice: Lattice, path: Path, soft: SoftRule) -> Iterator[Notice]:
    """A notice for each note at which a bent rule does not hold."""
    last, position = 0, None
    for group in lattice.problem.groups:
        fretted = [i for i in group.struck if path.placed[i].stop.finger]
        for tone in group.struck:
            stop = path.placed[tone].stop
            wrong = stop in soft.extra.get(tone, {})
            turn = soft.problem.turn
            if turn and stop.finger and not wrong:
                fingers = {path.placed[i].stop.finger for i in fretted}
                wrong = stop.finger not in turn.get(last, frozenset()) or (len(fingers) > 1 and len(scheme.cycle) > 1)
            if scheme.window and stop.finger:
                wrong = any(_off(path, i, path.placed[tone].position) for i in (*group.held, *group.struck))
            if scheme.name == "one position" and stop.finger:
                wrong = position is not None and path.placed[tone].position != position
            if wrong:
                yield _notice(free, scheme, tone, path)
        if fretted:
            last = path.placed[fretted[-1]].stop.finger
            position = path.placed[fretted[-1]].position


def _off(path: Path, tone: int, position: int) -> bool:
    """Does a tone's finger stand off its own fret in a hand position."""
    stop = path.placed[tone].stop
    return bool(stop.finger) and stop.fret - stop.finger + 1 != position


def _notice(free: Task, scheme: Scheme, index: int, path: Path) -> Notice:
    tone, placed = free.tones[index], path.placed[index]
    stop = placed.stop
    where: dict[str, object] = {
        "pitch": pitch_of(free.passage, tone),
        "rule": scheme.rule,
        "string": stop.string,
        "finger": stop.finger,
        "fret": stop.fret,
        "position": max(placed.position, 1),
    }
    stopped = say(
        "{pitch} is not played {rule}: string {string}, finger {finger}, fret {fret}, position {position}", **where
    )
    bare = say("{pitch} is not played {rule}: string {string}, open, position {position}", **where)
    return Notice(text=stopped if stop.finger else bare, place=place_of(free.passage, tone))
