"""Why a page stands where it stands, in words for a player. Nothing is said that the counts do not show."""

from __future__ import annotations

from collections.abc import Sequence

from engrave.model import Player
from engrave.regimen.beyond import Base, asked, shown, times_by_kind
from engrave.regimen.candidate import Candidate, changes_for
from engrave.regimen.skills import Skill, count
from engrave.regimen.terms import FINGERS, Term

_SAME = {
    "strings": "The same line in another place on the neck.",
    "accent": "The same line, other notes of it stressed.",
    "stroke": "The same line with another stroke.",
    "fret": "The same line under other fretting fingers.",
    "pluck": "The same line, plucked in another way.",
    "slurs": "The same line, fewer of its notes plucked.",
    "rhythm": "The same line in another rhythm.",
}
"""axis → what may be said of any page that changes it, the most telling last"""
_AS_LONG = 0.02
_WORTH = 0.05
"""share of a page's notes that a thing must have to be its reason; house figure"""
_SKIPPED = ("work", "asked", "string", "place", "rhythm", "reach")
"""kinds of skill that say too little of a page to be its reason"""


def for_word(candidate: Candidate, word: str, term: Term, base: Base) -> str:
    """What the page does for a thing the plan names, against the line: a figure the page can be held to."""
    skills, notes = count(candidate.variation), max(1, candidate.variation.figures.notes)
    found = shown(term, skills, notes, base, changed=changes_for(candidate.study, term))
    kind = found[0] if found else ""
    here = times_by_kind(term, skills)[kind]
    there = round(times_by_kind(term, base.skills)[kind] * notes / base.notes)
    if here <= there:
        return f"For {said(word, term)}: as much of it as in the line, worked another way."
    where = "in the line" if abs(notes / base.notes - 1) < _AS_LONG else "in as many notes of the line"
    does = _DOES.get((term.kind, kind), "here")
    return f"For {said(word, term)}: {does} {often(here)}, {where} {often(there)}."


_DOES = {
    ("plucking finger", "pair"): "it comes before or after another",
    ("plucking finger", "again"): "it plucks twice running",
    ("plucking finger", "accent"): "it is accented",
    ("plucking pair", "pair"): "one follows the other",
    ("finger", "finger"): "it stops a note",
    ("finger", "fingers"): "it comes before or after another",
    ("finger", "slur"): "it makes a slur",
    ("finger", "let go"): "it lets go for an open string",
    ("fingers", "fingers"): "one follows the other",
    ("fingers", "slur"): "one slurs to the other",
}
"""kind of term, kind of skill → what happens so often"""


def said(word: str, term: Term) -> str:
    """A thing of the plan as a sentence names it."""
    if term.kind == "plucking finger":
        return f"the {FINGERS[term.parts[0]]}"
    return " and ".join(term.parts) if term.kind == "plucking pair" else word


def often(times: int) -> str:
    """A number of times in words."""
    return {0: "never", 1: "once", 2: "twice"}.get(times, f"{times} times")


def for_contrast(candidate: Candidate, order: Sequence[Candidate]) -> str:
    """What the page brings that the others have less of, or none."""
    ranked = sorted(
        (
            (n / _others(skill, candidate, order), -_rarity(skill, order), n, skill)
            for skill, n in candidate.skills.items()
            if skill.kind not in _SKIPPED and n >= _WORTH * candidate.plays * candidate.variation.figures.notes
        ),
        key=lambda row: (-row[0], row[1], -row[2], row[3].place),
    )
    if not ranked and candidate.study.strings.startswith("open "):
        return "The rhythm of the line and nothing else, for the plucking hand."
    if not ranked:
        axis = max(candidate.study.asked.split("; "), key=lambda part: list(_SAME).index(part.partition("=")[0]))
        return _SAME[axis.partition("=")[0]]
    skill = ranked[0][3]
    alone = not any(skill in c.skills for c in order if c is not candidate and not c.plain)
    return f"Only here: {_label(skill)}." if alone else f"Brings {_label(skill)}."


def _others(skill: Skill, candidate: Candidate, order: Sequence[Candidate]) -> float:
    """How much of it the richest of the other pages has; one where none has any."""
    return 1.0 + max((c.skills.get(skill, 0) for c in order if c is not candidate and not c.plain), default=0)


def _rarity(skill: Skill, order: Sequence[Candidate]) -> int:
    return sum(skill in c.skills for c in order)


def _label(skill: Skill) -> str:
    """The label, with its particulars in brackets."""
    what, _, particulars = skill.label.partition(", ")
    return f"{what} ({particulars})" if particulars else what


def for_warm_up(candidate: Candidate, player: Player) -> str:
    """Why a page is good to begin with."""
    for name, word, term in asked(player):
        if name == "strong" and word in candidate.serves:
            return f"To warm up: you call {said(word, term)} strong, so begin with it."
    return f"To warm up: easy work, begun at {candidate.tempo[0]}."
