"""Schemes: other ways for the fretting hand to play the same notes. The settings of the `fret` axis.

A scheme is strict: where its rule cannot hold it declines and names the note, or, asked to bend, breaks the rule at as
few notes as it can and prints a notice for each.
"""

from __future__ import annotations

import re
from dataclasses import KW_ONLY, dataclass
from itertools import combinations

from engrave.model.said import say
from engrave.model.wording import listed

FINGERS = (1, 2, 3, 4)


@dataclass(frozen=True, slots=True)
class Scheme:
    """One way of choosing places and fingers."""

    name: str
    """as a plan writes it"""
    label: str
    """as a heading prints it"""
    purpose: str
    """what it trains, one sentence"""
    cue: str
    """what to listen or feel for, one sentence"""
    rule: str = ""
    """what is asked of every note, for the sentence "… cannot be played RULE" """
    _: KW_ONLY
    kind: str = "fingering"
    """plain, fingering, single, pair or triple"""
    cycle: tuple[int, ...] = ()
    """fingers in turn; one for a single finger"""
    without: int = 0
    """finger left out"""
    window: bool = False
    """one finger per fret"""
    stays: bool = False
    """the line stays on its strings, though the rule does not need it"""

    @property
    def keeps_places(self) -> bool:
        """Strings and frets stay as they are, only the fingers change."""
        return bool(self.cycle or self.without or self.stays)

    @property
    def repeats(self) -> bool:
        """A finger has more than one turn in a round, so that the finger before does not tell which is next."""
        return len(set(self.cycle)) < len(self.cycle)


_OVER_THEIR_FRETS = say("Keep every finger over its own fret, close to the strings.")


def _in_turn(cycle: tuple[int, ...]) -> Scheme:
    name = "-".join(map(str, cycle))
    if len(cycle) == 1:
        return Scheme(
            name=name,
            label=say("finger {finger} alone", finger=name),
            purpose=say(
                "Finger {finger} alone stops every fretted note, so that it learns to land by itself.", finger=name
            ),
            cue=say("Let the arm carry the hand to each note; press only as hard as the note needs."),
            kind="single",
            # for the translator: ends a sentence such as "E4 cannot be played …"
            rule=say("by finger {finger} alone", finger=name),
            cycle=cycle,
        )
    fingers = listed(map(str, cycle))
    return Scheme(
        name=name,
        label=say("fingers {fingers} in turn", fingers=fingers),
        purpose=say(
            "Fingers {fingers} stop the fretted notes in strict turn, so that they become equally sure.",
            fingers=fingers,
        ),
        cue=say("The arm carries the hand; let go at once and do not hold a stretch."),
        kind="pair" if len(cycle) == 2 else "triple",
        # for the translator: ends a sentence such as "E4 cannot be played …"
        rule=say("by fingers {fingers} in strict turn", fingers=fingers),
        cycle=cycle,
    )


def _without(finger: int) -> Scheme:
    return Scheme(
        name=f"without {finger}",
        label=say("without finger {finger}", finger=finger),
        purpose=say("The same places without finger {finger}: the others take its notes.", finger=finger),
        cue=say("Keep the resting finger loose and near its string."),
        rule=say("without finger {finger}", finger=finger),
        without=finger,
    )


SCHEMES: tuple[Scheme, ...] = (
    Scheme("as given", say("fingers as given"), "", "", kind="plain"),
    Scheme(
        "best",
        say("the easiest fingering"),
        say("The fingering that asks least of the hand over the whole line, the source's fingers left aside."),
        say("Compare it with the fingering you know: where does the hand move less?"),
    ),
    Scheme(
        "second best",
        say("another fingering"),
        say("Another good fingering of the same notes, so that the line does not depend on one way."),
        say("Play both by turns: hear what changes in the colour, feel what changes in the hand."),
    ),
    Scheme(
        "third best",
        say("one more fingering"),
        say("A third way through the same notes, unlike the first two."),
        say("Where the hand moves, say the new position aloud first."),
    ),
    Scheme(
        "box",
        say("one finger per fret"),
        say("Four fingers over four frets; the window moves as seldom and as little as can be."),
        _OVER_THEIR_FRETS,
        say("with one finger per fret"),
        window=True,
    ),
    Scheme(
        "box on its strings",
        say("one finger per fret, on the strings as written"),
        say("Four fingers over four frets, and every note stays on its string: the window goes where the line goes."),
        _OVER_THEIR_FRETS,
        say("with one finger per fret where it lies"),
        window=True,
        stays=True,
    ),
    Scheme(
        "one position",
        say("in one position"),
        say("The whole line without moving the hand along the neck."),
        say("The thumb stays where it is; only the fingers move."),
        say("in one position"),
    ),
    Scheme(
        "along one string",
        say("along one string"),
        say("The whole line on one string, so that the arm learns the distances along the neck."),
        say("Move from the elbow, and arrive before you press."),
        say("along one string"),
    ),
    Scheme(
        "open strings",
        say("open strings wherever there is one"),
        say("Every note that has an open string is played on it, so that the hand can move or rest meanwhile."),
        say("Let go in time, and match the louder open notes with the stopped ones."),
        say("on open strings wherever there is one"),
    ),
    Scheme(
        "no open strings",
        say("no open strings"),
        say("Every note is stopped, for one even colour."),
        say("Listen that no note is brighter than its neighbours."),
        say("without open strings"),
    ),
    *(_in_turn((finger,)) for finger in FINGERS),
    *(_in_turn(pair) for pair in combinations(FINGERS, 2)),
    *(_in_turn((b, a)) for a, b in combinations(FINGERS, 2)),
    *(_in_turn(triple) for triple in combinations(FINGERS, 3)),
    *(_in_turn(triple[::-1]) for triple in combinations(FINGERS, 3)),
    *(_without(finger) for finger in FINGERS),
)
"""every scheme, in the order it is listed"""

GRAMMAR = "fingers in turn such as 3, 1-3, 4-2-1 or 1-2-4-2; without 2"
"""what `find_scheme` understands beyond the names"""

_CYCLE = re.compile(r"[1-4](?:-[1-4]){0,7}")
"""a round of the player's own has eight turns at most; a house figure"""


def find_scheme(name: str) -> Scheme | None:
    """The scheme called `name`, from the list or as fingers in turn; None if there is none."""
    if known := next((scheme for scheme in SCHEMES if scheme.name == name), None):
        return known
    if not _CYCLE.fullmatch(name):
        return None
    cycle = tuple(map(int, name.split("-")))
    # a round that is a shorter one said twice is written the short way
    again = any(cycle == cycle[:n] * (len(cycle) // n) for n in range(1, len(cycle)))
    return None if again else _in_turn(cycle)
