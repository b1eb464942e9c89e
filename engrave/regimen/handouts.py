"""A handout: the studies that train most in one or two pages, or the pages that the asked-for studies need.

Exact programmes over the heights of what is to be printed, which only the engraver knows: whoever draws the studies of
a regimen measures them and asks here which go on which page.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from engrave.model import Fault, Notice, Plan, PlanError, Regimen, Step, Study
from engrave.model.said import say, strung
from engrave.regimen.beyond import Base, base_of
from engrave.regimen.candidate import Candidate, serving
from engrave.regimen.candidate_pool import CALLS
from engrave.regimen.courses import plainest
from engrave.regimen.handout_room import Room, pages_needed
from engrave.regimen.levels import limit
from engrave.regimen.order import WARM_UP, easy
from engrave.regimen.programme import Constraint, Unknown, solve
from engrave.regimen.steps import candidate_of, changes, with_steps
from engrave.regimen.studies import quoted
from engrave.regimen.targets import targets
from engrave.regimen.terms import worded

NO_ROOM = "no room"
"""kind of a notice on what a handout leaves out"""
_Firm = dict[str, list[int]]
"""what is wanted, in words → steps of which one is to be in"""
WEAK = 8.0
"""worth of one study for a thing the plan names, beside a plain skill trained as wanted; house figure"""
PLUCKED = 6.0
"""worth of the first study in which the plucking hand does something else: what a passage is made of shows there first;
house figure"""
KIND = 3.0
"""worth of the first study of its kind of work, so that a handout does not hold one idea five times; house figure"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Handout:
    """What goes on which page."""

    regimen: Regimen
    """the steps that are printed, page by page and on each page in practice order"""
    pages: tuple[tuple[int, ...], ...]
    """for each page the indices of its steps"""


def handout(
    regimen: Regimen, plan: Plan, heights: Sequence[float], paper: Room, *, pages: int, insist: bool = True
) -> Handout:
    """The studies of `regimen` that fit so many `pages` at these `heights` (mm, one a step).

    Where the plan names its studies, those it insists on must all fit; else PlanError says how many pages they need.
    With `insist` false as many of them are taken as fit beside the line, at least one; what was left out is a notice.
    Where the plan names none, the studies are taken that train most.
    """
    if len(heights) != len(regimen.steps) or pages < 1:
        raise ValueError(f"{len(heights)} heights for {len(regimen.steps)} steps on {pages} pages")
    room = paper.of(pages)
    # the line stands on every handout
    named = [i for i, step in enumerate(regimen.steps) if plan.studies and step.study.must and changes(step)]
    must = [i for i, step in enumerate(regimen.steps) if not changes(step)] + (named if insist else [])
    tall = [i for i, height in enumerate(heights) if height > paper.page]
    if tall and (len(tall) == len(heights) or any(i in must for i in tall)):
        raise _too_tall(regimen.steps[tall[0]], heights[tall[0]], paper)
    candidates = () if plan.studies else _candidates(regimen.steps, plan)
    firm = _firm(regimen.steps, candidates, plan) if candidates else {}
    gains = _gains(regimen.steps, candidates, plan) if candidates else []
    chosen = _choice(_Task(steps=regimen.steps, plan=plan, heights=heights, room=room, must=must), firm, gains)
    if chosen is None or (named and not any(changes(regimen.steps[i]) for page in chosen for i in page)):
        if tall:
            raise _too_tall(regimen.steps[tall[0]], heights[tall[0]], paper)
        must = sorted({*must, *named})
        raise _too_many([regimen.steps[i] for i in must], [heights[i] for i in must], paper, pages)
    order = [i for page in chosen for i in page]
    left: list[str] = (
        [quoted(_title(step)) for i, step in enumerate(regimen.steps) if i not in order] if plan.studies else []
    )
    left += [name for name, members in firm.items() if not set(members) & set(order)]
    lacking = say("no room for: {things}", things=strung(left, ", "))
    notices = (Notice(text=lacking, kind=NO_ROOM),) if left else ()
    starts = [sum(len(page) for page in chosen[:k]) for k in range(len(chosen))]
    made = with_steps(regimen, order)
    return Handout(
        regimen=replace(made, notices=regimen.notices + notices),
        pages=tuple(tuple(range(start, start + len(page))) for start, page in zip(starts, chosen, strict=True) if page),
    )


def _too_tall(step: Step, height: float, paper: Room) -> PlanError:
    """What is said of a study that no page holds."""
    fact = f"“{_title(step)}” is {height:.0f} mm high, a page of the handout has {paper.page:.0f} mm"
    return PlanError(Fault(fact=fact, hint="cut the passage with --bars, or print a book"))


def _too_many(steps: Sequence[Step], heights: Sequence[float], paper: Room, pages: int) -> PlanError:
    """What is said where what must be in does not fit; the line stands first among the steps, if it is one of them."""
    line = not changes(steps[0])
    asked = len(steps) - line
    said = " and ".join(["the line"] * line + [f"{asked} studies" if asked > 1 else "one study"] * (asked > 0))
    needed = pages_needed(heights, paper, line=line)
    alone = len(steps) == 1
    fact = f"{said} {'does' if alone else 'do'} not fit {_pages(pages)}: {'it needs' if alone else 'they need'} "
    return PlanError(Fault(fact=fact + _pages(needed), hint=f"give --pages {needed}, or fewer studies"))


def _pages(number: int) -> str:
    return "one page" if number == 1 else f"{number} pages"


def _title(step: Step) -> str:
    return step.variation.title if step.variation else step.study.name


def told_to_students(notices: Iterable[Notice], plan: Plan) -> tuple[Notice, ...]:
    """What a handout prints of its regimen's notices: who named studies or weak things is told which are not here."""
    return tuple(n for n in notices if plan.studies or n.kind in (CALLS, NO_ROOM))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Task:
    """What is to be dealt to pages."""

    steps: Sequence[Step]
    plan: Plan
    heights: Sequence[float]
    room: Sequence[float]
    must: Sequence[int]


_Gains = Sequence[tuple[dict[int, float], float]]
"""what is worth training: the share of it that each step brings, and its worth"""


def _choice(task: _Task, firm: _Firm, gains: _Gains) -> list[list[int]] | None:
    """For each page the steps on it, in practice order; None where what must be in does not fit.

    One of each group of `firm` is in; where there is not room for one of each, the last go first.
    """
    for groups in range(len(firm), -1, -1):
        found = _dealt(task, gains, list(firm.values())[:groups])
        if found is None:
            continue
        if _begun_cold(found, task.steps):
            warm = _dealt(task, gains, list(firm.values())[:groups], warm_first=True)
            if warm is not None and sum(map(len, warm)) >= sum(map(len, found)) and not _begun_cold(warm, task.steps):
                return warm
        return found
    return None


def _begun_cold(pages: Sequence[Sequence[int]], steps: Sequence[Step]) -> bool:
    """Whether the first study after the line is no warm-up, although there are some."""
    order = [steps[i] for page in pages for i in page if changes(steps[i])]
    return any(step.section == WARM_UP for step in steps) and bool(order) and order[0].section != WARM_UP


def _dealt(
    task: _Task, gains: _Gains, groups: Sequence[Sequence[int]], *, warm_first: bool = False
) -> list[list[int]] | None:
    """The pages that train most, with what must be in and one of each group; None where that does not fit.

    `warm_first`: no other study than the line stands on a page before a warm-up.
    """
    heights, room, plan = task.heights, task.room, task.plan
    size, pages = len(heights), len(room)
    each = 1.0 if plan.studies else 0.01
    line = max((heights[i] for i in range(size) if not changes(task.steps[i])), default=0.0)
    # the line comes first: on the first page that holds it
    first = next((page for page in range(pages) if room[page] >= line), 0)
    # of two that train as much the easier is taken, unless the plan names its studies
    gentle = 0.0 if plan.studies else limit(plan.player, "gentle")
    # an early step on an earlier page is worth a hair more, so that practice order runs through the pages
    unknowns = [
        Unknown(
            worth=each - gentle * task.steps[i].difficulty - page * _late(task.steps[i], (size - i) / size),
            high=float(height <= room[page] and (changes(task.steps[i]) or page == first)),
        )
        for i, height in enumerate(heights)
        for page in range(pages)
    ]
    rows = [
        Constraint(shares=dict.fromkeys(_places([i], pages), 1.0), low=1.0 if i in task.must else None, high=1.0)
        for i in range(size)
    ]
    rows += [
        Constraint(shares={i * pages + page: height for i, height in enumerate(heights)}, high=room[page])
        for page in range(pages)
    ]
    rows += [Constraint(shares=dict.fromkeys(_places(group, pages), 1.0), low=1.0) for group in groups]
    rows += _warm_up_first(task.steps, pages) if warm_first else []
    for shares, worth in gains:
        trained = len(unknowns)
        unknowns.append(Unknown(worth=worth, whole=False))
        members = {place: share for i, share in shares.items() for place in _places([i], pages)}
        rows.append(Constraint(shares={**members, trained: -1.0}, low=0.0))
    answer = solve(unknowns, rows, nodes=200, gap=0.002)
    if answer is None:
        return None
    return [[i for i in range(size) if answer.values[i * pages + page] > 0.5] for page in range(pages)]


def _warm_up_first(steps: Sequence[Step], pages: int) -> list[Constraint]:
    """No other study than the line stands on a page before one that holds a warm-up."""
    warm = [i for i, step in enumerate(steps) if step.section == WARM_UP]
    others = [i for i, step in enumerate(steps) if changes(step) and i not in warm]
    # one on this page leaves the pages behind it without a warm-up
    return [
        Constraint(shares={i * pages + page: 1.0, j * pages + after: 1.0}, high=1.0)
        for page in range(pages)
        for after in range(page + 1, pages)
        for i in others
        for j in warm
    ]


def _late(step: Step, early: float) -> float:
    """What a page further on costs a step: a warm-up comes right after the line, if there is room for it."""
    return 1.0 if step.section == WARM_UP else 1e-4 * early


def _candidates(steps: Sequence[Step], plan: Plan) -> tuple[Candidate, ...]:
    base = _base(steps)
    return tuple(candidate_of(found, plan, base) for found in steps)


def _firm(steps: Sequence[Step], candidates: Sequence[Candidate], plan: Plan) -> _Firm:
    """What a handout holds a study of, the most needed first: each weak thing, something to warm up, each goal."""
    player = plan.player
    warm = [i for i, step in enumerate(steps) if step.section == WARM_UP]
    found = {_work_on(word): serving(candidates, word) for word in player.weak}
    found[say("a warm-up")] = warm or [i for i, c in enumerate(candidates) if easy(c, player)]
    found |= {_work_on(word): serving(candidates, word) for word in player.goals}
    return {name: members for name, members in found.items() if members}


def _work_on(word: str) -> str:
    return say("work on {thing}", thing=worded(word))


def _base(steps: Sequence[Step]) -> Base:
    """The line among these steps. Raises ValueError where it is not one of them."""
    plain = next((step.variation for step in steps if not changes(step)), None)
    if plain is None:
        raise ValueError("a regimen without the line as written has nothing to be held against")
    return base_of(plain)


def _places(steps: Sequence[int], pages: int) -> list[int]:
    """Indices of the unknowns that put these steps on any page."""
    return [i * pages + page for i in steps for page in range(pages)]


def _gains(steps: Sequence[Step], candidates: Sequence[Candidate], plan: Plan) -> _Gains:
    """What is worth training; what the plan names, a warm-up and each kind of work count once more."""
    found: list[tuple[dict[int, float], float]] = []
    for target in targets(candidates, plan.player):
        if target.often and target.skill.kind != "asked":
            shares = {i: n / target.often for i, c in enumerate(candidates) if (n := c.skills.get(target.skill, 0))}
            found.append((shares, target.worth))
    named = dict.fromkeys((*plan.player.weak, *plan.player.goals))
    # of the pages for a thing those that are nothing else say most in little room
    found += [(dict.fromkeys(plainest(candidates, word), 1.0), WEAK) for word in named]
    warm = [i for i, step in enumerate(steps) if step.section == WARM_UP]
    found.append((dict.fromkeys(warm or [i for i, c in enumerate(candidates) if easy(c, plan.player)], 1.0), KIND))
    plucked = {i: 1.0 for i, c in enumerate(candidates) if c.study.pluck != Study().pluck}
    found.append((plucked, PLUCKED))
    for kind in sorted({c.leading for c in candidates}):
        found.append(({i: 1.0 for i, c in enumerate(candidates) if c.leading == kind}, KIND))
    return [(shares, worth) for shares, worth in found if shares]
