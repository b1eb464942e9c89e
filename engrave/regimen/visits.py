"""Visits: the studies of a book as a week can hold them, at the tempi and in the times through of today."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from engrave.model import Fault, Notice, Place, Plan, PlanError, Variation
from engrave.regimen.atoms import Atom
from engrave.regimen.candidates import Candidate, pool
from engrave.regimen.items import Item
from engrave.regimen.load import minutes, reloaded
from engrave.regimen.log import Log, Standing, same_heading, standing
from engrave.regimen.order import easy, weakness
from engrave.regimen.practice import figure
from engrave.regimen.wanted import Want, wants


@dataclass(frozen=True, slots=True, kw_only=True)
class Ready:
    """What the programme of a week is made from."""

    candidates: tuple[Candidate, ...]
    """with the times through and tempi of a visit this week"""
    standings: tuple[Standing, ...]
    items: tuple[Item, ...]
    wanted: tuple[Want, ...]
    notices: tuple[Notice, ...]


def ready(line: Variation, plan: Plan, log: Log, shortest: float, days: int) -> Ready:
    """What the week of `line` is made from: visits that fit the shortest day, of so many minutes' playing."""
    there = pool(line, plan)
    notices = list(there.notices + log.notices)
    limit = min(figure("visit", "longest"), figure("visit", "share") * shortest)
    kept: list[Candidate] = []
    standings: list[Standing] = []
    for candidate in there.candidates:
        rows = [entry for entry in log.entries if _named(candidate, entry.study)]
        now = standing(rows, candidate.tempo, candidate.times)
        visit = _visit(candidate, now.tempo, limit)
        if visit.load.minutes > shortest:
            once = (
                f"“{candidate.variation.title}” takes {visit.load.minutes:.1f} minutes once through at {now.tempo[0]}"
            )
            notices.append(Notice(text=f"{once}, more than the first day's {shortest:.1f}; it is left out"))
        else:
            kept.append(visit)
            standings.append(now)
    for entry in log.entries:
        if not any(_named(candidate, entry.study) for candidate in there.candidates):
            place = Place(file=log.name, line=entry.line)
            fact = f"“{entry.study}” is none of the studies there are; the row does not count"
            notices.append(Notice(text=fact, place=place))
    if not kept:
        raise PlanError(
            Fault(
                fact=f"no study of this passage fits once into a first day of {shortest:.1f} minutes' playing",
                hint="give more minutes, fewer bars or a faster tempo",
            )
        )
    items = tuple(_item(c, s, plan) for c, s in zip(kept, standings, strict=True))
    return Ready(
        candidates=tuple(kept),
        standings=tuple(standings),
        items=items,
        wanted=_weekly(wants(kept, plan.player), items, days),
        notices=tuple(notices),
    )


def _named(candidate: Candidate, study: str) -> bool:
    return same_heading(candidate.variation.title, study)


def _visit(candidate: Candidate, tempo: tuple[int, ...], limit: float) -> Candidate:
    """The candidate at its tempo of today, with as many times through as `limit` minutes hold, one at least."""
    settle = figure("time", "settle")
    once = minutes(candidate.variation, times=1, tempo=tempo[0], beat=candidate.beat) - settle
    times = max(1, min(candidate.times, int((limit - settle) / once) if once else candidate.times))
    share = Fraction(times, candidate.times)
    return replace(
        candidate,
        times=times,
        tempo=tempo,
        atoms={atom: int(n * share) for atom, n in candidate.atoms.items()},
        load=reloaded(candidate.load, share, minutes=once * times + settle),
    )


def _item(candidate: Candidate, now: Standing, plan: Plan) -> Item:
    weak = weakness(candidate, plan.player) if now.state != "settled" else ""
    stuck = candidate.variation.title if now.state == "stuck" else ""
    return Item(
        minutes=candidate.load.minutes,
        atoms=candidate.atoms,
        weak=tuple(word for word in (weak, stuck) if word),
        always=candidate.plain,
        easy=easy(candidate, plan.player) and not weak,
        must=bool(plan.studies) and candidate.study.must,
        most=1 if now.state == "settled" else 7,
        settings=len(candidate.kinds),
        muscle=candidate.load.muscle,
        tremolo=candidate.leading == "tremolo",
    )


def _weekly(found: Sequence[Want], items: Sequence[Item], days: int) -> tuple[Want, ...]:
    """What a week wants: no more of anything than all visits that may be could give."""
    most: Counter[Atom] = Counter()
    for item in items:
        visits = days if item.weak or item.always else (days + 1) // 2
        for atom, n in item.atoms.items():
            most[atom] += n * min(visits, item.most)
    return tuple(replace(want, often=min(want.often, most[want.atom])) for want in found)
