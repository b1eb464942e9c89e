"""Plucking cycles as settings: every ordered pair, threes, fours, cycles with the little finger, and free ones."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from functools import partial
from itertools import pairwise

from engrave.axes import plucking
from engrave.axes.letters import fingers_as_written
from engrave.axes.pluck_words import PAIRS, SINGLES
from engrave.axes.plucking import RUNNING, Fingers
from engrave.axes.rewriting import given
from engrave.axes.setting import Change, Setting, noted, unfit
from engrave.model import PLUCKING, Variation
from engrave.model.said import say, say_count
from engrave.model.texture import LINE

AXIS = "pluck"
LITTLE = ("c", "e", "x", "ch", "q", "o", "s")
"""letters editions use for the little finger"""
MAX_CYCLE = 16
MOST_GIVEN_WAY = Fraction(1, 6)
"""part of its notes at which a cycle with the thumb may leave its order for the sake of the hand (house figure)"""
MOST_BENT = Fraction(1, 4)
"""part of its notes that may be tops of chords which the hand plucks as it lies, out of turn (house figure)"""
MOST_THUMB_AGAIN = Fraction(1, 10)
"""part of its notes at which that thumb may play twice running (house figure); three times it never does"""


pluck_setting = partial(Setting, AXIS, fits=RUNNING)
"""a row of the pluck axis"""


def cycling(cycle: Fingers) -> Change:
    """Plucks lines, and melodies over a bass, with `cycle`, one finger a note."""
    return lambda variation: picked(variation, lambda: plucking.turning(cycle), cycle)


def picked(
    variation: Variation,
    new: Callable[[], plucking.Next],
    cycle: Fingers,
    kinds: tuple[str, ...] = (),
    *,
    steady: bool = False,
) -> Variation:
    """Lines plucked as `new` says, with a notice where a chord could not take the finger; the rest as written.

    `steady`: a figure on each note, whose thumb lies where the line lies.
    """
    kinds = kinds or fits_of(cycle)
    rest = fingers_as_written(variation, given(variation))
    fingers, reached, bent = plucking.along(variation, new, rest, cycle, kinds)
    if not reached:
        raise unfit(say("no note of a line is plucked: nothing to alternate on"))
    if reached == 1 and len(cycle) > 1:
        raise unfit(say("the line has one plucked note: nothing to alternate on"))
    if bent > MOST_BENT * reached:
        reason = say(
            "the finger whose turn it is cannot take the top of its chord: {n} of {notes} notes; there is no turn left",
            n=bent,
            notes=reached,
        )
        raise unfit(reason)
    rows = [
        [(fingers[turn.top.note.id], turn.top.placement.string) for turn in run]
        for run in plucking.runs(variation, kinds)
    ]
    given_way = 0 if steady else _given_way(rows, cycle)
    too_often = given_way > MOST_GIVEN_WAY * reached or _thumb_again(rows, cycle, reached)
    if not steady and (any(map(plucking.over_fingers, rows)) or too_often):
        raise unfit(say("at too many changes of string the thumb would lie above a finger"), lies=True)
    made = plucking.with_strokes(variation, fingers, cycle)
    text = say_count(
        "in {n} chord the finger whose turn it was cannot take the top note: the hand plucks it as it lies",
        "in {n} chords the finger whose turn it was cannot take the top note: the hand plucks them as it lies",
        bent,
    )
    more = say_count(
        "at {n} change of string the turn gives way, so that the thumb does not lie above a finger",
        "at {n} changes of string the turn gives way, so that the thumb does not lie above a finger",
        given_way,
    )
    return noted(noted(made, text), more)


def _given_way(rows: Sequence[Sequence[tuple[str, int]]], cycle: Fingers) -> int:
    """How often, in rows of (finger, string), a finger of a cycle with the thumb follows that is not the next one."""
    if "p" not in cycle:
        return 0
    steps = set(pairwise((*cycle, cycle[0])))
    return sum((one[0], other[0]) not in steps for row in rows for one, other in pairwise(row))


def _thumb_again(rows: Sequence[Sequence[tuple[str, int]]], cycle: Fingers, reached: int) -> bool:
    """Whether a thumb that should play in turn plays so often twice running, or three times, that there is no turn."""
    if "p" not in cycle or ("p", "p") in set(pairwise((*cycle, cycle[0]))):
        return False
    played = ["".join(finger for finger, _ in row) for row in rows]
    twice = sum(one == other == "p" for row in played for one, other in pairwise(row))
    return twice > MOST_THUMB_AGAIN * reached or any("ppp" in row for row in played)


def letters(text: str) -> Fingers | None:
    """The cycle a pattern such as "p-i-m-i" spells, or None."""
    words = text.split("-")
    if not 1 <= len(words) <= MAX_CYCLE:
        return None
    found = tuple("c" if word in LITTLE else word for word in words)
    return found if all(len(f) == 1 and f in PLUCKING for f in found) else None


def pair(first: str, second: str) -> Setting:
    """Two fingers in turn."""
    both = {first, second}
    if both == {"i", "m"}:
        kind, cue = "strong", say("Listen for two fingers that sound like one.")
    elif "c" in both:
        kind, cue = "little", say("Move the little finger from the knuckle; the others stay loose.")
    elif "p" in both:
        kind, cue = "thumb", say("The hand stays still; thumb and finger pass each other without touching.")
    else:
        kind, cue = "weak", say("Clear before quick: no louder and no faster than the weaker finger can be.")
    return pluck_setting(
        f"{first}-{second}",
        say("{letters} in turn", letters=" ".join((first, second))),
        PAIRS[first + second],
        cue,
        change=cycling((first, second)),
        kind=kind,
        fits=fits_of((first, second)),
    )


def fits_of(fingers: Fingers) -> tuple[str, ...]:
    """A cycle with p is for lines alone: over a bass the thumb is not free."""
    return (LINE,) if "p" in fingers else RUNNING


def cycle(fingers: Fingers) -> Setting:
    """Three fingers or more in turn."""
    name, spaced = "-".join(fingers), " ".join(fingers)
    kind = "little" if "c" in fingers else "cycle"
    if set(fingers) == {"i", "m", "a"} and len(fingers) == 3:
        purpose = say(
            "Three fingers in turn along the line: the ring finger joins the pair that most lines are played with."
        )
        cue = say("Listen for even time and one tone, whichever finger plays.")
    elif "c" in fingers:
        purpose = say(
            "The order {letters}, in which the little finger has a note of its own like the rest.", letters=spaced
        )
        cue = say("The little finger's note is as full as the others; slow down until it is.")
    elif len(fingers) == 4 and len(set(fingers)) == 4:
        purpose = say(
            "The order {letters} of broken chords, on one line, where any unevenness can be heard.", letters=spaced
        )
        if fingers == ("p", "a", "m", "i"):
            purpose = say("The order of tremolo, p a m i, on one line, where any unevenness can be heard.")
        cue = say("The notes are evenly spaced, and the thumb is no heavier than the fingers.")
    elif len(set(fingers)) == 3 and len(fingers) == 3:
        purpose = say("Thumb and two fingers in turn along the line: the thumb has a note of its own like the rest.")
        cue = say("The thumb's note is no heavier than the fingers' notes.")
    else:
        purpose = say("The plucking pattern {letters}, repeated along the line whatever the beat.", letters=spaced)
        cue = say("Listen for equal notes: the line should be heard, not the pattern.")
    label = say("{letters} in turn", letters=spaced)
    return pluck_setting(name, label, purpose, cue, change=cycling(fingers), kind=kind, fits=fits_of(fingers))


def single(finger: str) -> Setting:
    """One finger for every note of the line."""
    return pluck_setting(
        finger,
        say("{finger} alone", finger=finger),
        SINGLES[finger],
        say("After each stroke the finger is loose before it plays again."),
        change=cycling((finger,)),
        kind="single",
        fits=fits_of((finger,)),
    )


def named(fingers: Fingers) -> Setting:
    """The setting for any cycle."""
    if len(set(fingers)) == 1:
        return single(fingers[0])
    return pair(*fingers) if len(fingers) == 2 else cycle(fingers)


_PAIRS = "im mi ma am ia ai pi ip pm mp pa ap ac ca mc cm ic ci pc cp"
"""all twenty ordered pairs of p i m a c: the strong one, the weak ones, the thumb's, the little finger's"""
_LONGER = "ami mia iam ima mai aim pim pmi pma pam pia pai pima piam pmia pmai paim pami imac cami pimac pcami"
"""a-m-i with its turns and reversals, the thumb with two fingers, the six orders of the thumb with three, and the
little finger's"""

CYCLES: tuple[Setting, ...] = tuple(named(tuple(fingers)) for fingers in f"{_PAIRS} {_LONGER}".split())
