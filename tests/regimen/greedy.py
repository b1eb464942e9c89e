"""The plain way of choosing pages, which the exact choice is held against."""

from __future__ import annotations

from collections.abc import Sequence

from engrave.regimen.candidate import Candidate
from engrave.regimen.choosing import Choice
from engrave.regimen.targets import Target


def greedy(candidates: Sequence[Candidate], targets: Sequence[Target], *, must: frozenset[int] = frozenset()) -> Choice:
    """Always the page that brings most of what is still missing."""
    missing = {target.skill: target.often for target in targets if target.often}
    chosen: list[int] = []

    def take(index: int) -> None:
        chosen.append(index)
        for skill, n in candidates[index].skills.items():
            if skill in missing:
                missing[skill] = max(0, missing[skill] - n)

    for index in sorted(must):
        take(index)
    often = {target.skill: target.often for target in targets}
    while any(missing.values()):
        left = [i for i in range(len(candidates)) if i not in chosen]
        best = max(
            left,
            key=lambda i: (
                sum(min(n, missing.get(a, 0)) / often[a] for a, n in candidates[i].skills.items() if missing.get(a)),
                -i,
            ),
        )
        take(best)
    return Choice(chosen=tuple(sorted(chosen)), verdict="greedy")
