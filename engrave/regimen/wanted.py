"""What is wanted of a regimen: how often each atom should occur in one go through it, and what that is worth.

Everything that any page could train is wanted. A plan's weak things and goals are wanted more often, its strong ones
less. No more is wanted than pages can give: a plain or strong thing half as often as it occurs on the page that has
most of it, a goal as often as on that page, a weak thing as often as on the two that have most.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import ceil, sqrt

from engrave.model import Player
from engrave.regimen.atoms import Atom, fits
from engrave.regimen.candidates import Candidate, by_atom
from engrave.regimen.practice import figure
from engrave.regimen.terms import Term, parse_term

_NEGLECTED = ("m-a", "little finger")
"""common practice: the weak pair, and the finger left out"""
_PAGES = {"plain": 0.5, "strong": 0.5, "goal": 1.0, "weak": 2.0}
"""pages' worth of occurrences, of the pages that have most, that is wanted at most"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Want:
    """One atom that is wanted."""

    atom: Atom
    standing: str
    """plain, strong, goal or weak"""
    often: int
    """occurrences wanted in one go through the regimen"""
    worth: float
    """what training it as often as wanted is worth"""
    term: str = ""
    """the plan's word for it, where it has one"""


def wants(candidates: Sequence[Candidate], player: Player) -> tuple[Want, ...]:
    """What is wanted of these candidates for this player, in the order of the coverage table."""
    where = by_atom(candidates)
    sizes = Counter(atom.kind for atom in where)
    found = []
    for atom, pages in where.items():
        name, term = standing(atom, player)
        most = sorted((candidates[index].atoms[atom] for index in pages), reverse=True)
        given = most[0] * _PAGES[name] if _PAGES[name] <= 1 else sum(most[: int(_PAGES[name])])
        found.append(
            Want(
                atom=atom,
                standing=name,
                often=min(int(figure("wanted", name)), ceil(given)),
                # a heading with many entries counts for more than one with few, but not for as many times more
                worth=figure("weight", name) / sqrt(sizes[atom.kind]),
                term=term,
            )
        )
    return tuple(found)


def standing(atom: Atom, player: Player) -> tuple[str, str]:
    """What the atom is to this player (weak, goal, strong, plain), and the word that says so.

    Where the plan names nothing weak, what many players neglect is a goal: m with a, and the little finger.
    """
    neglected = () if player.weak else _NEGLECTED
    for name, words in (("weak", player.weak), ("goal", player.goals + neglected), ("strong", player.strong)):
        for word, term in _terms(words):
            if fits(term, atom):
                return name, word
    return "plain", ""


@cache
def _terms(words: tuple[str, ...]) -> tuple[tuple[str, Term], ...]:
    """The plan's words with what they name. Raises ValueError for a word that names nothing."""
    found = tuple((word, parse_term(word)) for word in words)
    if any(term is None for _, term in found):
        raise ValueError(f"{words} holds a word that is no term")
    return tuple((word, term) for word, term in found if term)
