"""Which pages: the exact choice among candidates.

Two programmes with one 0/1 unknown a page. `fewest` covers everything that is wanted with the fewest pages, and among
those with the fewest minutes. `most_valuable` makes the most of a number of pages: each skill earns up to its worth as
it nears what is wanted of it, and a little more up to three times that, so that pages left over are not wasted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from engrave.model import Coverage
from engrave.model.said import say, say_count, strung
from engrave.regimen.beyond import core
from engrave.regimen.candidate import Candidate
from engrave.regimen.programme import Answer, Constraint, Unknown, so_many, solve
from engrave.regimen.skills import GROUPS
from engrave.regimen.targets import Target

MORE = 3.0
"""times what is wanted up to which more is still worth a little"""
A_LITTLE = 0.1
"""share of its worth that a skill earns beyond what is wanted"""
PAGE = 0.3
"""worth of a page for itself, shared among the settings it changes: one new thing at a time teaches more clearly; house
figure"""
_MINUTE = 1e-4
"""what a minute costs: decides only between choices that train the same"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Pages of which so many must be taken."""

    members: Sequence[int]
    """indices of candidates"""
    least: int = 1
    most: int | None = None
    """beyond what must be in; None: as many as are worth it"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """The pages chosen."""

    chosen: tuple[int, ...]
    """indices of candidates, ascending"""
    verdict: str
    """how good the choice is"""


def fewest(candidates: Sequence[Candidate], targets: Sequence[Target], *, must: frozenset[int] = frozenset()) -> Choice:
    """The fewest pages that train everything as often as wanted; `must` are in whatever they train."""
    dearest = max((c.load.minutes for c in candidates), default=1.0) or 1.0
    unknowns = [
        Unknown(worth=-1.0 - 1e-3 * c.load.minutes / dearest / len(candidates), low=float(i in must))
        for i, c in enumerate(candidates)
    ]
    rows = [
        Constraint(shares=_given(candidates, target), low=float(target.often)) for target in targets if target.often
    ]
    answer = solve(unknowns, rows)
    if answer is None:
        raise AssertionError("more is wanted than all pages together give")
    return _choice(answer, len(candidates), say("the fewest pages that train everything"))


def most_valuable(
    candidates: Sequence[Candidate],
    targets: Sequence[Target],
    *,
    pages: int,
    must: frozenset[int] = frozenset(),
    groups: Sequence[Group] = (),
    gentle: float = 0.0,
) -> Choice:
    """The pages, at most `pages` of them beyond none that must be in, that train the most of what is wanted.

    Of each group so many are taken as it asks for; where there is not room for all, the first go before the rest.
    `gentle` is what a point of difficulty costs.
    """
    size = len(candidates)
    unknowns = [
        Unknown(
            worth=PAGE / max(1, len(c.kinds)) - _MINUTE * c.load.minutes - gentle * c.difficulty, low=float(i in must)
        )
        for i, c in enumerate(candidates)
    ]
    rows = [so_many(range(size), high=float(max(pages, len(must))))]
    rows += [so_many(group.members, low=float(min(group.least, len(group.members)))) for group in groups]
    rows += [
        so_many((i for i in group.members if i not in must), high=float(group.most))
        for group in groups
        if group.most is not None
    ]
    for target in targets:
        if not target.often:
            continue
        # shares of what is wanted, so that the figures stay near one
        needed, beyond = len(unknowns), len(unknowns) + 1
        unknowns.append(Unknown(worth=target.worth, whole=False))
        unknowns.append(Unknown(worth=A_LITTLE * target.worth / (MORE - 1), high=MORE - 1, whole=False))
        shares = {i: min(n / target.often, MORE) for i, n in _given(candidates, target).items()}
        rows.append(Constraint(shares={**shares, needed: -1.0, beyond: -1.0}, low=0.0))
    answer = solve(unknowns, rows, gap=0.002)
    if answer is None and groups:
        return most_valuable(candidates, targets, pages=pages, must=must, groups=_fewer(groups), gentle=gentle)
    if answer is None:
        raise AssertionError("a choice of pages without conditions has no answer")
    what = say_count(
        "the choice of {n} page that trains most",
        "the choice of {n} pages that trains most",
        int(sum(answer.values[:size])),
    )
    return _choice(answer, size, what)


def _fewer(groups: Sequence[Group]) -> tuple[Group, ...]:
    """One page less of the last group that asks for some, or without it: the first are the most needed."""
    *before, last = groups
    return (*before, replace(last, least=last.least - 1)) if last.least > 1 else tuple(before)


def _given(candidates: Sequence[Candidate], target: Target) -> dict[int, float]:
    """Candidate → how often it trains what is wanted, no more than wanted."""
    return {i: float(n) for i, c in enumerate(candidates) if (n := c.skills.get(target.skill, 0))}


def _choice(answer: Answer, size: int, what: str) -> Choice:
    chosen = tuple(i for i in range(size) if answer.values[i] > 0.5)
    return Choice(chosen=chosen, verdict=strung([what, answer.verdict], ": "))


def coverage(
    order: Sequence[Candidate], every: Sequence[Candidate], targets: Sequence[Target], reasons: Sequence[str] = ()
) -> tuple[Coverage, ...]:
    """What the pages in `order` train; `every` are all there could be, `reasons` say why fewer were taken."""
    found = []
    for target in targets:
        got = sum(c.skills.get(target.skill, 0) for c in order)
        steps = tuple(i for i, c in enumerate(order) if target.skill in c.skills)
        pages = [(i, order[i]) for i in steps if target.skill.where]
        why = ""
        if got < target.often:
            could = sum(target.skill in c.skills for c in every)
            why = say_count(
                "one page could train it; {because}",
                "{n} pages could train it; {because}",
                could,
                because=strung(reasons, "; ") if reasons else say("other pages train more of what is wanted"),
            )
        found.append(
            Coverage(
                group=GROUPS[target.skill.kind],
                label=target.skill.label,
                where=target.skill.where,
                wanted=target.often,
                found=got,
                steps=steps,
                particular=tuple(i for i, c in pages if c.kinds and c.held and core(target.skill) not in c.more),
                why=why,
            )
        )
    return tuple(found)
