"""Studies that a plan's own words call for, which the built-in selection would not hold.

`weak = ["p-c"]` is one line, and there is a page with p and c in turn; `pairs = "all, both strokes"` is one line, and
there is a page for every pair in each stroke.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

from engrave import axes
from engrave.axes.selection import selection
from engrave.model import PLUCKING, Plan, Study
from engrave.regimen.terms import Term, terms_of

_BY_TECHNIQUE: dict[str, tuple[Study, ...]] = {
    "bass strings": (
        Study(strings="shape on 4"),
        Study(strings="shape on 5"),
        Study(strings="octave down"),
    ),
    "treble strings": (Study(strings="shape on 1"), Study(strings="octave up")),
    "shifts": (Study(fret="along one string"), Study(fret="third best")),
    "high positions": (Study(strings="highest"), Study(strings="octave up"), Study(strings="up 7")),
    "rest stroke": (Study(stroke="rest"), Study(pluck="m-a", stroke="rest"), Study(pluck="a-m-i", stroke="rest")),
    "awkward crossings": (Study(pluck="worst i-m"), Study(pluck="worst a-m-i")),
    "tremolo": (
        *(Study(pluck=name) for name in ("p-a-m-i", "tremolo p-a-m-i", "tremolo p-i-m-a", "4 times p-a-m-i")),
        *(Study(pluck="p-a-m-i", rhythm=rhythm) for rhythm in ("planting", "dotted")),
        Study(pluck="p-a-m-i", accent="every 3"),
    ),
    "accents": (Study(accent="against the metre"), Study(pluck="i-m", accent="every 3")),
    "slurs": (Study(slurs="twos"), Study(slurs="pull-offs"), Study(slurs="hammer-ons")),
    "stretches": (Study(strings="down 1"), Study(strings="down 2"), Study(fret="one position")),
    "rhythm": (Study(rhythm="dotted"), Study(rhythm="bursts of 4")),
}


def aimed(plan: Plan) -> Plan:
    """The plan, with all that its book is to hold alone among the goals: it is sought, and weighed, like any."""
    player = plan.player
    new = tuple(word for word in plan.only if word not in (*player.weak, *player.goals, *player.strong))
    return replace(plan, player=replace(player, goals=(*player.goals, *new))) if new else plan


def sought(plan: Plan) -> tuple[tuple[Study, ...], frozenset[Study]]:
    """Studies to add to the selection, and those of them that one line of the plan insists on."""
    player = plan.player
    found: list[Study] = []
    for _, term in terms_of((*player.weak, *player.goals, *player.strong)):
        found += _for(term)
    pairs = tuple(_pairs(plan.pairs)) if plan.pairs != "chosen" else ()
    return tuple(dict.fromkeys((*pairs, *found))), frozenset(pairs)


def _pairs(which: str) -> Iterator[Study]:
    """Every pair of plucking fingers: begun by the finger nearer the thumb, or in rest and in free stroke."""
    for first, second in combinations(PLUCKING, 2):
        if which == "all":
            yield Study(pluck=f"{first}-{second}")
        else:
            yield from (Study(pluck=f"{first}-{second}", stroke=stroke) for stroke in ("rest", "free"))


def _for(term: Term) -> Iterator[Study]:
    kind, parts = term.kind, term.parts
    if kind == "plucking pair":
        yield Study(strings="open 2", pluck="-".join(parts))
        yield from (Study(pluck=pair) for pair in ("-".join(parts), "-".join(parts[::-1])))
        yield Study(pluck="-".join(parts), rhythm="dotted")
        yield Study(pluck="-".join(parts), stroke="rest")
    elif kind == "plucking finger":
        yield from _with_finger(parts[0])
    elif kind == "finger":
        others = [n for n in "1234" if n != parts[0]]
        yield Study(fret=parts[0])
        # a resting finger's notes go to the others, in chords as well: what it gains is counted
        yield from (Study(fret=f"without {n}") for n in others)
        for other in others:
            yield Study(fret="-".join(sorted((other, parts[0]))))
            yield Study(slurs=f"{max(other, parts[0])}-{min(other, parts[0])}")
    elif kind == "fingers":
        yield Study(fret="-".join(parts))
        yield from (Study(fret=f"without {n}") for n in "1234" if n not in parts)
        yield from (Study(slurs="-".join(pair)) for pair in (parts, parts[::-1]))
    elif kind == "slur" and "0" not in parts:
        yield Study(slurs="-".join(parts))
    elif kind == "slur":
        yield Study(slurs="to open" if parts[1] == "0" else "open before")
    elif kind == "string":
        yield from (Study(strings=f"{how} on {parts[0]}") for how in ("shape", "intervals"))
    else:
        yield from _BY_TECHNIQUE.get(parts[0], ())
        yield from (study for study in selection("complete") if parts[0] in _words(study))


def _with_finger(finger: str) -> Iterator[Study]:
    """Pairs and cycles in which a plucking finger has its share, and pages on which it alone is louder."""
    if finger != "c":
        yield Study(accent=f"finger {finger}")
        yield Study(accent=f"finger {finger}", rhythm="dotted")
    for other in "amipc":
        if other != finger and "c" not in (other, finger):
            yield Study(pluck=f"{other}-{finger}")
    if finger == "c":
        yield from (Study(pluck=name) for name in ("a-c", "m-c", "i-c", "c-a-m-i"))
    elif finger == "p":
        yield from (Study(pluck=name) for name in ("p-i-m", "i-m, p on basses"))
    else:
        yield Study(pluck="a-m-i")
        yield Study(pluck="i-m-a", accent="first finger")
        yield Study(pluck=f"{'m' if finger != 'm' else 'i'}-{finger}", rhythm="dotted")


def _words(study: Study) -> str:
    """The kinds of work of a study by name, for techniques that are named so."""
    return " ".join(kind + "s" for kind in axes.kinds(study))
