"""What a page trains beyond the line as written.

A page is for something when it trains it more than the line itself does (common practice): that the line uses finger 4
does not make every page a page for finger 4. Everything is told a note of music, so that a page with more notes than
the line, or fewer, is held against it fairly.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from engrave.model import Player, Variation
from engrave.regimen.skills import Skill, count, fits
from engrave.regimen.terms import Term, terms_of

WORTH = 0.1
"""share of a page's notes by which it must train a thing more than the line does, to be a page for it; house figure"""
BY_THE_WAY = 0.3
"""share asked of a page that changes nothing of the hand the thing belongs to; house figure"""
MOSTLY = 0.5
"""share of a page's notes that a thing must have where the line is made of it already; house figure"""
NOTES = {"tremolo": 4, "order": 4}
"""kind of skill → notes of the page that one of it takes, where it is not one (common practice: p a m i)"""
NEGLECTED = ("m-a",)
"""common practice: the weak pair"""
FORGOTTEN = "little finger"
"""common practice: the finger left out; for those whom the level lets use it"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """The line as written, counted once: what every page is held against."""

    line: Variation
    ids: frozenset[str]
    """of its notes"""
    skills: Mapping[Skill, int]
    notes: int


def base_of(line: Variation) -> Base:
    """The line as written, with strokes and figures, ready to hold pages against."""
    ids = frozenset(note.id for note in line.passage.notes)
    return Base(line=line, ids=ids, skills=count(line), notes=max(1, line.figures.notes))


def asked(player: Player) -> tuple[tuple[str, str, Term], ...]:
    """What the player asks for, the weak first: (weak, goal or strong; the plan's word; what it names).

    Where the plan says nothing of them, what many players neglect is a goal.
    """
    named = {*player.weak, *player.goals, *player.strong}
    neglected = NEGLECTED + ((FORGOTTEN,) if player.level == "advanced" else ())
    if player.level == "beginner":
        neglected = ()
    taken = {term for _, term in terms_of((*player.weak, *player.goals, *player.strong))}
    goals = player.goals + tuple(word for word, term in terms_of(neglected) if term not in taken and word not in named)
    rows = (("weak", player.weak), ("goal", goals), ("strong", player.strong))
    return tuple((standing, word, term) for standing, words in rows for word, term in terms_of(words))


def times_by_kind(term: Term, skills: Mapping[Skill, int]) -> Counter[str]:
    """How often a thing occurs among these, by the kind of skill that it shows in."""
    kinds: Counter[str] = Counter()
    for skill, n in skills.items():
        if skill.kind not in ("work", "asked") and fits(term, skill):
            kinds[skill.kind] += n
            if skill.kind == "crossing" and skill.parts[0] == "awkward" and term.parts[0] == "string crossing":
                # as many crossings, but more of them against the hand, are harder work on crossing
                kinds["awkward"] += n
    return kinds


def shown(
    term: Term, skills: Mapping[Skill, int], notes: int, base: Base, *, changed: bool
) -> tuple[str, float] | None:
    """The kind of skill by which a page of `notes` notes is a page for a thing, and for what share of them; else None.

    `changed`: the page changes something of the hand that the thing belongs to, so that a page full of what the line
    is full of already counts as well; what merely comes about must be a good deal more. Kinds are held against the line
    one by one: a finger that is accented is worked harder, though it plucks no more notes.
    """
    here, there = times_by_kind(term, skills), times_by_kind(term, base.skills)
    shares = {kind: n * NOTES.get(kind, 1) / max(1, notes) for kind, n in here.items()}
    more = {kind: share - there[kind] * NOTES.get(kind, 1) / base.notes for kind, share in shares.items()}
    best = max(more, key=lambda kind: (more[kind], kind), default="")
    if best and more[best] >= (WORTH if changed else BY_THE_WAY):
        return best, more[best]
    full = max(shares, key=lambda kind: (shares[kind], kind), default="")
    if full and changed and shares[full] >= MOSTLY and more[full] > -WORTH:
        return full, shares[full]
    return None


def serves(term: Term, skills: Mapping[Skill, int], notes: int, base: Base, *, changed: bool) -> float:
    """Share of its notes by which a page is a page for this thing; 0 where it is not."""
    found = shown(term, skills, notes, base, changed=changed)
    return found[1] if found else 0.0


def more_than(base: Base, skills: Mapping[Skill, int], variation: Variation) -> dict[Skill, int]:
    """How often each skill occurs beyond what as many notes of the line would bring, rounded down.

    Where every note is fretted as the line frets it, the fretting hand does nothing more, and a string is plucked more
    where it is plucked more often: of fewer notes alone what is left has the larger share.
    """
    notes = max(1, variation.figures.notes)
    share, same = notes / base.notes, _stops(variation) <= _stops(base.line)
    found = {}
    for skill, n in skills.items():
        known = base.skills.get(skill, 0)
        if not (same and (skill.kind in FRETTING or (skill.kind == "string" and n <= known))):
            found[skill] = int(n - known * share)
    return {skill: n for skill, n in found.items() if n > 0}


FRETTING = ("finger", "fingers", "let go", "reach", "shift", "place", "barre")
"""kinds of skill that come of where the fretting hand lies"""


def _stops(variation: Variation) -> frozenset[tuple[int, int, int, int]]:
    """Bar, string, fret and finger of every note."""
    return frozenset(
        (event.bar, p.string, p.fret, p.finger)
        for event in variation.passage.events
        for note in event.notes
        if (p := note.placement) is not None
    )


_CORE = {"pair": 2, "again": 1, "crossing": 2, "reach": 2}
"""kind of skill → how many of its parts say what is done; the others say how and where"""


def core(skill: Skill) -> tuple[str, ...]:
    """What is done, whatever its particulars: of a skill of its kind the parts that stand for it."""
    return (skill.kind, *skill.parts[: _CORE.get(skill.kind, len(skill.parts))])


def more_of(base: Base, skills: Mapping[Skill, int], notes: int) -> frozenset[tuple[str, ...]]:
    """What is done more often than in as many notes of the line, all its particulars together."""
    here, there = Counter[tuple[str, ...]](), Counter[tuple[str, ...]]()
    for found, counted in ((here, skills), (there, base.skills)):
        for skill, n in counted.items():
            found[core(skill)] += n
    return frozenset(key for key, n in here.items() if int(n - there[key] * notes / base.notes) > 0)
