"""Which studies a week is made of: few, for this player, with those that are under way."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, inf

from engrave.axes.defaults import FASTEST
from engrave.model import Fault, Notice, Plan, PlanError, Player, Study, Variation
from engrave.model.said import say, say_count
from engrave.regimen.beyond import Base
from engrave.regimen.candidate import Candidate, gently, serving
from engrave.regimen.candidate_pool import pool
from engrave.regimen.choosing import most_valuable
from engrave.regimen.courses import groups
from engrave.regimen.doses import SHORTENED, Form, growth
from engrave.regimen.holding_back import held_back, spared, told_of_pain
from engrave.regimen.levels import limit
from engrave.regimen.log import (
    HURTS,
    LEARNT,
    REPLACED,
    RESTING,
    SHORT,
    Entry,
    Log,
    Standing,
    by_study,
    standing,
    unraised,
)
from engrave.regimen.order import easy, purpose, warming
from engrave.regimen.practice import figure
from engrave.regimen.relatives import easier
from engrave.regimen.strains import longest
from engrave.regimen.studies import IDLE, LOGGED, SAME, UNFIT
from engrave.regimen.study_names import in_catalogue, names_of
from engrave.regimen.targets import targets


@dataclass(frozen=True, slots=True, kw_only=True)
class Ready:
    """What weeks are made from."""

    base: Base
    candidates: tuple[Candidate, ...]
    standings: tuple[Standing, ...]
    """of each candidate, after the log"""
    forms: tuple[Form, ...]
    ongoing: frozenset[int]
    """candidates that the log knows and that go on"""
    called: frozenset[int]
    """candidates that take the place of one that would not go"""
    gone: tuple[Candidate, ...]
    """studies that would not go, or hurt, and what is spared beside those"""
    notices: tuple[Notice, ...]
    hurts: bool = False
    """the log speaks of pain, so that nothing rises"""
    sore: frozenset[str] = frozenset()
    """fingers that it names"""


def ready(line: Variation, plan: Plan, log: Log, shortest: float, numbered: Mapping[str, str]) -> Ready:
    """Studies that fit once into the shortest day, of so many minutes' playing, where the log has left them.

    `numbered` holds the headings of numbered pages, for a log that names them so.
    """
    there = pool(line, plan)
    base = there.base
    there = replace(there, candidates=_gentle(there.candidates, plan, base))
    step = int(limit(plan.player, "step"))
    rows = by_study(log.entries)
    used: set[str] = set()
    failed: set[Study] = set()
    kept: list[tuple[Candidate, Standing]] = []
    notices = list(_briefly(there.notices, plan) + log.notices)
    gone: list[tuple[Candidate, Standing]] = []
    for candidate in there.candidates:
        names = [name for name in names_of(candidate, numbered, plan.marks.language) if name in rows]
        own = sorted((entry for name in names for entry in rows[name]), key=lambda e: (e.day, e.line))
        used.update(names)
        if own and not own[-1].clean:
            failed.add(candidate.study)
        now = standing(own, top=candidate.tempo[-1], step=step, times=candidate.times, language=plan.marks.language)
        form = _form(candidate, now, step)
        if now.state in (HURTS, REPLACED):
            gone.append((candidate, now))
        elif form.least > shortest:
            said = say(
                "“{study}” takes {minutes} minutes once through at {tempo}, more than the first day's {most}; it is "
                "left out",
                study=candidate.variation.title,
                minutes=round(form.least, 1),
                tempo=form.steps[0],
                most=round(shortest, 1),
            )
            notices.append(Notice(text=said))
        else:
            kept.append((candidate, now))
    hurts: list[tuple[Candidate | None, Standing]] = [(candidate, now) for candidate, now in gone if now.state == HURTS]
    # a finger that hurts in a study without a page here hurts in all that have one
    for name in sorted(set(rows) - used):
        now = standing(rows[name], top=FASTEST, step=step, times=1, language=plan.marks.language)
        if now.state == HURTS:
            hurts.append((None, now))
            used.add(name)
            notices.append(_of_pain(rows[name][-1].study, now))
    notices += _unknown(rows, used, plan.marks.language)
    waiting = [candidate for candidate, _ in gone]
    if hurts:
        rests = [spared(c, hurts, base, known=now.tempo is not None) for c, now in kept]
        notices.append(told_of_pain(less=any(rests)))
        waiting += [c for (c, _), rest in zip(kept, rests, strict=True) if rest]
        kept = [(c, unraised(now)) for (c, now), rest in zip(kept, rests, strict=True) if not rest]
    candidates, standings = tuple(c for c, _ in kept), tuple(now for _, now in kept)
    called = _instead(gone, candidates, notices, plan.player, failed)
    if not kept:
        raise PlanError(
            Fault(
                fact=f"no study of this passage fits once into a first day of {shortest:.1f} minutes' playing",
                hint="give more minutes, fewer bars or a faster tempo",
            )
        )
    going = frozenset(i for i, now in enumerate(standings) if now.tempo is not None and now.state != LEARNT)
    forms = tuple(_form(c, now, step) for c, now in kept)
    if hurts:
        forms = tuple(replace(form, steps=form.steps[:1]) for form in forms)
    else:
        rises = [(c, f.steps[-1] - f.steps[0]) for c, f in zip(candidates, forms, strict=True) if c.study in failed]
        forms = held_back(candidates, forms, [*rises, *((c, 0) for c, _ in gone)])
    return Ready(
        base=base,
        candidates=candidates,
        standings=standings,
        forms=forms,
        ongoing=going,
        called=called,
        gone=tuple(waiting),
        notices=tuple(notices),
        hurts=bool(hurts),
        sore=frozenset(finger for _, now in hurts for finger in now.hurting),
    )


def _gentle(candidates: Sequence[Candidate], plan: Plan, base: Base) -> tuple[Candidate, ...]:
    """What the days can begin with, at a warm-up's tempi; of a plan's own studies the first of these alone."""
    player = plan.player
    warm = [i for i, c in enumerate(candidates) if not c.plain and easy(c, player) and not purpose(c, player)]
    warm = warm[:1] if plan.studies else warm
    return tuple(gently(c, plan, base) if i in warm else c for i, c in enumerate(candidates))


def _briefly(notices: tuple[Notice, ...], plan: Plan) -> tuple[Notice, ...]:
    """A week says of the plan's own studies why they do not apply; of the catalogue's only that there are some."""
    kept = tuple(n for n in notices if plan.studies or n.kind not in (UNFIT, SAME, IDLE))
    said = say("Other studies do not suit this passage; a book, or “engrave studies” with it, says why")
    return (*kept, Notice(text=said)) if len(kept) < len(notices) else kept


def _form(candidate: Candidate, now: Standing, step: int) -> Form:
    """Where the study stands: its tempi from today's on, and how much of it a day may hold."""
    start = candidate.tempo[0] if now.tempo is None else now.tempo
    steps = growth(start, candidate.tempo[-1], step)
    if own := candidate.study.tempo:
        steps = tuple(tempo for tempo in sorted(set(own)) if tempo >= start) or (start,)
    short = now.state in (SHORT, RESTING)
    return Form(
        variation=candidate.variation,
        beat=candidate.beat,
        steps=steps[:1] if short else steps,
        times=SHORTENED if short else int(figure("week", "times")),
        longest=min(figure("week", "visit"), longest(candidate.strains) or inf),
    )


def _unknown(rows: Mapping[str, Sequence[Entry]], used: set[str], language: str) -> list[Notice]:
    """One line for each name of the log that no study has, with the line of the log where it stands first."""
    found = []
    for name in sorted(set(rows) - used):
        number, line, short = len(rows[name]), rows[name][0].line, name[:60]
        if in_catalogue(name, language):
            text = say_count(
                "log, line {line}: “{name}” has no page for this passage; one row does not count",
                "log, line {line}: “{name}” has no page for this passage; {n} rows do not count",
                number,
                line=line,
                name=short,
            )
        else:
            text = say_count(
                "log, line {line}: “{name}” is none of the studies there are; one row does not count",
                "log, line {line}: “{name}” is none of the studies there are; {n} rows do not count",
                number,
                line=line,
                name=short,
            )
        found.append(Notice(text=text, kind=LOGGED))
    return found


def _of_pain(study: str, now: Standing) -> Notice:
    """What is said where the log says that a study hurts."""
    text = say(
        "“{study}”: {moved}. What hurts waits; if it persists or returns, see a licensed clinician",
        study=study,
        moved=now.moved,
    )
    return Notice(text=text)


def _instead(
    gone: Sequence[tuple[Candidate, Standing]],
    kept: Sequence[Candidate],
    notices: list[Notice],
    player: Player,
    failed: Collection[Study],
) -> frozenset[int]:
    """Who takes the places of what would not go; nobody that of what hurts."""
    words = (*player.weak, *player.goals)
    called: set[int] = set()
    for candidate, now in gone:
        title = candidate.variation.title
        if now.state == HURTS:
            notices.append(_of_pain(title, now))
            continue
        if (index := easier(candidate, kept, words, failed)) is None:
            text = say("“{study}”: {moved}; it waits, and nothing easier is near enough", study=title, moved=now.moved)
        else:
            called.add(index)
            text = say(
                "“{study}”: {moved}; the easier “{other}” takes its place",
                study=title,
                moved=now.moved,
                other=kept[index].variation.title,
            )
        notices.append(Notice(text=text))
    return frozenset(called)


def size_of(plan: Plan, budget: float, sheets: int) -> int:
    """How many studies a week holds: by its minutes a day, the level, and the pages they take."""
    by_minutes = figure("week", "fewest") + (budget - figure("week", "few_minutes")) // figure("week", "each_minutes")
    return int(max(2, min(most_of(plan, sheets), max(figure("week", "fewest"), by_minutes))))


def most_of(plan: Plan, sheets: int) -> int:
    """The most studies of a week: by the level, and the pages they take."""
    return int(max(2, min(limit(plan.player, "studies"), figure("week", "pages") // max(1, sheets))))


def selected(there: Ready, plan: Plan, size: int, *, going: frozenset[int], learnt: frozenset[int]) -> tuple[int, ...]:
    """The studies of one week, ascending: those under way, then what trains most.

    What is learnt comes no more, unless nothing else is left to warm up with, for a weak thing, or at all.
    """
    plain = {i for i, c in enumerate(there.candidates) if c.plain}
    free = _free(there.candidates, plan, learnt)
    if len(free) < min(size, 3):
        free = list(range(len(there.candidates)))
    among = [there.candidates[i] for i in free]
    insisted = {i for i in free if plan.studies and there.candidates[i].study.must}
    first = sorted(there.called) + sorted(going - plain) + sorted(insisted)
    held = [i for i in [*sorted(plain), *first][:size] if i in free]
    must = frozenset(free.index(i) for i in _with_room(held, there, plan, size, set(free)))
    made = most_valuable(
        among,
        targets(among, plan.player),
        pages=size,
        must=must,
        gentle=limit(plan.player, "gentle"),
        groups=groups(among, replace(plan, studies=()), size - len(must)) if not plan.studies else (),
    )
    return tuple(free[i] for i in made.chosen)


def _needed(candidates: Sequence[Candidate], plan: Plan) -> list[frozenset[int]]:
    """What a week is not without: what warms up, and what each weak thing has pages for."""
    warm = frozenset(warming(candidates, plan.player))
    return [warm, *(frozenset(serving(candidates, word)) for word in plan.player.weak)]


def _with_room(held: list[int], there: Ready, plan: Plan, size: int, free: set[int]) -> list[int]:
    """What is under way, without the last of it where it would take the place of what a week needs.

    That is a warm-up, and of each weak thing as large a part of the pages as it is due of the minutes.
    """
    needed = [kind & free for kind in _needed(there.candidates, plan)]
    share = figure("week", "weak") / max(1, len(plan.player.weak))
    least = [1, *(max(1, ceil((size - 1) * share)) for _ in plan.player.weak)]
    kept = list(held)
    missing = sum(
        max(0, min(most, len(kind)) - len(kind & set(kept))) for kind, most in zip(needed, least, strict=True)
    )
    loose = [
        i
        for i in held
        if not there.candidates[i].plain
        and not (plan.studies and there.candidates[i].study.must)
        and not any(i in kind for kind in needed)
    ]
    # what goes is needed for nothing, so that as much is missing as before
    while loose and size - len(kept) < missing:
        last = loose[-1]
        kept.remove(last)
        loose.remove(last)
    return kept


def _free(candidates: Sequence[Candidate], plan: Plan, learnt: frozenset[int]) -> list[int]:
    """Who may come, ascending: what is not learnt, and what is where its kind of work has nothing else."""
    back = {i for kind in _needed(candidates, plan) if kind <= learnt for i in kind}
    return [i for i, c in enumerate(candidates) if c.plain or i not in learnt or i in back]
