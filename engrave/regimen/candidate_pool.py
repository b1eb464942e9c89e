"""The pages there could be: every study that applies to this line, made once, and why the rest does not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from engrave import axes
from engrave.axes.selection import selection
from engrave.model import Declined, Fault, Notice, Plan, PlanError, Study, Variation
from engrave.model.said import say
from engrave.regimen.beyond import Base, base_of
from engrave.regimen.candidate import Candidate, make, written
from engrave.regimen.levels import BEGINNER, LITTLE, MIXED, kept_back, later, level_of
from engrave.regimen.sought import sought
from engrave.regimen.studies import AS_WRITTEN, Unfit, canonical, declined, heading, left_out
from engrave.regimen.terms import terms_of, worded
from engrave.regimen.varied import elsewhere, varied
from engrave.regimen.worthwhile import idle
from engrave.telling import tell


@dataclass(frozen=True, slots=True, kw_only=True)
class Pool:
    """What there is to choose from."""

    base: Base
    """the line as written, with strokes and figures"""
    candidates: tuple[Candidate, ...]
    """the line as written first, then in the order of the catalogue or the plan"""
    notices: tuple[Notice, ...] = ()
    """what was left out before choosing, and why"""
    asked: frozenset[int] = frozenset()
    """candidates that one line of the plan asks for"""


def pool(line: Variation, plan: Plan) -> Pool:
    """Every study that applies: the plan's, else the built-in selection and what the plan's words call for.

    Raises PlanError for unknown settings.
    """
    base = base_of(written(line))
    # a plan may give the line its own times and tempi
    own = next((study for study in plan.studies if not study.asked), AS_WRITTEN)
    candidates = [make(own, written(line, own), plan, base)]
    notices: list[Notice | Unfit] = []
    held: list[str] = []
    seen = {canonical(AS_WRITTEN)}
    calls, pairs = sought(plan)
    several: set[int] = set()
    expected = len(plan.studies) or len(built_in(plan)) + len(calls)
    for at, study in enumerate(_or_elsewhere(line, plan, calls)):
        tell("choosing", min(1.0, at / expected))
        if canonical(study) in seen:
            if plan.studies and study is not own:
                notices.append(
                    Notice(text=say("“{study}” is asked for twice; it is printed once", study=heading(study)))
                )
            continue
        seen.add(canonical(study))
        if why := left_out(study, plan):
            notices.append(Notice(text=say("“{study}” is left out: {reason}", study=heading(study), reason=why)))
            continue
        found = answer(line, base, plan, study)
        if isinstance(found, Unfit):
            notices.append(found)
            continue
        insisted = plan.studies or study in pairs
        why = "" if insisted or _all(plan) else kept_back(found.variation, found.kinds, base.line, plan.player)
        if why and not _called(found, plan, why):
            held.append(why)
            continue
        if not insisted and (nothing := idle(found, candidates, base.line)):
            notices.append(nothing)
            continue
        if study in pairs:
            several.add(len(candidates))
        candidates.append(found)
    if plan.only and not plan.studies:
        return _only(Pool(base=base, candidates=tuple(candidates), asked=frozenset(several)), plan)
    pages = {canonical(candidate.study) for candidate in candidates}
    notices = [_pointing_to(pages, one) for one in notices]
    said = (*_gathered(notices, plan), *later(held, plan.player), *_unserved(candidates, plan))
    return Pool(base=base, candidates=tuple(candidates), notices=said, asked=frozenset(several))


def _only(there: Pool, plan: Plan) -> Pool:
    """The pages that train what alone was asked for, and the line; why others do not apply is nobody's question."""
    kept = [i for i, c in enumerate(there.candidates) if c.plain or any(word in c.serves for word in plan.only)]
    if len(kept) < 2:
        what = " or ".join(f"“{word}”" for word in plan.only)
        raise PlanError(Fault(fact=f"no study of this passage trains {what} more than the line itself does"))
    return Pool(
        base=there.base,
        candidates=tuple(there.candidates[i] for i in kept),
        asked=frozenset(kept.index(i) for i in there.asked if i in kept),
    )


CALLS = "calls"
"""kind of a notice on what is weak or a goal and has no page"""
ALIKE = 3
"""studies that do not apply for one and the same reason, from which they are told together"""


def _pointing_to(pages: Collection[tuple[str, ...]], one: Notice | Unfit) -> Notice | Unfit:
    """A notice, which names the strings where its study does apply only if there is a page of it."""
    if isinstance(one, Notice) or one.other is None or canonical(one.other) in pages:
        return one
    return replace(one, other=None)


def _gathered(notices: Sequence[Notice | Unfit], plan: Plan) -> list[Notice]:
    """What does not apply for one and the same reason told once; of a plan's own studies each by itself."""
    counts = Counter(one.reason for one in notices if isinstance(one, Unfit))
    found: list[Notice] = []
    told: set[str] = set()
    for one in notices:
        if isinstance(one, Notice):
            found.append(one)
        elif plan.studies or counts[one.reason] < ALIKE:
            found.append(one.notice())
        elif one.reason not in told:
            told.add(one.reason)
            found.append(one.notice(counts[one.reason] - 1))
    return found if plan.studies else list(dict.fromkeys(found))


def _unserved(candidates: Sequence[Candidate], plan: Plan) -> list[Notice]:
    """What the plan calls weak or a goal, and no page of this passage works on."""
    player = plan.player
    served = {word for candidate in candidates for word in candidate.serves}
    weak = [
        say(
            "The plan calls {thing} weak: no study of this passage trains it much more than the line itself does",
            thing=worded(word),
        )
        for word in player.weak
        if word not in served
    ]
    goals = [
        say(
            "The plan calls {thing} a goal: no study of this passage trains it much more than the line itself does",
            thing=worded(word),
        )
        for word in player.goals
        if word not in served
    ]
    return [Notice(text=text, kind=CALLS) for text in (*weak, *goals)]


def _all(plan: Plan) -> bool:
    """Whether all that applies was asked for, and no level named."""
    return plan.depth in ("complete", "fewest") and not plan.player.level


def _called(candidate: Candidate, plan: Plan, why: str) -> bool:
    """Whether the plan's own words ask for what the level would keep for later."""
    player = plan.player
    words = [word for word in (*player.weak, *player.goals, *player.strong) if word in candidate.serves]
    if why == LITTLE:
        return any("c" in term.parts for _, term in terms_of(tuple(words)))
    return bool(words) and level_of(player) != BEGINNER and why != MIXED


def answer(line: Variation, base: Base, plan: Plan, study: Study) -> Candidate | Unfit:
    """The candidate for one study, or why it does not apply."""
    made = varied(line, study)
    if isinstance(made, Declined):
        return declined(study, made, elsewhere(line, study))
    return make(study, made, plan, base)


def _or_elsewhere(line: Variation, plan: Plan, calls: tuple[Study, ...]) -> Iterator[Study]:
    """The studies, each that the line's strings stand in the way of followed by the same on strings where it works.

    Of what nobody asked for one of a kind is enough.
    """
    asked = plan.studies or (*built_in(plan), *calls)
    unasked = () if plan.studies else built_in(plan)
    offered: set[tuple[str, ...]] = set()
    for study in asked:
        yield study
        other = elsewhere(line, study)
        if other is None or other in asked or (study in unasked and axes.kinds(other) in offered):
            continue
        offered.add(axes.kinds(other))
        yield other


def built_in(plan: Plan) -> tuple[Study, ...]:
    """The studies a book of this plan is chosen from, in the order of the catalogue.

    A short or standard book is chosen from the standard selection, which holds more than fits either.
    """
    return selection("complete" if plan.depth in ("complete", "fewest") else "standard")
