"""The plain way of choosing pages, which the exact choice is held against."""

from __future__ import annotations

from collections.abc import Sequence

from engrave.regimen.candidates import Candidate
from engrave.regimen.choosing import Choice
from engrave.regimen.wanted import Want


def greedy(candidates: Sequence[Candidate], wants: Sequence[Want], *, must: frozenset[int] = frozenset()) -> Choice:
    """Always the page that brings most of what is still missing."""
    missing = {want.atom: want.often for want in wants if want.often}
    chosen: list[int] = []

    def take(index: int) -> None:
        chosen.append(index)
        for atom, n in candidates[index].atoms.items():
            if atom in missing:
                missing[atom] = max(0, missing[atom] - n)

    for index in sorted(must):
        take(index)
    often = {want.atom: want.often for want in wants}
    while any(missing.values()):
        left = [i for i in range(len(candidates)) if i not in chosen]
        best = max(
            left,
            key=lambda i: (
                sum(min(n, missing.get(a, 0)) / often[a] for a, n in candidates[i].atoms.items() if missing.get(a)),
                -i,
            ),
        )
        take(best)
    return Choice(chosen=tuple(sorted(chosen)), verdict="greedy")
