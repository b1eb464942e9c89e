"""The regimen: which studies, how often and how fast, in which order, on which days, and why.

The door of the room. `read_plan` and `dump_plan` turn plan files into plans and back, `choose` turns a line and a plan
into the regimen of a book, `week` into one of seven days; `handout` fits pages, `reissue` makes the same regimen for
another passage.
"""

from __future__ import annotations

from engrave.axes.selection import selection
from engrave.model import Fault, Notice, Plan, PlanError, Regimen, Variation
from engrave.regimen.candidates import Pool, canonical, pool
from engrave.regimen.choosing import Choice, coverage, fewest, most_valuable
from engrave.regimen.handout import Handout, handout, pages_needed
from engrave.regimen.log import Log, read_log
from engrave.regimen.order import in_order
from engrave.regimen.plan import read_plan
from engrave.regimen.practice import depth_pages
from engrave.regimen.reasons import gists
from engrave.regimen.reissue import as_plan, reissue
from engrave.regimen.steps import step
from engrave.regimen.wanted import wants
from engrave.regimen.week import week
from engrave.regimen.written import dump_plan, write_plan

__all__ = [
    "Handout",
    "Log",
    "as_plan",
    "choose",
    "dump_plan",
    "handout",
    "pages_needed",
    "read_log",
    "read_plan",
    "reissue",
    "week",
    "write_plan",
]


def choose(line: Variation, plan: Plan) -> Regimen:
    """The regimen of a book: studies that apply to this line, in practice order, each step with its variation.

    A plan's own studies are all taken, but for those that need not be; without any, the built-in selection is cut to
    the depth. What does not apply or is left out is a notice. Raises PlanError where nothing at all is left.
    """
    there = pool(line, plan)
    if not there.candidates:
        reasons = "; ".join(notice.text for notice in there.notices)
        raise PlanError(Fault(fact="none of the plan's studies applies to this passage", hint=reasons))
    wanted = wants(there.candidates, plan.player)
    choice = _choice(there, plan)
    kept = [there.candidates[index] for index in choice.chosen]
    placed = in_order(kept, plan.player)
    order = [kept[place.index] for place in placed]
    said = gists(order, wanted)
    why = (f"the book holds {len(order)} pages",) if len(order) < len(there.candidates) else ()
    return Regimen(
        steps=tuple(
            step(candidate, place.section, f"{place.reason} {said[at]}".strip())
            for at, (candidate, place) in enumerate(zip(order, placed, strict=True))
        ),
        notices=there.notices + _not_taken(there, choice),
        coverage=coverage(order, there.candidates, wanted, why),
        verdict=choice.verdict,
    )


def _choice(there: Pool, plan: Plan) -> Choice:
    candidates = there.candidates
    wanted = wants(candidates, plan.player)
    # a standard book keeps what a short one would hold: the pairs, cycles, strings and slurs nobody would do without
    core = set() if plan.studies or plan.depth != "standard" else {canonical(s) for s in selection("short")}
    asked = frozenset(
        i for i, c in enumerate(candidates) if c.plain or (plan.studies and c.study.must) or canonical(c.study) in core
    )
    if plan.depth == "fewest":
        return fewest(candidates, wanted, must=asked)
    pages = plan.pages or (None if plan.studies else depth_pages(plan.depth))
    if pages is None or len(candidates) <= pages:
        return Choice(chosen=tuple(range(len(candidates))), verdict="every study that applies")
    return most_valuable(candidates, wanted, pages=pages, must=asked)


def _not_taken(there: Pool, choice: Choice) -> tuple[Notice, ...]:
    names = [c.variation.title for i, c in enumerate(there.candidates) if i not in choice.chosen]
    if not names:
        return ()
    said = (
        f"{len(names)} studies that apply were not taken: "
        if len(names) > 1
        else "one study that applies was not taken: "
    )
    return (Notice(text=said + ", ".join(f"“{name}”" for name in names)),)
