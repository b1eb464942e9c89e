"""Why a page stands where it stands, in words for a player. Nothing is said that the counts do not show."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from engrave.model import Player
from engrave.model.said import Said, say, say_count
from engrave.model.wording import listed
from engrave.regimen.beyond import NOTES, WORTH, Base, asked, shown, times_by_kind
from engrave.regimen.candidate import Candidate, changes_for
from engrave.regimen.skills import Skill
from engrave.regimen.terms import Term, terms_of, worded

_SAME = {
    "strings": say("The same line in another place on the neck."),
    "accent": say("The same line, other notes of it stressed."),
    "stroke": say("The same line with another stroke."),
    "fret": say("The same line under other fretting fingers."),
    "pluck": say("The same line, plucked in another way."),
    "slurs": say("The same line, fewer of its notes plucked."),
    "rhythm": say("The same line in another rhythm."),
}
"""axis → what may be said of any page that changes it, the most telling last"""
_SHOWS = {
    "strings": ("pair", "again", "finger", "shift"),
    "accent": ("accent",),
    "stroke": ("pair", "again"),
    "fret": ("finger", "fingers", "shift", "barre", "let go"),
    "pluck": ("pair", "again", "chord", "crossing", "tremolo"),
    "slurs": ("slur",),
    "rhythm": (),
}
"""axis → kinds of skill that it is about: what comes about by the way is no reason for a page"""
_AS_LONG = 0.02
_WORTH = 0.05
"""share of a page's notes that a thing must have to be its reason; house figure"""


def for_word(candidate: Candidate, word: str, base: Base) -> str:
    """What the page does for a thing the plan names, against the line: a figure the page can be held to."""
    ((_, term),) = terms_of((word,))
    skills, notes = candidate.held, max(1, candidate.variation.figures.notes)
    found = shown(term, skills, notes, base, changed=changes_for(candidate.study, term))
    kind = found[0] if found else ""
    here = times_by_kind(term, skills)[kind]
    there = round(times_by_kind(term, base.skills)[kind] * notes / base.notes)
    if here <= there or (here - there) * NOTES.get(kind, 1) < WORTH * notes:
        return say("For {thing}: as much of it as in the line, worked another way.", thing=said(word, term))
    does = _DOES.get((term.kind, kind), _here)(often(here))
    if abs(notes / base.notes - 1) < _AS_LONG:
        return say("For {thing}: {does}, in the line {before}.", thing=said(word, term), does=does, before=often(there))
    return say(
        "For {thing}: {does}, in as many notes of the line {before}.",
        thing=said(word, term),
        does=does,
        before=often(there),
    )


def _of_finger(times: Said) -> Said:
    return say("it comes before or after another {times}", times=times)


def _in_turn(times: Said) -> Said:
    return say("one follows the other {times}", times=times)


def _here(times: Said) -> Said:
    return say("here {times}", times=times)


_DOES: dict[tuple[str, str], Callable[[Said], Said]] = {
    ("plucking finger", "pair"): _of_finger,
    ("plucking finger", "again"): lambda times: say("it plucks twice running {times}", times=times),
    ("plucking finger", "accent"): lambda times: say("it is accented {times}", times=times),
    ("plucking pair", "pair"): _in_turn,
    ("finger", "finger"): lambda times: say("it stops a note {times}", times=times),
    ("finger", "fingers"): _of_finger,
    ("finger", "slur"): lambda times: say("it makes a slur {times}", times=times),
    ("finger", "let go"): lambda times: say("it lets go for an open string {times}", times=times),
    ("fingers", "fingers"): _in_turn,
    ("technique", "order"): lambda times: say("its order, p a m i, comes {times}", times=times),
    ("technique", "awkward"): lambda times: say("the fingers cross against the hand {times}", times=times),
    ("fingers", "slur"): lambda times: say("one slurs to the other {times}", times=times),
}
"""kind of term, kind of skill → what happens so often"""
_FINGERS = {
    "p": say("the thumb"),
    "i": say("the index finger"),
    "m": say("the middle finger"),
    "a": say("the ring finger"),
    "c": say("the little finger"),
}


def said(word: str, term: Term) -> Said:
    """A thing of the plan as a sentence names it."""
    if term.kind == "plucking finger":
        return _FINGERS[term.parts[0]]
    return listed(term.parts) if term.kind == "plucking pair" else worded(word)


def often(times: int) -> Said:
    """A number of times in words."""
    few = {0: say("never"), 1: say("once"), 2: say("twice")}
    return few[times] if times in few else say_count("{n} time", "{n} times", times)


def for_contrast(candidate: Candidate, order: Sequence[Candidate]) -> str:
    """What the page brings that the others have less of, or none; `order` holds the line, too."""
    axes = [part.partition("=")[0] for part in candidate.study.asked.split("; ")]
    kinds = {kind for axis in axes for kind in _SHOWS[axis]}
    others = [c for c in order if c is not candidate]

    def rank(skill: Skill) -> tuple[float, int, int, tuple[int, tuple[str, ...]]]:
        # much beside the richest of the other pages, then what most pages have, then much
        n, most = candidate.skills[skill], max((c.skills.get(skill, 0) for c in others if not c.plain), default=0)
        return -n / (1.0 + most), -sum(skill in c.skills for c in order), -n, skill.place

    least = _WORTH * candidate.plays * candidate.variation.figures.notes
    ranked = sorted((s for s, n in candidate.skills.items() if s.kind in kinds and n >= least), key=rank)
    if not ranked and candidate.study.strings.startswith("open "):
        return say("The rhythm of the line and nothing else, for the plucking hand.")
    if not ranked:
        return _SAME[max(axes, key=list(_SAME).index)]
    plain = next((c.held for c in others if c.plain), {})
    # what has more of it a note, but no more of it, brings no news
    news = [skill for skill in ranked if candidate.held.get(skill, 0) > plain.get(skill, 0)]
    skill = (news or ranked)[0]
    if not any(skill in c.held for c in others):
        # for the translator: {skill} is what the hands do, such as "slurs 2-1" or "m after i (treble strings)"
        return say("Only here: {skill}.", skill=_label(skill))
    if news and skill in plain:
        # for the translator: {skill} is what the hands do, such as "slurs 2-1" or "m after i (treble strings)"
        return say("More than in the line: {skill}.", skill=_label(skill))
    # for the translator: {skill} is what the hands do, such as "slurs 2-1" or "m after i (treble strings)"
    return say("Brings {skill}.", skill=_label(skill))


def _label(skill: Skill) -> str:
    """The label, with its particulars in brackets."""
    return say("{what} ({where})", what=skill.label, where=skill.where) if skill.where else skill.label


def for_warm_up(candidate: Candidate, player: Player) -> str:
    """Why a page is good to begin with."""
    for name, word, term in asked(player):
        if name == "strong" and word in candidate.serves:
            return say("To warm up: you call {thing} strong, so begin with it.", thing=said(word, term))
    return say("To warm up: easy work, begun at {tempo}.", tempo=candidate.tempo[0])
