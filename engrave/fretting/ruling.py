"""The rule of each scheme as limits of the search."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

from engrave.fretting.lattice import Problem
from engrave.fretting.pricing import Costs
from engrave.fretting.schemes import Scheme
from engrave.fretting.search import BENT, Extra
from engrave.fretting.shapes import LOWEST, Stop
from engrave.fretting.weights import Weights

ANYWHERE = (LOWEST, 99)
"""positions where an arm that carries one finger may bring it"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SoftRule:
    """A problem whose rule is dear to break rather than forbidden."""

    problem: Problem
    costs: Costs
    extra: Extra
    """tone → stops that break the rule → cost"""


def strict_problems(scheme: Scheme, free: Problem) -> Iterator[Problem]:
    """The free problem cut down to the scheme's rule: one problem, or one for each string the line may lie on."""
    if scheme.window:
        yield replace(free, slot=0)
    elif scheme.name == "one position":
        yield replace(free, still=True)
    elif scheme.name == "along one string":
        for string in _strings(free):
            yield _filtered(_one_by_one(free), lambda stop, _, s=string: stop.string == s)  # type: ignore[misc]
    elif scheme.cycle:
        yield replace(
            _filtered(_one_by_one(_dealt(free, scheme)), _allowed(scheme)),
            positions=ANYWHERE,
            slot=0 if len(scheme.cycle) == 1 else free.slot,
            turn=None if scheme.repeats else _turn(scheme.cycle),
        )
    elif scheme.without:
        yield replace(_filtered(free, _allowed(scheme)), positions=ANYWHERE)
    else:
        yield _filtered(free, _allowed(scheme))


def soft_rules(scheme: Scheme, free: Problem, costs: Costs) -> Iterator[SoftRule]:
    """The scheme's rule made dear to break: one problem, or one for each place the line may lie."""
    none: Extra = {}
    if scheme.window or scheme.name == "one position":
        name = "off" if scheme.window else "shift"
        dear = Costs(_heavier(ruled_costs(scheme, costs).weights, {name: BENT}), costs.geometry)
        yield SoftRule(problem=free, costs=dear, extra=none)
    elif scheme.name == "along one string":
        for string in _strings(free):
            yield SoftRule(problem=free, costs=costs, extra=_charges(free, lambda stop, _, s=string: stop.string == s))  # type: ignore[misc]
    else:
        turn = _turn(scheme.cycle) if scheme.cycle and not scheme.repeats else None
        problem = replace(_one_by_one(free) if scheme.cycle else free, turn=turn, bend=True)
        if scheme.cycle or scheme.without:
            problem = replace(problem, positions=ANYWHERE)
        extra = _charges(free, _allowed(scheme))
        if scheme.repeats:
            due = _dealt(free, scheme)
            extra = {
                tone: {way: BENT for way in ways if way not in due.stops[tone]}
                for tone, ways in enumerate(free.stops)
                if not free.tones[tone].muted
            }
        yield SoftRule(problem=problem, costs=costs, extra=extra)


def ruled_costs(scheme: Scheme, costs: Costs) -> Costs:
    """The costs a scheme is searched with: in the box each move of the window weighs more than anything else."""
    if not scheme.window:
        return costs
    return Costs(_heavier(costs.weights, {"shift": 10.0, "shift_dm": 2.0}), costs.geometry)


def _heavier(weights: Weights, added: Mapping[str, float]) -> Weights:
    terms = {name: cost + added.get(name, 0.0) for name, cost in weights.terms.items()}
    return replace(weights, terms=terms)


Rule = Callable[[Stop, tuple[Stop, ...]], bool]
"""does a stop, one of several ways to sound its tone, keep the rule"""


def _allowed(scheme: Scheme) -> Rule:
    if scheme.name == "open strings":
        return lambda stop, ways: not stop.fret or all(way.fret for way in ways)
    if scheme.name == "no open strings":
        return lambda stop, _: bool(stop.fret)
    if scheme.cycle:
        return lambda stop, _: not stop.fret or stop.finger in scheme.cycle
    return lambda stop, _: stop.finger != scheme.without


def _one_by_one(free: Problem) -> Problem:
    """The problem with every note let go as written: on one string, or by fingers in turn, no chord stays down."""
    return replace(free, groups=tuple(replace(group, ringing=()) for group in free.groups))


def _filtered(free: Problem, rule: Rule) -> Problem:
    muted = [tone.muted for tone in free.tones]
    stops = tuple(
        ways if damped else tuple(way for way in ways if rule(way, ways))
        for ways, damped in zip(free.stops, muted, strict=True)
    )
    return replace(free, stops=stops)


def _charges(free: Problem, rule: Rule) -> Extra:
    made: dict[int, dict[Stop, float]] = {}
    for index, (tone, ways) in enumerate(zip(free.tones, free.stops, strict=True)):
        if not tone.muted:
            made[index] = {way: BENT for way in ways if not rule(way, ways)}
    return made


def _dealt(free: Problem, scheme: Scheme) -> Problem:
    """The problem with each stopped note left to the finger whose turn it is, where a round has a finger twice.

    Places are kept, so that it is known which notes are stopped; what is stopped together has one turn.
    """
    if not scheme.repeats:
        return free
    due: dict[int, int] = {}
    turns = 0
    for group in free.groups:
        stopped = [i for i in group.struck if not free.tones[i].muted and all(way.fret for way in free.stops[i])]
        due |= dict.fromkeys(stopped, scheme.cycle[turns % len(scheme.cycle)])
        turns += bool(stopped)
    stops = tuple(
        tuple(way for way in ways if tone not in due or way.finger == due[tone]) for tone, ways in enumerate(free.stops)
    )
    return replace(free, stops=stops)


def _turn(cycle: tuple[int, ...]) -> dict[int, frozenset[int]]:
    """Finger → the one whose turn is next; 0 → the one that begins."""
    after = {finger: frozenset({cycle[(i + 1) % len(cycle)]}) for i, finger in enumerate(cycle)}
    return {0: frozenset({cycle[0]})} | after


def _strings(free: Problem) -> list[int]:
    return sorted({way.string for ways in free.stops for way in ways})
