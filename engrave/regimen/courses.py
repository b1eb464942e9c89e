"""A book's course, from a line and a plan: which pages, in which order, and why."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from math import ceil

from engrave.axes.selection import selection
from engrave.model import Fault, Notice, Plan, PlanError, Regimen, Spot, Step, Trouble, Variation, Visit
from engrave.model.said import say, say_count, strung
from engrave.regimen.beyond import Base, asked, base_of
from engrave.regimen.candidate import Candidate, gently, retimed, serving
from engrave.regimen.candidate_pool import Pool, pool
from engrave.regimen.choosing import Choice, Group, coverage, fewest, most_valuable
from engrave.regimen.levels import level_of, limit
from engrave.regimen.load import minutes
from engrave.regimen.order import LAST, WARM_UP, easy, in_order, warming
from engrave.regimen.page_reasons import for_warm_up
from engrave.regimen.practice import depth_pages, figure
from engrave.regimen.sittings import ladder
from engrave.regimen.sought import aimed
from engrave.regimen.spots import felt, spots, troubles
from engrave.regimen.steps import step, trains
from engrave.regimen.studies import canonical, quoted
from engrave.regimen.targets import targets


def choose(line: Variation, plan: Plan) -> Regimen:
    """The regimen of a book: studies that apply to this line, in practice order, each step with its variation.

    A plan's own studies are all taken, but for those that need not be; without any, the built-in selection is cut to
    the depth and the level. What does not apply or is left out is a notice. The line comes first, and again at the
    end. Raises PlanError where nothing at all is left of a plan's own studies.
    """
    plan = aimed(plan)
    there = pool(line, plan)
    if plan.studies and len(there.candidates) == 1 and not any(not study.asked for study in plan.studies):
        reasons = "; ".join(notice.text for notice in there.notices)
        raise PlanError(Fault(fact="none of the plan's studies applies to this passage", hint=reasons))
    if len(there.candidates) > 1:
        first = tuple(slowly(c, plan, base_of(there.line)) if c.plain else c for c in there.candidates)
        there = replace(there, candidates=first)
    choice = _choice(there, plan)
    kept = [there.candidates[index] for index in choice.chosen]
    held = say_count("the book holds {n} page", "the book holds {n} pages", len(kept))
    why = (held,) if len(kept) < len(there.candidates) else ()
    return course(
        kept,
        plan,
        base_of(there.line),
        every=there.candidates,
        notices=there.notices + _not_taken(there, choice),
        verdict=choice.verdict,
        why=why,
    )


def course(
    kept: Sequence[Candidate],
    plan: Plan,
    base: Base,
    *,
    every: Sequence[Candidate] = (),
    notices: tuple[Notice, ...] = (),
    verdict: str = "",
    why: tuple[str, ...] = (),
) -> Regimen:
    """These pages as a book, in practice order, with its hard places and how it ends."""
    placed = in_order(kept, plan.player, base)
    order = [
        gently(kept[place.index], plan, base) if place.section == WARM_UP else kept[place.index] for place in placed
    ]
    steps = tuple(
        step(
            candidate,
            place.section,
            for_warm_up(candidate, plan.player) if place.section == WARM_UP else place.reason,
            base,
        )
        for candidate, place in zip(order, placed, strict=True)
    )
    return Regimen(
        steps=steps,
        notices=notices,
        coverage=coverage(order, every or order, targets(every or order, plan.player), why),
        verdict=verdict,
        close=closing(order, steps, plan, base),
        troubles=hard_places(order, steps, base),
    )


def slowly(candidate: Candidate, plan: Plan, base: Base) -> Candidate:
    """The line as a book begins with it: at its slowest step alone, unless the plan gives it steps of its own."""
    if candidate.study.tempo or plan.tempo or len(candidate.tempo) == 1:
        return candidate
    return retimed(candidate, candidate.tempo[:1], plan, base)


def hard_places(order: Sequence[Candidate], steps: Sequence[Step], base: Base) -> tuple[Trouble, ...]:
    """The hard places of the line over these steps, with the pages that treat each: those that play that very move.

    What is hard only where a study has moved the line, or fingered it otherwise, is told on the page of that study.
    """
    ids = {note.id: note.id for note in base.line.passage.notes}
    every = [felt(c.variation, tempo=c.tempo[-1], beat=c.beat, line=ids) for c in order]

    def treat(spot: Spot, hard: Collection[int]) -> list[int]:
        there = [i for i, c in enumerate(order) if not c.plain and spot.reason in {reason for _, reason in every[i]}]
        pages = [(trains(order[i], spot.treats), -i) for i in there if i not in hard]
        return sorted(-i for n, i in sorted(pages, reverse=True)[:3] if n)

    told = [found.spots for found in steps]
    places = troubles(base.line, told, every, treat, most=sum(map(len, told)))
    line = {i for i, c in enumerate(order) if c.plain}
    own = [place for place in places if not line or line & set(place.steps)]
    return tuple(own[: int(figure("spots", "book"))])


def closing(order: Sequence[Candidate], steps: Sequence[Step], plan: Plan, base: Base) -> Visit | None:
    """The line again, in tempo steps that rise to the goal; None where the line is not in the book."""
    at = next((i for i, c in enumerate(order) if c.plain), None)
    if at is None or len(order) < 2:
        return None
    own = order[at].study.tempo or plan.tempo
    tempo = own or ladder((), base.line, plan)
    times = order[at].study.times or plan.times or 1
    return Visit(
        step=at,
        reason=LAST,
        times=times,
        tempo=tempo,
        minutes=minutes(order[at].variation, times=times, tempo=tempo, beat=steps[at].beat),
    )


def _choice(there: Pool, plan: Plan) -> Choice:
    candidates = there.candidates
    wanted = targets(candidates, plan.player)
    must = frozenset(i for i, c in enumerate(candidates) if c.plain or (plan.studies and c.study.must)) | there.asked
    if plan.depth == "fewest":
        return fewest(candidates, wanted, must=must)
    pages = plan.pages or (None if plan.studies else depth_pages(plan.depth, level_of(plan.player)))
    if pages is None or len(candidates) <= pages:
        return Choice(chosen=tuple(range(len(candidates))), verdict=say("every study that applies"))
    return most_valuable(
        candidates,
        wanted,
        pages=pages,
        must=must,
        groups=groups(there, plan, pages - len(must)),
        gentle=limit(plan.player, "gentle"),
    )


def groups(there: Pool, plan: Plan, room: int) -> tuple[Group, ...]:
    """What a choice must hold: a warm-up, the strong pair, and a fair share of what the plan asks for.

    What is weak has a third of the pages at least, a goal a page in five; those who ask for nothing get the core that
    nobody would do without. Where there is not room for all, the last go first.
    """
    candidates = there.candidates
    found = [Group(members=warming(candidates, plan.player), least=1)]
    named = asked(plan.player)
    weak = [word for name, word, _ in named if name == "weak"]
    for word in weak:
        least = ceil(room * figure("week", "weak") / len(weak))
        found.append(Group(members=tuple(serving(candidates, word)), least=max(1, least)))
    found += [Group(members=plainest(candidates, w), least=1) for w in weak]
    for word in [w for name, w, _ in named if name == "strong"]:
        known = serving(candidates, word)
        found.append(
            Group(members=tuple(i for i in known if easy(candidates[i], plan.player)) or tuple(known), least=1)
        )
    goals = [word for name, word, _ in named if name == "goal"]
    found += [Group(members=plainest(candidates, w), least=1) for w in goals]
    for word in goals:
        share = figure("week", "goal") if word in plan.player.goals else 0.0
        found.append(Group(members=tuple(serving(candidates, word)), least=max(1, ceil(room * share / len(goals)))))
    if not plan.studies and not weak:
        found += [Group(members=members, least=1) for members in (cures(candidates), *_broken(candidates))]
        near = tuple(i for i, c in enumerate(candidates) if c.study.asked.startswith("accent=finger "))
        found.insert(0, Group(members=near, least=0, most=_ACCENTS))
        core = {canonical(study) for study in selection("short")}
        members = tuple(i for i, c in enumerate(candidates) if canonical(c.study) in core and not c.plain)
        found.append(Group(members=members, least=max(1, min(len(members), room // 3))))
    return tuple(group for group in found if group.members)


_ACCENTS = 1
"""pages that bring out one finger each, which are nearly one page, where nobody asks for accents; house figure"""


def _broken(candidates: Sequence[Candidate]) -> list[tuple[int, ...]]:
    """What broken chords are begun with, a group each: fingers placed first, and block chords that are then broken."""
    return [
        tuple(i for i, c in enumerate(candidates) if c.study.asked in studies)
        for studies in (("pluck=planted",), ("pluck=block first", "pluck=block"))
    ]


def cures(candidates: Sequence[Candidate]) -> tuple[int, ...]:
    """The page that turns round the crossing that is the line's first trouble: its letters, begun by the other one."""
    plain = next((c for c in candidates if c.plain), None)
    if plain is None:
        return ()
    ids = {note.id: note.id for note in plain.variation.passage.notes}
    first = spots(plain.variation, tempo=plain.tempo[-1], beat=plain.beat, line=ids)[:1]
    if not first or first[0].kind != "crossing":
        return ()
    letters = [n.stroke.finger for n in plain.variation.passage.notes if n.stroke]
    pair = {n.stroke.finger for n in plain.variation.passage.notes if n.stroke and n.id in first[0].named}
    begun = next((letter for letter in letters if letter in pair), "")
    turned = f"pluck={'-'.join([*(pair - {begun}), begun])}"
    return tuple(i for i, c in enumerate(candidates) if c.study.asked == turned)


def plainest(candidates: Sequence[Candidate], word: str) -> tuple[int, ...]:
    """The pages that are nothing but work on a thing: one setting, and as much of it as any."""
    known = serving(candidates, word)
    alone = [i for i in known if len(candidates[i].kinds) == 1] or known
    most = max((candidates[i].serves[word] for i in alone), default=0.0)
    return tuple(i for i in alone if candidates[i].serves[word] >= _AS_MUCH * most)


_AS_MUCH = 0.9


def _not_taken(there: Pool, choice: Choice) -> tuple[Notice, ...]:
    names = [quoted(c.variation.title) for i, c in enumerate(there.candidates) if i not in choice.chosen]
    if not names:
        return ()
    said = say_count(
        "one study that applies was not taken: {studies}",
        "{n} studies that apply were not taken: {studies}",
        len(names),
        studies=strung(names, ", "),
    )
    return (Notice(text=said),)
