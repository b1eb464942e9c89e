"""Why what the plan asks for has less of a week's minutes than it is due, where it has."""

from __future__ import annotations

from collections import Counter

from engrave.model import Notice
from engrave.model.said import Said, say
from engrave.regimen.log import RESTING, SHORT
from engrave.regimen.planned_weeks import Planned
from engrave.regimen.practice import figure
from engrave.regimen.strains import longest, tightest
from engrave.regimen.terms import worded

_NEAR = 0.02
"""share of the minutes that whole times through take off, of which nothing is said; house figure"""


def lacking(planned: Planned) -> list[Notice]:
    """One notice for each weak thing and each goal whose pages have less of the minutes than they are due."""
    player = planned.plan.player
    minutes: Counter[int] = Counter()
    for day in planned.days:
        for dose in day.doses:
            minutes[dose.item] += dose.minutes  # type: ignore[assignment]
    total = sum(minutes.values())
    due = {word: 1 / 3 / len(player.weak) for word in player.weak}
    due |= {word: figure("week", "goal") / len(player.goals) for word in player.goals if word not in due}
    found = []
    for word, share in due.items():
        pages = [i for i, c in enumerate(planned.there.candidates) if word in c.serves]
        part = sum(minutes[i] for i in pages)
        if part >= (share - _NEAR) * total:
            continue
        if pages:
            said = say(
                "Work on {thing} has {part} of {total} minutes, less than it is due: {reason}",
                thing=worded(word),
                part=round(part),
                total=round(total),
                reason=_reason(pages, [i for i in pages if minutes[i]], planned),
            )
            found.append(Notice(text=said))
        elif any(word in c.serves for c in planned.there.gone):
            said = say("Work on {thing} waits: the log has taken its studies out.", thing=worded(word))
            found.append(Notice(text=said))
    return found


def _reason(pages: list[int], used: list[int], planned: Planned) -> Said:
    """What keeps these pages from having more: the log, a limit on what strains, or that there are few."""
    there = planned.there
    if any(there.standings[i].state in (SHORT, RESTING) for i in pages):
        return say("what did not go comes short until it does.")
    strained = [there.candidates[i].strains for i in used]
    if strained and all(strained):
        kinds = min(strained, key=lambda names: longest(names) or 0.0)
        limit = f"{longest(kinds):g}"
        return say(
            "of {strain} this book gives {most} minutes a day at most.",
            strain=tightest(kinds),
            most=limit,
        )
    if used and all(there.candidates[i].load.muscle for i in used):
        limit = f"{figure('caps', 'finger'):g}"
        return say(
            "of pages that load one finger more than the line does this book gives {most} minutes a day at most.",
            most=limit,
        )
    limit = f"{figure('week', 'visit'):g}"
    return say("its studies are few, and each has {most} minutes a day at most.", most=limit)
