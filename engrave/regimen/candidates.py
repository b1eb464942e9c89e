"""The pages there could be: every study that applies to this line, made and counted once, and why the rest does not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from engrave import axes
from engrave.axes import defaults
from engrave.axes.selection import selection
from engrave.model import AXES, Declined, Load, Notice, Plan, Study, Variation
from engrave.regimen.atoms import Atom, count
from engrave.regimen.load import beat_of, load_of

AS_WRITTEN = Study()
"""the line as it stands"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A page there could be."""

    study: Study
    variation: Variation
    kinds: tuple[str, ...]
    """kinds of work, of engrave.axes.defaults.HABITS; empty for the line as written"""
    times: int
    tempo: tuple[int, ...]
    """steps in beats a minute"""
    beat: Fraction
    """length in quarters of the beat those steps count"""
    house: bool
    """times or tempo are house defaults"""
    atoms: Mapping[Atom, int]
    """how often each occurs, all times through together"""
    load: Load

    @property
    def plain(self) -> bool:
        """Whether this is the line as written."""
        return not self.kinds

    @property
    def leading(self) -> str:
        """The kind of work that leads."""
        return defaults.leading(self.kinds)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pool:
    """What there is to choose from."""

    line: Variation
    """the line as written, with strokes and figures"""
    candidates: tuple[Candidate, ...]
    """the line as written first, then in the order of the catalogue or the plan"""
    notices: tuple[Notice, ...] = ()
    """what was left out before choosing, and why"""


def pool(line: Variation, plan: Plan) -> Pool:
    """Every study that applies: the plan's, else the built-in selection. Raises PlanError for unknown settings."""
    as_written = axes.vary(line, AS_WRITTEN)
    if isinstance(as_written, Declined):
        raise TypeError(f"the line as written was declined: {as_written.reason}")
    candidates = [make(AS_WRITTEN, as_written, plan, as_written)]
    notices: list[Notice] = []
    seen = {canonical(AS_WRITTEN)}
    asked: list[Study] = []
    for study in plan.studies or built_in(plan.depth):
        if canonical(study) in seen:
            if plan.studies and study != AS_WRITTEN:
                notices.append(Notice(text=f"“{heading(study)}” is asked for twice; it is printed once"))
            continue
        seen.add(canonical(study))
        if why := left_out(study, plan):
            notices.append(Notice(text=f"“{heading(study)}” is left out: {why}"))
        else:
            asked.append(study)
    for found in answers(line, as_written, plan, asked):
        if isinstance(found, Candidate):
            candidates.append(found)
        else:
            notices.append(found)
    if plan.studies and not any(canonical(study) == canonical(AS_WRITTEN) for study in plan.studies):
        candidates = candidates[1:]
    return Pool(line=as_written, candidates=tuple(candidates), notices=tuple(notices))


def answers(line: Variation, as_written: Variation, plan: Plan, studies: Sequence[Study]) -> list[Candidate | Notice]:
    """For each study its candidate, or the notice that it does not apply."""
    found: list[Candidate | Notice] = []
    for study in studies:
        made = axes.vary(line, study)
        found.append(declined(study, made) if isinstance(made, Declined) else make(study, made, plan, as_written))
    return found


def built_in(depth: str) -> tuple[Study, ...]:
    """The studies a book of this depth is chosen from, in the order of the catalogue.

    A short or standard book is chosen from the standard selection, which holds more than fits either.
    """
    return selection("complete" if depth in ("complete", "fewest") else "standard")


def make(study: Study, variation: Variation, plan: Plan, line: Variation) -> Candidate:
    """The candidate for one study that applies, with its times, tempi, counts and load."""
    kinds = axes.kinds(study)
    times = study.times or plan.times or defaults.times(kinds)
    tempo = study.tempo or plan.tempo or ladder(kinds, line, plan)
    beat = beat_of(line.passage)
    return Candidate(
        study=study,
        variation=variation,
        kinds=kinds,
        times=times,
        tempo=tempo,
        beat=beat,
        house=not ((study.times or plan.times) and (study.tempo or plan.tempo)),
        atoms=counted(variation, study, times),
        load=load_of(variation, times=times, tempo=tempo[0], beat=beat, line=line),
    )


def ladder(kinds: tuple[str, ...], line: Variation, plan: Plan) -> tuple[int, ...]:
    """Tempo steps by kind of work: from the tempo the line goes at now towards the goal.

    The shares of the goal are the house's; without a plan's tempi they are taken of the passage's own tempo.
    """
    player, passage = plan.player, line.passage
    if player.tempo is None and player.goal is None:
        return defaults.tempo(kinds, passage)
    shares = defaults.HABITS[defaults.leading(kinds)].steps
    beat = beat_of(passage)
    known = round(passage.tempo / beat) if passage.tempo else 0
    goal = player.goal or max(known, player.tempo or 0)
    now = player.tempo or goal
    low, high = now * shares[0] / 100, goal * shares[-1] / 100
    last = max(1, len(shares) - 1)
    steps = (round(low + (max(high, low) - low) * index / last) for index in range(len(shares)))
    return tuple(min(defaults.FASTEST, max(defaults.SLOWEST, step)) for step in steps)


def counted(variation: Variation, study: Study, times: int) -> Mapping[Atom, int]:
    """How often each atom occurs in all times through, the ways of working among them."""
    found = {atom: times * n for atom, n in count(variation).items()}
    for known, setting in zip(axes.ORDER, axes.settings(study), strict=True):
        if setting.name != known.default:
            found[Atom("work", (known.title.lower(), setting.kind))] = times * max(1, variation.figures.notes)
    return found


def canonical(study: Study) -> tuple[str, ...]:
    """What the study asks of the music: two studies with the same answer are the same page."""
    return tuple(setting.name for setting in axes.settings(study))


def heading(study: Study) -> str:
    """The study in words, for a notice: its name, or its settings."""
    if study.name:
        return study.name
    words = [
        setting.label
        for known, setting in zip(axes.ORDER, axes.settings(study), strict=True)
        if setting.name != known.default
    ]
    return "; ".join(words) or "the line as written"


def left_out(study: Study, plan: Plan) -> str:
    """Why the plan does not want this study; empty where it does."""
    names = dict(zip(AXES, canonical(study), strict=True))
    for out in plan.leave_out:
        if all(names[axis] == axes.find(axis, setting).name for axis, setting in out.settings):
            return out.why or "the plan leaves out " + ", ".join(
                f"{axis} “{setting}”" for axis, setting in out.settings
            )
    return ""


def declined(study: Study, answer: Declined) -> Notice:
    """The notice for a study that does not apply to this line."""
    where = f" ({answer.place})" if answer.place else ""
    # of a mixture the setting at fault is named; a single setting is what the heading says already
    fault = f"{answer.axis} “{answer.setting}”: " if len(axes.kinds(study)) > 1 or study.name else ""
    return Notice(text=f"“{heading(study)}” does not apply here: {fault}{answer.reason}{where}")


def renamed(candidate: Candidate, name: str) -> Candidate:
    """The candidate under another heading."""
    return replace(candidate, study=replace(candidate.study, name=name))


def by_atom(candidates: Iterable[Candidate]) -> dict[Atom, tuple[int, ...]]:
    """Atom → indices of the candidates in which it occurs, in the order of the coverage table."""
    found: dict[Atom, list[int]] = {}
    for index, candidate in enumerate(candidates):
        for atom in candidate.atoms:
            found.setdefault(atom, []).append(index)
    return {atom: tuple(found[atom]) for atom in sorted(found, key=lambda atom: atom.place)}
