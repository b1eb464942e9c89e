"""A candidate as a place in a regimen, and back."""

from __future__ import annotations

from engrave import axes
from engrave.model import Step
from engrave.regimen.candidates import Candidate, counted


def step(candidate: Candidate, section: str, reason: str) -> Step:
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
    )


def candidate_of(found: Step) -> Candidate:
    """The candidate a step was made from. Raises ValueError for a step that carries no variation."""
    if found.variation is None:
        raise ValueError(f"step {found.study} carries no variation")
    return Candidate(
        study=found.study,
        variation=found.variation,
        kinds=axes.kinds(found.study),
        times=found.times,
        tempo=found.tempo,
        beat=found.beat,
        house=found.house,
        atoms=counted(found.variation, found.study, found.times),
        load=found.load,
    )
