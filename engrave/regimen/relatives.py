"""Which study is most like another: the kin that takes a place left empty."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from math import sqrt

from engrave import axes
from engrave.model import Study, Variation
from engrave.regimen.candidate import Candidate
from engrave.regimen.skills import Skill, count


def alike(study: Study, variation: Variation, candidate: Candidate) -> float:
    """How alike two studies are, 0 to 1: half by the axes they work on and how, half by what they train.

    Studies that work on no axis in common are not kin, however alike the notes.
    """
    here, there = _ways(study), _ways(candidate.study)
    if here and not {axis for axis, _ in here} & {axis for axis, _ in there}:
        return 0.0
    ways = len(here & there) / max(1, len(here | there))
    return (ways + _cosine(count(variation), count(candidate.variation))) / 2


def easier(
    candidate: Candidate, among: Sequence[Candidate], words: Collection[str] = (), failed: Collection[Study] = ()
) -> int | None:
    """Index of the easier study that is most like `candidate`; None where there is no kin.

    None of those that `failed` themselves takes its place, and where it works on some of `words`, only one that does.
    """
    own = set(words) & set(candidate.serves)
    found = [
        (alike(candidate.study, candidate.variation, other), -other.difficulty, -i)
        for i, other in enumerate(among)
        if not other.plain and other.difficulty < candidate.difficulty and other.study not in failed
        if not own or own & set(other.serves)
    ]
    best = max(found, default=(0.0, 0.0, 0))
    return -best[2] if best[0] > 0 else None


def _ways(study: Study) -> set[tuple[str, str]]:
    """(axis, kind of work) of every setting that changes something."""
    return {(setting.axis, setting.kind) for setting in axes.changed(study)}


def _cosine(one: Mapping[Skill, int], other: Mapping[Skill, int]) -> float:
    """Likeness of two counts: 1 where they stand in the same proportions, 0 where they share nothing."""
    together = sum(n * other.get(skill, 0) for skill, n in one.items())
    size = sqrt(sum(n * n for n in one.values()) * sum(n * n for n in other.values()))
    return together / size if size else 0.0
