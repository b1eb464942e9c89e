"""A page there could be: a study that applies to the line, with its times, tempi, counts and load."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import inf

from engrave import axes
from engrave.axes import defaults
from engrave.axes.counting import quarters_a_minute
from engrave.model import Declined, Load, Notice, Plan, Study, Variation
from engrave.regimen import beyond
from engrave.regimen.beyond import Base
from engrave.regimen.difficulty import difficulty
from engrave.regimen.levels import limit
from engrave.regimen.load import beat_of, load_of
from engrave.regimen.sittings import below, ladder, sitting
from engrave.regimen.skills import Skill, count
from engrave.regimen.strains import strains
from engrave.regimen.studies import AS_WRITTEN
from engrave.regimen.terms import Term, plucks
from engrave.regimen.varied import untimed


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A page there could be."""

    study: Study
    variation: Variation
    kinds: tuple[str, ...]
    """kinds of work, of engrave.axes.defaults.HABITS; empty for the line as written"""
    times: int
    """times through at each tempo step"""
    tempo: tuple[int, ...]
    """steps in beats a minute, rising"""
    beat: Fraction
    """length in quarters of the beat those steps count"""
    house: bool
    """times or tempo are house defaults"""
    skills: Mapping[Skill, int]
    """what one sitting trains beyond the line, and how often; of the line as written, all it trains"""
    held: Mapping[Skill, int]
    """what occurs on the page at all, and how often in one time through"""
    load: Load
    more: frozenset[tuple[str, ...]] = frozenset()
    """what is done more than in the line, whatever its particulars: see `beyond.core`"""
    serves: Mapping[str, float]
    """word of the plan (or of the house) for what is weak, strong or a goal → share of the notes by which this is a
    page for it"""
    strains: tuple[str, ...] = ()
    """of engrave.regimen.strains.NAMES"""
    difficulty: float = 0.0
    notices: tuple[Notice, ...] = ()

    @property
    def plain(self) -> bool:
        """Whether this is the line as written."""
        return not self.kinds

    @property
    def leading(self) -> str:
        """The kind of work that leads."""
        return defaults.leading(self.kinds)

    @property
    def plays(self) -> int:
        """Times through in one sitting, all steps together."""
        return self.times * len(self.tempo)


def written(line: Variation, study: Study = AS_WRITTEN) -> Variation:
    """The line as written, with strokes and figures; `study` may give it a name, times and tempi."""
    made = axes.vary(line, study)
    if isinstance(made, Declined):
        raise TypeError(f"the line as written was declined: {made.reason}")
    return made


def make(study: Study, variation: Variation, plan: Plan, base: Base) -> Candidate:
    """The candidate for one study that applies, with its times, tempi, counts and load."""
    kinds = axes.kinds(study)
    variation = untimed(variation) if kinds else variation
    beat = beat_of(base.line.passage)
    tempo = study.tempo or plan.tempo or ladder(kinds, base.line, plan, variation.pace)
    tempo = tuple(sorted(set(tempo)))
    wished = study.times or plan.times
    strained = strains(variation, kinds, base.line)
    # a plan's own times go before what the house gives to a study by itself, not before the limits of what strains
    most = inf if wished else limit(plan.player, "longest")
    times = wished or defaults.times(kinds)
    times, tempo, notices = sitting(variation, times, tempo, beat, strained=strained, most=most)
    variation = _leaving(variation, tempo[-1], beat)
    skills = count(variation)
    notes = max(1, variation.figures.notes)
    plays = times * len(tempo)
    serving = {
        word: share
        for _, word, term in beyond.asked(plan.player)
        if kinds and (share := beyond.serves(term, skills, notes, base, changed=changes_for(study, term)))
    }
    more = beyond.more_than(base, skills, variation) if kinds else dict(skills)
    return Candidate(
        study=study,
        variation=variation,
        kinds=kinds,
        times=times,
        tempo=tempo,
        beat=beat,
        house=not (wished and (study.tempo or plan.tempo)),
        skills=_trained(more, study, variation, serving, plays),
        held=skills,
        more=beyond.more_of(base, skills, notes),
        load=load_of(variation, times=times, tempo=tempo, beat=beat, line=base.line),
        serves=serving,
        strains=strained,
        difficulty=difficulty(variation, study, base.line),
        notices=notices,
    )


def retimed(candidate: Candidate, tempo: tuple[int, ...], plan: Plan, base: Base) -> Candidate:
    """A page at other tempo steps, with the load and the times through that they make."""
    made = make(replace(candidate.study, tempo=tempo), candidate.variation, plan, base)
    figures = candidate.variation.figures
    if figures.let_go is not None:
        # worked out at the fastest tempo that the page had before
        figures = replace(figures, let_go=figures.let_go * candidate.tempo[-1] / made.tempo[-1])
    variation = replace(candidate.variation, figures=figures)
    return replace(made, study=candidate.study, variation=variation, house=candidate.house)


def gently(candidate: Candidate, plan: Plan, base: Base) -> Candidate:
    """A page as a warm-up: its steps end well below the goal, unless the plan gives it steps of its own."""
    if candidate.study.tempo or plan.tempo:
        return candidate
    tempo = below(candidate.tempo, base.line, plan)
    return candidate if tempo == candidate.tempo else retimed(candidate, tempo, plan, base)


def _leaving(variation: Variation, tempo: int, beat: Fraction) -> Variation:
    """`variation` with the time to leave a string worked out at the fastest tempo of its page."""
    figures = variation.figures
    if figures.let_go is None:
        return variation
    reckoned = quarters_a_minute(variation)
    return replace(variation, figures=replace(figures, let_go=figures.let_go * float(reckoned / (tempo * beat))))


def changes_for(study: Study, term: Term) -> bool:
    """Whether a study changes something of the hand a thing belongs to."""
    mine: tuple[str, ...] = ("pluck", "stroke") if plucks(term) else ("strings", "fret", "slurs")
    if term.kind == "plucking finger":
        mine = ("pluck", "stroke", "accent")
    if study.stroke == "rest on bass" and "p" not in term.parts and plucks(term):
        # the thumb's stroke is no work of the other fingers
        mine = tuple(axis for axis in mine if axis != "stroke")
    if term.parts[0] in ("string crossing", "awkward crossings"):
        # another stroke crosses the strings as the line does
        mine = ("pluck",)
    if term.parts[0] in ("rhythm", "accents"):
        mine = (term.parts[0].removesuffix("s"),)
    return any(study.setting(axis) != AS_WRITTEN.setting(axis) for axis in mine)


def _trained(
    more: Mapping[Skill, int], study: Study, variation: Variation, serving: Mapping[str, float], plays: int
) -> Mapping[Skill, int]:
    """What one sitting trains, with the ways of working and what the plan asks for."""
    found = {skill: plays * n for skill, n in more.items()}
    notes = max(1, variation.figures.notes)
    for setting in axes.changed(study):
        found[Skill("work", (axes.axis(setting.axis).title.lower(), setting.kind))] = plays * notes
    for word, share in serving.items():
        found[Skill("asked", (word,))] = max(1, round(plays * notes * share))
    return found


def serving(candidates: Sequence[Candidate], word: str) -> list[int]:
    """Indices of the candidates that are pages for what a word of the plan names."""
    return [index for index, candidate in enumerate(candidates) if word in candidate.serves]
