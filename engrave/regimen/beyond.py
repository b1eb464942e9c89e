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
from engrave.regimen.atoms import Atom, count, fits
from engrave.regimen.terms import Term, terms_of

WORTH = 0.1
"""share of a page's notes by which it must train a thing more than the line does, to be a page for it; house figure"""
BY_THE_WAY = 0.3
"""share asked of a page that changes nothing of the hand the thing belongs to; house figure"""
MOSTLY = 0.5
"""share of a page's notes that a thing must have where the line is made of it already; house figure"""
NEGLECTED = ("m-a",)
"""common practice: the weak pair"""
FORGOTTEN = "little finger"
"""common practice: the finger left out; for those whom the level lets use it"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """The line as written, counted once: what every page is held against."""

    line: Variation
    atoms: Mapping[Atom, int]
    notes: int


def base_of(line: Variation) -> Base:
    """The line as written, with strokes and figures, ready to hold pages against."""
    return Base(line=line, atoms=count(line), notes=max(1, line.figures.notes))


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


def times_of(term: Term, atoms: Mapping[Atom, int]) -> int:
    """How often a thing occurs among these: of the kinds of atom that it shows in, the one that has most."""
    kinds: Counter[str] = Counter()
    for atom, n in atoms.items():
        if atom.kind not in ("work", "asked") and fits(term, atom):
            kinds[atom.kind] += n
    return max(kinds.values(), default=0)


def gain(term: Term, atoms: Mapping[Atom, int], notes: int, base: Base) -> float:
    """By what share of its notes a page of `notes` notes trains a thing more than the line does; may be below 0."""
    return times_of(term, atoms) / max(1, notes) - times_of(term, base.atoms) / base.notes


def serves(term: Term, atoms: Mapping[Atom, int], notes: int, base: Base, *, changed: bool) -> float:
    """Share of its notes by which a page is a page for this thing; 0 where it is not.

    `changed`: the page changes something of the hand that the thing belongs to, so that a page full of what the line
    is full of already counts as well; what merely comes about must be a good deal more.
    """
    more = gain(term, atoms, notes, base)
    if more >= (WORTH if changed else BY_THE_WAY):
        return more
    share = times_of(term, atoms) / max(1, notes)
    return share if changed and share >= MOSTLY and more > -WORTH else 0.0


def more_than(base: Base, atoms: Mapping[Atom, int], notes: int) -> dict[Atom, int]:
    """How often each atom occurs beyond what as many notes of the line would bring, rounded down."""
    share = notes / base.notes
    found = {atom: int(n - base.atoms.get(atom, 0) * share) for atom, n in atoms.items()}
    return {atom: n for atom, n in found.items() if n > 0}
