"""Why what the plan asks for has less of a week's minutes than it is due, where it has."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from engrave.model import Notice
from engrave.model.said import Said, say
from engrave.regimen.log import RESTING, SHORT
from engrave.regimen.planned_weeks import Planned
from engrave.regimen.practice import figure
from engrave.regimen.strains import NAMES
from engrave.regimen.terms import worded

_NEAR = 0.02
"""share of the minutes that whole times through take off, of which nothing is said; house figure"""
_MOSTLY = 0.5
"""share of the days of a thing's pages on which a limit must stand in their way to be the reason; house figure"""


def lacking(planned: Planned, minutes: Mapping[int, int]) -> list[Notice]:
    """One notice for each weak thing and each goal whose pages have less of the minutes than they are due.

    `minutes` are those that the tables print, by candidate, breaks not counted.
    """
    player = planned.plan.player
    total = sum(minutes.values())
    due = {word: 1 / 3 / len(player.weak) for word in player.weak}
    due |= {word: figure("week", "goal") / len(player.goals) for word in player.goals if word not in due}
    found = []
    for word, share in due.items():
        pages = [i for i, c in enumerate(planned.there.candidates) if word in c.serves]
        part = sum(minutes.get(i, 0) for i in pages)
        if part >= (share - _NEAR) * total:
            continue
        if pages:
            reason = _reason(pages, [i for i in pages if minutes.get(i)], planned)
            found.append(Notice(text=_less(word, part, total, reason)))
        elif any(word in c.serves for c in planned.there.gone):
            said = say("Work on {thing} waits: the log has taken its studies out.", thing=worded(word))
            found.append(Notice(text=said))
    return found


def _less(word: str, part: int, total: int, reason: Said | None) -> Said:
    if reason is None:
        return say(
            "Work on {thing} has {part} of {total} minutes, less than it is due.",
            thing=worded(word),
            part=part,
            total=total,
        )
    return say(
        "Work on {thing} has {part} of {total} minutes, less than it is due: {reason}",
        thing=worded(word),
        part=part,
        total=total,
        reason=reason,
    )


def _reason(pages: Sequence[int], used: Sequence[int], planned: Planned) -> Said | None:
    """What keeps these pages from having more: the log, or a limit that stood in their way; None for neither."""
    there = planned.there
    if any(there.standings[i].state in (SHORT, RESTING) for i in pages):
        return say("what did not go comes short until it does.")
    if not used:
        return None
    every = range(len(there.candidates))
    for name in sorted(NAMES, key=lambda name: figure("caps", name)):
        members = [i for i in every if name in there.candidates[i].strains]
        if set(used) <= set(members) and _stops(members, used, figure("caps", name), planned):
            most = f"{figure('caps', name):g}"
            return say("of {strain} this book gives {most} minutes a day at most.", strain=NAMES[name], most=most)
    muscle = there.candidates[used[0]].load.muscle
    members = [i for i in every if there.candidates[i].load.muscle == muscle] if muscle else []
    limit = figure("caps", "little" if muscle == "c" else "finger")
    if set(used) <= set(members) and _stops(members, used, limit, planned):
        most = f"{limit:g}"
        return say(
            "of pages that load one finger more than the line does this book gives {most} minutes a day at most.",
            most=most,
        )
    limit = figure("week", "visit")
    if all(_stops([i], [i], limit, planned) for i in used):
        most = f"{limit:g}"
        return say("its studies are few, and each has {most} minutes a day at most.", most=most)
    return None


def _stops(members: Collection[int], used: Collection[int], most: float, planned: Planned) -> bool:
    """Whether on most of the days of `used` once more through would take all `members` beyond `most` minutes."""
    days = [day.visits for day in planned.days if any(visit.step in used for visit in day.visits)]
    full = [
        sum(visit.minutes for visit in visits if visit.step in members)
        + min(visit.minutes / visit.times for visit in visits if visit.step in used)
        > most
        for visits in days
    ]
    return sum(full) >= _MOSTLY * len(full)
