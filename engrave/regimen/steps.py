"""A candidate as a place in a regimen."""

from __future__ import annotations

from engrave.model import Step
from engrave.regimen.candidates import Candidate


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
