"""The same regimen for another passage: what still applies keeps its place, the rest gives it to its nearest kin.

The kin of a study is the one, of those not in the regimen already, that trains most of what the study trained on the
passage it was made for; replacements are dealt out so that all of them together are as near as can be.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import sqrt

from engrave import axes
from engrave.axes.selection import selection
from engrave.model import Declined, Fault, Notice, Plan, PlanError, Regimen, Step, Study, Variation
from engrave.regimen.atoms import Atom, count
from engrave.regimen.candidates import AS_WRITTEN, Candidate, answers, canonical, heading, left_out
from engrave.regimen.choosing import coverage
from engrave.regimen.programme import Row, Unknown, solve
from engrave.regimen.steps import step
from engrave.regimen.wanted import wants

NEAR = 0.3
"""how alike (0 to 1) a replacement must be at least; house figure"""


def as_plan(regimen: Regimen, plan: Plan) -> Plan:
    """`plan` with the studies of `regimen` by name, in its order: what another passage is given to make the same of."""
    return replace(plan, studies=tuple(found.study for found in regimen.steps), depth="complete", pages=None)


def reissue(old: Regimen, line: Variation, plan: Plan) -> Regimen:
    """The steps of `old`, in its order and sections, for `line`; notices say what was exchanged or dropped, and why.

    Times, tempi and loads are those of the new passage. Raises PlanError where nothing of it applies.
    """
    written = axes.vary(line, AS_WRITTEN)
    if isinstance(written, Declined):
        raise TypeError(f"the line as written was declined: {written.reason}")
    found_now = answers(line, written, plan, [found.study for found in old.steps])
    gone = [i for i, answer in enumerate(found_now) if isinstance(answer, Notice)]
    spare = _spare(old, line, plan, written) if gone else ()
    taken = _kin([old.steps[i] for i in gone], spare)
    order: list[Candidate] = []
    steps: list[Step] = []
    notices: list[Notice] = []
    for i, (found, answer) in enumerate(zip(old.steps, found_now, strict=True)):
        if isinstance(answer, Candidate):
            order.append(answer)
            steps.append(step(order[-1], found.section, found.reason))
            continue
        why = answer.text
        kin = taken.get(gone.index(i))
        if kin is None:
            notices.append(Notice(text=f"{why}; nothing near enough takes its place"))
            continue
        order.append(spare[kin])
        title = spare[kin].variation.title
        notices.append(Notice(text=f"{why}; “{title}” takes its place"))
        steps.append(
            step(spare[kin], found.section, f"In the place of “{heading(found.study)}”, which does not apply here.")
        )
    if not steps:
        raise PlanError(
            Fault(
                fact="nothing of the old regimen applies to this passage", hint="; ".join(n.text for n in notices[:3])
            )
        )
    return Regimen(
        steps=tuple(steps),
        notices=tuple(notices),
        coverage=coverage(order, order, wants(order, plan.player)),
        verdict=f"{len(steps) - len(taken)} of {len(old.steps)} studies as they were, {len(taken)} exchanged",
    )


def _spare(old: Regimen, line: Variation, plan: Plan, written: Variation) -> tuple[Candidate, ...]:
    """Studies of the catalogue that apply to the line, are wanted, and are not in the regimen."""
    seen = {canonical(found.study) for found in old.steps}
    others: list[Study] = []
    for study in selection("complete"):
        if canonical(study) not in seen and not left_out(study, plan):
            seen.add(canonical(study))
            others.append(study)
    return tuple(found for found in answers(line, written, plan, others) if isinstance(found, Candidate))


def _kin(gone: Sequence[Step], spare: Sequence[Candidate]) -> dict[int, int]:
    """Index of what is gone → index of what takes its place: the best dealing of all."""
    likeness = {
        (i, j): alike
        for i, missing in enumerate(gone)
        for j, candidate in enumerate(spare)
        if (alike := _alike(missing, candidate)) >= NEAR
    }
    pairs = list(likeness)
    rows = [
        Row(shares={k: 1.0 for k, pair in enumerate(pairs) if pair[side] == index}, high=1.0)
        for side, size in ((0, len(gone)), (1, len(spare)))
        for index in range(size)
        if any(pair[side] == index for pair in pairs)
    ]
    # earlier studies of the catalogue win where two are equally near
    answer = solve([Unknown(worth=likeness[pair] - 1e-5 * pair[1]) for pair in pairs], rows)
    if answer is None:
        raise AssertionError("no dealing at all is also one")
    return {i: j for k, (i, j) in enumerate(pairs) if answer.values[k] > 0.5}


def _alike(missing: Step, candidate: Candidate) -> float:
    """How alike two studies are, 0 to 1: half by the axes they work on and how, half by what they train.

    Studies that work on no axis in common are not kin, however alike the notes.
    """
    here, there = _ways(missing.study), _ways(candidate.study)
    if here and not {axis for axis, _ in here} & {axis for axis, _ in there}:
        return 0.0
    ways = len(here & there) / max(1, len(here | there))
    if missing.variation is None:
        return ways
    return (ways + _cosine(count(missing.variation), count(candidate.variation))) / 2


def _ways(study: Study) -> set[tuple[str, str]]:
    """(axis, kind of work) of every setting that changes something."""
    return {
        (known.name, setting.kind)
        for known, setting in zip(axes.ORDER, axes.settings(study), strict=True)
        if setting.name != known.default
    }


def _cosine(one: Mapping[Atom, int], other: Mapping[Atom, int]) -> float:
    """Likeness of two counts: 1 where they stand in the same proportions, 0 where they share nothing."""
    together = sum(n * other.get(atom, 0) for atom, n in one.items())
    lengths = [sqrt(sum(n * n for n in counts.values())) for counts in (one, other)]
    return together / (lengths[0] * lengths[1]) if all(lengths) else 0.0
