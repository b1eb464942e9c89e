"""A regimen made again for another passage: what still applies keeps its place, the rest gives it to its nearest kin.

The kin of a study is the one, of those not in the regimen already, that trains most of what the study trained on the
passage it was made for; replacements are dealt out so that all of them together are as near as can be.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engrave.axes.selection import selection
from engrave.model import Fault, Notice, Plan, PlanError, Regimen, Step, Study, Variation
from engrave.model.said import say
from engrave.regimen.beyond import Base, base_of
from engrave.regimen.candidate import Candidate, gently, make, written
from engrave.regimen.candidate_pool import answer
from engrave.regimen.choosing import coverage
from engrave.regimen.courses import closing, hard_places, slowly
from engrave.regimen.levels import kept_back
from engrave.regimen.order import WARM_UP, in_order
from engrave.regimen.programme import Unknown, so_many, solve
from engrave.regimen.relatives import alike
from engrave.regimen.steps import step
from engrave.regimen.studies import Unfit, canonical, heading, left_out
from engrave.regimen.targets import targets

NEAR = 0.3
"""how alike (0 to 1) a replacement must be at least; house figure"""


def as_plan(regimen: Regimen, plan: Plan) -> Plan:
    """`plan` with the studies of `regimen` by name, in its order: what another passage is given to make the same of."""
    return replace(plan, studies=tuple(found.study for found in regimen.steps), depth="complete", pages=None)


def reissue(old: Regimen, line: Variation, plan: Plan) -> Regimen:
    """The steps of `old`, in its order and sections, for `line`; notices say what was exchanged or dropped, and why.

    Times, tempi and loads are those of the new passage. Raises PlanError where nothing of it applies.
    """
    base = base_of(written(line))
    found_now = [_answer(line, base, plan, found.study) for found in old.steps]
    gone = [i for i, answer in enumerate(found_now) if isinstance(answer, Unfit)]
    spare = _spare(old, line, plan, base) if gone else ()
    taken = _kin([old.steps[i] for i in gone], spare)
    kept: list[tuple[Candidate, str, str]] = []
    notices: list[Notice] = []
    for i, (found, now) in enumerate(zip(old.steps, found_now, strict=True)):
        if isinstance(now, Candidate):
            kept.append((now, found.section, ""))
        elif (at := taken.get(gone.index(i))) is None:
            notices.append(Notice(text=say("{unfit}; nothing near enough takes its place", unfit=now.text)))
        else:
            # for the translator: {unfit} is a sentence that a study does not apply, and why
            said = say("{unfit}; “{other}” takes its place", unfit=now.text, other=spare[at].variation.title)
            notices.append(Notice(text=said))
            instead = say("In the place of “{study}”, which does not apply here.", study=heading(found.study))
            kept.append((spare[at], found.section, instead))
    if all(c.plain for c, _, _ in kept) and (not kept or len(old.steps) > 1):
        hint = "; ".join(n.text for n in notices[:3])
        raise PlanError(Fault(fact="nothing of the old regimen applies to this passage", hint=hint))
    order = [
        slowly(c, plan, base) if c.plain and len(kept) > 1 else gently(c, plan, base) if section == WARM_UP else c
        for c, section, _ in kept
    ]
    # what a page is good for is said of the new passage, not of the old one
    fresh = {place.index: place for place in in_order(order, plan.player, base)}
    steps = tuple(
        step(c, section, instead or (fresh[i].reason if fresh[i].section == section else ""), base)
        for i, (c, (_, section, instead)) in enumerate(zip(order, kept, strict=True))
    )
    return Regimen(
        steps=steps,
        notices=tuple(notices),
        coverage=coverage(order, order, targets(order, plan.player)),
        verdict=say(
            "{kept} of {all} studies as they were, {exchanged} exchanged",
            kept=len(steps) - len(taken),
            all=len(old.steps),
            exchanged=len(taken),
        ),
        close=closing(order, steps, plan, base),
        troubles=hard_places(order, steps, base),
    )


def _answer(line: Variation, base: Base, plan: Plan, study: Study) -> Candidate | Unfit:
    return make(study, base.line, plan, base) if not study.asked else answer(line, base, plan, study)


def _spare(old: Regimen, line: Variation, plan: Plan, base: Base) -> tuple[Candidate, ...]:
    """Studies of the catalogue that apply to the line, are wanted, and are not in the regimen."""
    seen = {canonical(found.study) for found in old.steps}
    found: list[Candidate] = []
    for study in selection("complete"):
        if canonical(study) not in seen and not left_out(study, plan):
            seen.add(canonical(study))
            made = answer(line, base, plan, study)
            if isinstance(made, Candidate) and not kept_back(made.variation, made.kinds, base.line, plan.player):
                found.append(made)
    return tuple(found)


def _kin(gone: Sequence[Step], spare: Sequence[Candidate]) -> dict[int, int]:
    """Index of what is gone → index of what takes its place: the best dealing of all."""
    likeness = {
        (i, j): near
        for i, missing in enumerate(gone)
        for j, candidate in enumerate(spare)
        if (near := alike(missing.study, missing.variation, candidate)) >= NEAR
    }
    pairs = list(likeness)
    rows = [
        so_many((k for k, pair in enumerate(pairs) if pair[side] == index), high=1.0)
        for side, size in ((0, len(gone)), (1, len(spare)))
        for index in range(size)
    ]
    # earlier studies of the catalogue win where two are equally near
    answer = solve([Unknown(worth=likeness[pair] - 1e-5 * pair[1]) for pair in pairs], rows)
    if answer is None:
        raise AssertionError("no dealing at all is also one")
    return {i: j for k, (i, j) in enumerate(pairs) if answer.values[k] > 0.5}
