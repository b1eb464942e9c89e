"""What a log holds back beside the studies it speaks of: what loads a finger that hurts, and kin of what failed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engrave.model import Notice
from engrave.model.said import say
from engrave.regimen.beyond import Base, serves
from engrave.regimen.candidate import Candidate, changes_for
from engrave.regimen.doses import Form
from engrave.regimen.log import Standing
from engrave.regimen.relatives import alike
from engrave.regimen.skills import count
from engrave.regimen.terms import Term

RELATED = 0.3
"""how alike (0 to 1) two studies are at least that are held back together; house figure"""


def spared(
    candidate: Candidate, hurts: Sequence[tuple[Candidate | None, Standing]], base: Base, *, known: bool = False
) -> bool:
    """Whether a study is left out beside those that hurt: it loads the finger named, or is of their kind where none is.

    What hurts without a study has no page of this passage. One that is not `known` from the log yet is left out where
    it uses that finger at all. The line itself stays.
    """
    if candidate.plain:
        return False
    return any(
        any(_loads(candidate, finger, base) or (not known and _uses(candidate, finger)) for finger in now.hurting)
        if now.hurting
        else other is not None and _related(other, candidate)
        for other, now in hurts
    )


def told_of_pain(*, less: bool) -> Notice:
    """What is said of weeks after a log that speaks of pain; `less`: other studies are left out beside."""
    if less:
        said = say("Other studies that load what hurts are left out too, and neither tempi nor minutes rise.")
        return Notice(text=said)
    return Notice(text=say("As something hurts, neither tempi nor minutes rise."))


def held_back(
    kept: Sequence[Candidate], forms: Sequence[Form], rises: Sequence[tuple[Candidate, int]]
) -> tuple[Form, ...]:
    """The forms, where a relative as hard as a study that failed rises no more beats than that (`rises`) does."""
    found = []
    for candidate, form in zip(kept, forms, strict=True):
        most = [
            rise
            for other, rise in rises
            if not candidate.plain and candidate.difficulty >= other.difficulty and _related(other, candidate)
        ]
        top = form.steps[0] + min(most, default=form.steps[-1])
        found.append(replace(form, steps=tuple(tempo for tempo in form.steps if tempo <= top)))
    return tuple(found)


def _related(one: Candidate, other: Candidate) -> bool:
    """Whether two studies are work of one kind."""
    return alike(one.study, one.variation, other) >= RELATED


def _uses(candidate: Candidate, finger: str) -> bool:
    """Whether a study asks anything of a finger (p i m a c, or 1 to 4)."""
    return any(
        finger in (note.stroke and note.stroke.finger, note.placement and str(note.placement.finger))
        for note in candidate.variation.passage.notes
    )


def _loads(candidate: Candidate, finger: str, base: Base) -> bool:
    """Whether a study works a finger (p i m a c, or 1 to 4) harder than the line does."""
    if candidate.load.muscle == finger:
        return True
    term = Term(kind="finger" if finger.isdigit() else "plucking finger", parts=(finger,))
    notes = max(1, candidate.variation.figures.notes)
    return serves(term, count(candidate.variation), notes, base, changed=changes_for(candidate.study, term)) > 0
