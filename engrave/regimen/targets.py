"""What is wanted of a regimen: how often each skill should occur in one go through it, and what that is worth.

Everything that any page could train beyond the line is wanted; what the plan calls weak or a goal is wanted most, what
it calls strong least. No more is wanted than pages can give: a plain or strong thing half as often as it occurs on the
page that has most of it, a goal as often as on that page, a weak thing as often as on the two that have most.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, sqrt

from engrave.model import Player
from engrave.regimen.beyond import asked
from engrave.regimen.candidate import Candidate
from engrave.regimen.practice import figure
from engrave.regimen.skills import Skill, fits
from engrave.regimen.terms import terms_of

_PAGES = {"plain": 0.5, "strong": 0.5, "goal": 1.0, "weak": 2.0}
"""pages' worth of occurrences, of the pages that have most, that is wanted at most"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """One skill that is wanted."""

    skill: Skill
    often: int
    """occurrences wanted in one go through the regimen"""
    worth: float
    """what training it as often as wanted is worth"""


def targets(candidates: Sequence[Candidate], player: Player) -> tuple[Target, ...]:
    """What is wanted of these candidates for this player, in the order of the coverage table."""
    pages = [c for c in candidates if not c.plain] or candidates
    given: dict[Skill, list[int]] = {}
    for page in pages:
        for skill, n in page.skills.items():
            given.setdefault(skill, []).append(n)
    where = sorted(given, key=lambda skill: skill.place)
    sizes = Counter(skill.kind for skill in where)
    found = []
    for skill in where:
        name = standing(skill, player)
        most = sorted(given[skill], reverse=True)
        enough = most[0] * _PAGES[name] if _PAGES[name] <= 1 else sum(most[: int(_PAGES[name])])
        found.append(
            Target(
                skill=skill,
                often=min(int(figure("wanted", name)), ceil(enough)),
                # a heading with many entries counts for more than one with few, but not for as many times more
                worth=figure("weight", name) / (1.0 if skill.kind == "asked" else sqrt(sizes[skill.kind])),
            )
        )
    return tuple(found)


def standing(skill: Skill, player: Player) -> str:
    """What the skill is to this player: weak, goal, strong or plain.

    What is asked for counts as a whole, page by page; of single skills only the strong ones are told from the rest.
    """
    if skill.kind == "asked":
        return next(name for name, word, _ in asked(player) if word == skill.parts[0])
    return "strong" if any(fits(term, skill) for _, term in terms_of(player.strong)) else "plain"
