"""The pages there could be: every study that applies to this line, made and counted once, and why the rest does not.

A sitting with a page is every time through at every tempo step it prints, and half a minute to settle: that is what
its minutes, its boxes and its load stand for, everywhere.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from engrave import axes
from engrave.axes import defaults
from engrave.axes.counting import quarters_a_minute
from engrave.axes.selection import selection
from engrave.model import AXES, Declined, Load, Notice, Plan, Study, Variation
from engrave.regimen import beyond
from engrave.regimen.atoms import Atom, count
from engrave.regimen.beyond import Base, base_of
from engrave.regimen.difficulty import difficulty
from engrave.regimen.levels import BEGINNER, LITTLE, MIXED, kept_back, later, level_of, limit
from engrave.regimen.load import beat_of, load_of, minutes
from engrave.regimen.sought import sought
from engrave.regimen.strains import longest, strains, tightest
from engrave.regimen.terms import Term, plucks, terms_of
from engrave.regimen.varied import elsewhere, varied, whereabouts

AS_WRITTEN = Study()
"""the line as it stands"""
_PLAIN_LOW = 70
"""per cent of the goal at which the line as written is begun: kinds of work are slower in the same proportion"""


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
    atoms: Mapping[Atom, int]
    """what one sitting trains beyond the line, and how often; of the line as written, all it trains"""
    load: Load
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Pool:
    """What there is to choose from."""

    line: Variation
    """the line as written, with strokes and figures"""
    candidates: tuple[Candidate, ...]
    """the line as written first, then in the order of the catalogue or the plan"""
    notices: tuple[Notice, ...] = ()
    """what was left out before choosing, and why"""
    asked: frozenset[int] = frozenset()
    """candidates that one line of the plan asks for"""


def pool(line: Variation, plan: Plan) -> Pool:
    """Every study that applies: the plan's, else the built-in selection and what the plan's words call for.

    Raises PlanError for unknown settings.
    """
    as_written = written(line)
    base = base_of(as_written)
    # a plan may give the line its own times and tempi
    own = next((study for study in plan.studies if not study.asked), AS_WRITTEN)
    candidates = [make(own, written(line, own), plan, base)]
    notices: list[Notice] = []
    held: list[str] = []
    seen = {canonical(AS_WRITTEN)}
    calls, pairs = sought(plan)
    several: set[int] = set()
    for study in _or_elsewhere(line, plan, calls):
        if canonical(study) in seen:
            if plan.studies and study is not own:
                notices.append(Notice(text=f"“{heading(study)}” is asked for twice; it is printed once"))
            continue
        seen.add(canonical(study))
        if why := left_out(study, plan):
            notices.append(Notice(text=f"“{heading(study)}” is left out: {why}"))
            continue
        found = answer(line, base, plan, study)
        if isinstance(found, Notice):
            notices.append(found)
            continue
        insisted = plan.studies or study in pairs
        why = "" if insisted or _all(plan) else kept_back(found.variation, found.kinds, as_written, plan.player)
        if why and not _called(found, plan, why):
            held.append(why)
            continue
        if not insisted and (why := _idle(found, candidates, as_written)):
            notices.append(Notice(text=f"“{found.variation.title}” gets no page: {why}"))
            continue
        if study in pairs:
            several.add(len(candidates))
        candidates.append(found)
    notices = [*_gathered(notices, plan), *later(held, plan.player)]
    return Pool(line=as_written, candidates=tuple(candidates), notices=tuple(notices), asked=frozenset(several))


LITTLE_TOUCHED = 0.2
"""share of the notes that a page must change to be worth a page by itself (common practice)"""


def _idle(candidate: Candidate, before: Sequence[Candidate], line: Variation) -> str:
    """Why a page would show nothing of its own; empty where it does."""
    for other in before:
        if _figures(other) == _figures(candidate) and axes.alike(other.variation, candidate.variation):
            return f"it has the same notes and marks as “{other.variation.title}”"
    known = _places(line)
    now = _places(candidate.variation)
    size = sum(len(notes) for _, _, notes in now.values())
    touched = sum(len(shown[2]) for place, shown in now.items() if known.get(place) != shown)
    if size and not _worded(candidate, line) and touched < LITTLE_TOUCHED * size:
        return f"it changes {touched} of {size} notes"
    return ""


_Place = tuple[Fraction, int, bool]
_Shown = tuple[Fraction, tuple[str, ...], tuple[Hashable, ...]]


def _places(variation: Variation) -> dict[_Place, _Shown]:
    """Onset, voice and whether it is a grace note → what stands there: length, marks, and each note with both hands.

    By place, not by note: where chords are broken in another order, every note is at another place.
    """
    return {
        (event.onset, event.voice, event.grace): (
            event.duration,
            event.marks,
            tuple((n.pitch, n.placement, n.stroke, bool(n.slurred_from)) for n in event.notes),
        )
        for event in variation.passage.events
        if event.notes
    }


def _figures(candidate: Candidate) -> tuple[object, ...]:
    found = candidate.variation.figures
    return found.notes, found.strokes, found.frettings, found.slurs, found.accents


def _worded(candidate: Candidate, line: Variation) -> bool:
    """Whether words over the staff say what to do, or the bars are others, so that the notes need not change."""
    here, there = candidate.variation.passage, line.passage
    return here.bars != there.bars or len(here.directions) > len([d for d in there.directions if d.kind != "tempo"])


ALIKE = 3
"""studies that do not apply for one and the same reason, from which they are told together"""


def _gathered(notices: Sequence[Notice], plan: Plan) -> list[Notice]:
    """What does not apply for one and the same reason told once; of a plan's own studies each by itself."""
    if plan.studies:
        return list(notices)
    parts = [notice.text.partition(" does not apply here: ") for notice in notices]
    counts = Counter(reason for _, _, reason in parts if reason)
    found: dict[str, Notice] = {}
    for notice, (name, _, reason) in zip(notices, parts, strict=True):
        if reason and counts[reason] >= ALIKE:
            text = f"{name} and {counts[reason] - 1} more do not apply here: {reason}"
            found.setdefault(reason, Notice(text=text, place=notice.place))
        else:
            found.setdefault(notice.text, notice)
    return list(found.values())


def written(line: Variation, study: Study = AS_WRITTEN) -> Variation:
    """The line as written, with strokes and figures; `study` may give it a name, times and tempi."""
    made = axes.vary(line, study)
    if isinstance(made, Declined):
        raise TypeError(f"the line as written was declined: {made.reason}")
    return made


def _all(plan: Plan) -> bool:
    """Whether all that applies was asked for, and no level named."""
    return plan.depth in ("complete", "fewest") and not plan.player.level


def _called(candidate: Candidate, plan: Plan, why: str) -> bool:
    """Whether the plan's own words ask for what the level would keep for later."""
    player = plan.player
    words = [word for word in (*player.weak, *player.goals, *player.strong) if word in candidate.serves]
    if why == LITTLE:
        return any("c" in term.parts for _, term in terms_of(tuple(words)))
    return bool(words) and level_of(player) != BEGINNER and why != MIXED


def answer(line: Variation, base: Base, plan: Plan, study: Study) -> Candidate | Notice:
    """The candidate for one study, or the notice that it does not apply."""
    made = varied(line, study)
    if isinstance(made, Declined):
        return declined(study, made, elsewhere(line, study))
    return make(study, made, plan, base)


def _or_elsewhere(line: Variation, plan: Plan, calls: tuple[Study, ...]) -> Iterator[Study]:
    """The studies, each that the line's strings stand in the way of followed by the same on strings where it works.

    Of what nobody asked for one of a kind is enough.
    """
    asked = plan.studies or (*built_in(plan), *calls)
    unasked = () if plan.studies else built_in(plan)
    offered: set[tuple[str, ...]] = set()
    for study in asked:
        yield study
        other = elsewhere(line, study)
        if other is None or other in asked or (study in unasked and axes.kinds(other) in offered):
            continue
        offered.add(axes.kinds(other))
        yield other


def built_in(plan: Plan) -> tuple[Study, ...]:
    """The studies a book of this plan is chosen from, in the order of the catalogue.

    A short or standard book is chosen from the standard selection, which holds more than fits either.
    """
    return selection("complete" if plan.depth in ("complete", "fewest") else "standard")


def make(study: Study, variation: Variation, plan: Plan, base: Base) -> Candidate:
    """The candidate for one study that applies, with its times, tempi, counts and load."""
    kinds = axes.kinds(study)
    variation = _untimed(variation) if kinds else variation
    beat = beat_of(base.line.passage)
    tempo = study.tempo or plan.tempo or ladder(kinds, base.line, plan)
    tempo = tuple(sorted(set(tempo)))
    wished = study.times or plan.times
    strained = strains(variation, kinds, base.line)
    wish = _Wish(times=wished or defaults.times(kinds), tempo=tempo, own=bool(wished))
    times, tempo, notices = _sitting(variation, wish, beat, strained, limit(plan.player, "longest"))
    variation = _leaving(variation, tempo[-1], beat)
    atoms = count(variation)
    notes = max(1, variation.figures.notes)
    plays = times * len(tempo)
    serving = {
        word: share
        for _, word, term in beyond.asked(plan.player)
        if kinds and (share := beyond.serves(term, atoms, notes, base, changed=_changes(study, term)))
    }
    more = beyond.more_than(base, atoms, notes) if kinds else dict(atoms)
    return Candidate(
        study=study,
        variation=variation,
        kinds=kinds,
        times=times,
        tempo=tempo,
        beat=beat,
        house=not (wished and (study.tempo or plan.tempo)),
        atoms=_trained(more, study, variation, serving, plays),
        load=load_of(variation, times=times, tempo=tempo, beat=beat, line=base.line),
        serves=serving,
        strains=strained,
        difficulty=difficulty(variation, study, base.line),
        notices=notices,
    )


def _untimed(variation: Variation) -> Variation:
    """`variation` without the source's own tempo marks, which would stand over other tempi."""
    passage = variation.passage
    if not any(d.kind == "tempo" for d in passage.directions):
        return variation
    kept = tuple(d for d in passage.directions if d.kind != "tempo")
    return replace(variation, passage=replace(passage, directions=kept))


def _leaving(variation: Variation, tempo: int, beat: Fraction) -> Variation:
    """`variation` with the time to leave a string worked out at the fastest tempo of its page."""
    figures = variation.figures
    if figures.let_go is None:
        return variation
    reckoned = quarters_a_minute(variation)
    return replace(variation, figures=replace(figures, let_go=figures.let_go * float(reckoned / (tempo * beat))))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wish:
    """How often, and how fast, before the limits."""

    times: int
    tempo: tuple[int, ...]
    own: bool
    """the plan says how often"""


def _sitting(
    variation: Variation, wish: _Wish, beat: Fraction, strained: tuple[str, ...], most: float
) -> tuple[int, tuple[int, ...], tuple[Notice, ...]]:
    """Times through and tempo steps of one sitting within the limits, and what is said where a wish was cut.

    `most` is how many minutes the house gives to a study by itself; a plan's own times go before that, not before the
    limits of what strains.
    """
    times, tempo = wish.times, wish.tempo
    cap = longest(strained)
    most = min(cap or 1e9, 1e9 if wish.own else most)

    def takes(times: int, tempo: tuple[int, ...]) -> float:
        return minutes(variation, times=times, tempo=tempo, beat=beat)

    asked = takes(times, tempo)
    short, steps = times, tempo
    while short > 1 and takes(short, steps) > most:
        short -= 1
    # once through at every step may still be too long: then the slow steps alone
    while len(steps) > 1 and takes(short, steps) > most and cap is not None:
        steps = steps[:-1]
    if cap is None or not wish.own or (short, steps) == (times, tempo):
        return short, steps, ()
    said = (
        f"The plan asks for {times} times through at each tempo, about {round(asked)} minutes. Of {tightest(strained)} "
        f"this book gives {cap:g} minutes a day at most: here it is {_times(short)}; then rest, and go on another day."
    )
    return short, steps, (Notice(text=said),)


def _times(number: int) -> str:
    return "once" if number == 1 else f"{number} times"


def _changes(study: Study, term: Term) -> bool:
    """Whether a study changes something of the hand a thing belongs to."""
    mine: tuple[str, ...] = ("pluck", "stroke") if plucks(term) else ("strings", "fret", "slurs")
    if term.parts[0] in ("rhythm", "accents"):
        mine = (term.parts[0].removesuffix("s"),)
    return any(study.setting(axis) != AS_WRITTEN.setting(axis) for axis in mine)


def ladder(kinds: tuple[str, ...], line: Variation, plan: Plan) -> tuple[int, ...]:
    """Tempo steps by kind of work: from the tempo the line goes at now towards the goal, rising, none twice.

    A kind of work begins as much slower than the line as the house's shares say, and goes as near the goal.
    """
    player = plan.player
    shares = defaults.HABITS[defaults.leading(kinds)].steps
    goal = goal_of(line, plan)
    now = now_of(line, plan)
    low, high = now * shares[0] / _PLAIN_LOW, goal * shares[-1] / 100 * limit(player, "tempo") / 100
    if low >= high:  # short bursts are played near full tempo: from halfway between now and the goal
        low = (now + high) / 2 if now < high else high
    last = max(1, len(shares) - 1)
    steps = {round(low + (high - low) * index / last) for index in range(len(shares))}
    return tuple(sorted({min(defaults.FASTEST, max(defaults.SLOWEST, step)) for step in steps}))


def goal_of(line: Variation, plan: Plan) -> float:
    """The tempo to get to, in beats a minute: the plan's goal, else the passage's own tempo, else the house's."""
    passage, player = line.passage, plan.player
    known = passage.tempo / beat_of(passage) if passage.tempo else defaults.GOAL
    return float(player.goal or max(known, player.tempo or 0))


def now_of(line: Variation, plan: Plan) -> float:
    """The tempo at which the line goes now: the plan's, else seven tenths of the goal."""
    return float(plan.player.tempo or goal_of(line, plan) * _PLAIN_LOW / 100)


def _trained(
    more: Mapping[Atom, int], study: Study, variation: Variation, serving: Mapping[str, float], plays: int
) -> Mapping[Atom, int]:
    """What one sitting trains, with the ways of working and what the plan asks for."""
    found = {atom: plays * n for atom, n in more.items()}
    notes = max(1, variation.figures.notes)
    for known, setting in zip(axes.ORDER, axes.settings(study), strict=True):
        if setting.name != known.default:
            found[Atom("work", (known.title.lower(), setting.kind))] = plays * notes
    for word, share in serving.items():
        found[Atom("asked", (word,))] = max(1, round(plays * notes * share))
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


def declined(study: Study, answer: Declined, other: Study | None = None) -> Notice:
    """The notice for a study that does not apply to this line; `other` is the same on strings where it does."""
    where = f" ({answer.place})" if answer.place else ""
    # of a mixture the setting at fault is named; a single setting is what the heading says already
    there = f"; it does with the line elsewhere: {whereabouts(other)}" if other else ""
    fault = f"{answer.axis} “{answer.setting}”: " if len(axes.kinds(study)) > 1 or study.name else ""
    return Notice(text=f"“{heading(study)}” does not apply here: {fault}{answer.reason}{where}{there}")


def by_atom(candidates: Iterable[Candidate]) -> dict[Atom, tuple[int, ...]]:
    """Atom → indices of the candidates in which it occurs, in the order of the coverage table."""
    found: dict[Atom, list[int]] = {}
    for index, candidate in enumerate(candidates):
        for atom in candidate.atoms:
            found.setdefault(atom, []).append(index)
    return {atom: tuple(found[atom]) for atom in sorted(found, key=lambda atom: atom.place)}


def serving(candidates: Sequence[Candidate], word: str) -> list[int]:
    """Indices of the candidates that are pages for what a word of the plan names."""
    return [index for index, candidate in enumerate(candidates) if word in candidate.serves]
