"""A candidate as a place in a regimen, and back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engrave import axes
from engrave.model import Plan, Regimen, Step
from engrave.regimen.beyond import Base, base_of
from engrave.regimen.candidate import Candidate, make
from engrave.regimen.spots import spots


def step(candidate: Candidate, section: str, reason: str, base: Base) -> Step:
    """The step for a candidate that has been given its place and the reason for it."""
    return Step(
        study=candidate.study,
        section=section,
        reason=reason,
        times=candidate.times,
        tempo=candidate.tempo,
        beat=candidate.beat,
        variation=candidate.variation,
        load=candidate.load,
        house=candidate.house,
        minutes=candidate.load.minutes,
        difficulty=candidate.difficulty,
        notices=candidate.notices,
        spots=spots(
            candidate.variation,
            tempo=candidate.tempo[-1],
            beat=candidate.beat,
            line=base.ids,
        ),
    )


def candidate_of(found: Step, plan: Plan, base: Base) -> Candidate:
    """The candidate a step was made from."""
    return make(found.study, found.variation, plan, base)


def trains(candidate: Candidate, starts: Sequence[tuple[str, ...]]) -> int:
    """How much a page trains, beyond the line, of the skills whose kind and parts begin with one of these."""
    return sum(
        n
        for skill, n in candidate.skills.items()
        if any((skill.kind, *skill.parts)[: len(start)] == start for start in starts)
    )


def with_steps(regimen: Regimen, order: Sequence[int]) -> Regimen:
    """The regimen with these of its steps alone, in this order, and the hard places they have."""
    at = {index: place for place, index in enumerate(order)}
    return replace(
        regimen,
        steps=tuple(regimen.steps[i] for i in order),
        coverage=(),
        close=None,
        troubles=tuple(
            replace(
                trouble,
                steps=tuple(at[i] for i in trouble.steps if i in at),
                treated=tuple(at[i] for i in trouble.treated if i in at),
            )
            for trouble in regimen.troubles
            if any(i in at for i in trouble.steps)
        ),
    )


def changes(found: Step) -> bool:
    """Whether a step changes anything of the line."""
    return bool(axes.kinds(found.study))


def base_in(steps: Sequence[Step]) -> Base:
    """The line, which is one of these steps, to hold the others against."""
    return base_of(next(found.variation for found in steps if not changes(found)))
