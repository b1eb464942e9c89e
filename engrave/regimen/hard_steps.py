"""What a step from one group to the next costs the hands in the time there is, and why.

Asked are: a crossing against the lie of the hand, one finger twice running, a move along the neck, leaving a string for
its open note, a reach beyond comfort, fingers that are set down. The weights are the house's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product

from engrave.axes.moves import CIRCLED
from engrave.model import PLUCKING, Variation
from engrave.model.said import Said, say
from engrave.model.wording import listed, numeral
from engrave.regimen.held_shapes import HeldShapes, Touch, touch
from engrave.textures.onsets import OnsetGroup, Sound

SHORT = 0.08
"""seconds: shorter times are no harder, they are the same impossible"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What one step from group to group costs."""

    kind: str
    points: float
    clause: Said
    """why, as it stands within a sentence, with its stop"""
    named: tuple[str, ...]
    """ids of the notes the clause speaks of: what does not hold them all does not show it"""
    treats: tuple[tuple[str, ...], ...]
    """how the skills begin, kind and parts, that a page must train beyond the line to treat it"""


@dataclass(frozen=True, slots=True)
class LastStop:
    """Where the fretting hand was last stopping a note."""

    group: OnsetGroup
    opens: int
    """onset groups since then in which only open strings sounded"""


@dataclass(frozen=True, slots=True)
class FrettingHand:
    """What the fretting hand does beyond single notes."""

    shapes: HeldShapes
    places: Mapping[str, int]
    """event → the fret of finger 1, as the page tells it"""


def plucked(before: OnsetGroup, after: OnsetGroup, time: float) -> Iterator[Cost]:
    """The crossing from one leading stroke to the next, or one finger twice."""
    if not (before.plucked and after.plucked):
        return
    one, other = before.plucked[-1], after.plucked[-1]
    if one.note.stroke is None or other.note.stroke is None:
        return
    first, second = one.note.stroke.finger, other.note.stroke.finger
    step = one.placement.string - other.placement.string
    if first == second:
        if first != "p" and len(before.plucked) == len(after.plucked) == 1:
            yield Cost(
                kind="same finger",
                points=0.35 / time,
                clause=say("{finger} plucks twice running.", finger=first),
                named=(one.note.id, other.note.id),
                treats=tuple(("pair", *pair) for other in PLUCKING for pair in ((first, other), (other, first))),
            )
        return
    rises = PLUCKING.index(second) > PLUCKING.index(first)
    if step and rises != (step > 0) and "p" not in (first, second):
        yield Cost(
            kind="crossing",
            points=(0.5 + 0.15 * abs(step)) / time,
            clause=say(
                "from {first} on {here} to {second} on {there} the fingers cross against the way the hand lies.",
                first=first,
                here=_circle(one),
                second=second,
                there=_circle(other),
            ),
            named=(one.note.id, other.note.id),
            treats=(("crossing", "awkward", "treble" if step > 0 else "bass"),),
        )


def stopped(
    last: LastStop | None, after: OnsetGroup, second: float, variation: Variation, hand: FrettingHand
) -> Iterator[Cost]:
    """A move of the fretting hand, a reach, or new places for its fingers."""
    sounds = after.stopped
    if last is None or not sounds:
        return
    lying = last.group.stopped
    here, there = [s.placement for s in sounds], [s.placement for s in lying]
    time = max(SHORT, float(after.onset - last.group.onset) * second)
    move = _move(last, after, hand)
    if move:
        was, now, finger, named = move
        frets = abs(now - was)
        # an open string of the chord before may ring on as well
        opens = last.opens + sum(
            not s.placement.fret and last.group.onset + s.event.duration >= after.onset for s in last.group.sounds
        )
        guide = any(a.string == b.string and a.finger == b.finger for a in there for b in here)
        size = "step" if frets <= 2 else "leap"
        points = (0.12 + 0.1 * frets) * (0.6 if opens else 1.0) * (0.7 if guide else 1.0) / time
        yield Cost(
            kind="shift",
            points=points,
            clause=_goes(finger, was, now, opens) if finger else _moves(was, now, opens),
            named=named,
            treats=(("shift", size, "higher" if now > was else "lower"),),
        )
        return
    # of chords only what sounds on is held; a finger whose string is taken by another has left it
    chords = len(last.group.sounds) > 1 or len(after.sounds) > 1
    taken = {place.string for place in here}
    held = [s for s in lying if s.placement.string not in taken and last.group.onset + s.event.duration > after.onset]
    for low, high in (*product(held if chords else lying, sounds), *combinations(sounds, 2)):
        a, b = low.placement, high.placement
        if a.finger == b.finger or a.position != b.position:
            continue
        apart, limit = variation.reach(a, b)
        if apart > limit:
            yield Cost(
                kind="reach",
                points=(apart / limit - 0.8) / time,
                clause=say(
                    "fingers {low} and {high} reach farther than is comfortable.",
                    low=min(a.finger, b.finger),
                    high=max(a.finger, b.finger),
                ),
                named=(low.note.id, high.note.id),
                treats=(("reach", *sorted((str(a.finger), str(b.finger))), "beyond comfort"),),
            )
            return
    yield from _placed(last.group, after, time, hand.shapes)


def _move(last: LastStop, after: OnsetGroup, hand: FrettingHand) -> tuple[int, int, int, tuple[str, str]] | None:
    """From which fret to which, the finger if it is one that moves, not the hand, and the notes; None for no move.

    The hand moves where the page says so. Where it says nothing, as of a reach out and back, a finger that stops
    another fret is what is seen to move.
    """
    one, other = last.group.stopped[-1], after.stopped[-1]
    was, now = hand.places[one.event.id], hand.places[other.event.id]
    if was != now:
        return was, now, 0, (one.note.id, other.note.id)
    if one.placement.position == other.placement.position:
        return None
    for a, b in product(last.group.stopped, after.stopped):
        if a.placement.finger == b.placement.finger and a.placement.fret != b.placement.fret:
            return a.placement.fret, b.placement.fret, a.placement.finger, (a.note.id, b.note.id)
    return None


def _placed(before: OnsetGroup, after: OnsetGroup, time: float, shapes: HeldShapes) -> Iterator[Cost]:
    """Fingers that are set down: one after another in a line, several for a chord; none that lies there."""
    there, here = before.stopped, after.stopped
    lay, lies = shapes.at(there[0]), shapes.at(here[0])
    lain = shapes.touches[lay] if lay is not None else {touch(s): s.note.id for s in there}
    if lies is not None and lay != lies:
        # a finger that nothing held right before has had time: only those that leave a place for another are pressed
        busy = {finger for _, _, finger in lain} if lay is None or lies == lay + 1 else set()
        new = {at: name for at, name in shapes.touches[lies].items() if at not in lain and at[2] in busy}
        if fingers := _fingers(new):
            clause = _anew(fingers, chord=lies in shapes.chords)
            yield _set_down(clause, 0.03 * sum(fingers) / time, (there[0].note.id, *new.values()), _onto(fingers))
            return
    if len(here) > 1:
        new = {touch(s): s.note.id for s in here if touch(s) not in lain}
        fingers = _fingers(new)
        if len(fingers) > 1:
            clause = say("fingers {fingers} take new places together.", fingers=listed(map(str, fingers)))
            yield _set_down(clause, 0.05 * sum(fingers) / time, (there[0].note.id, *new.values()), _onto(fingers))
    elif len(there) == 1:
        first, second = there[0].placement, here[0].placement
        # a bass and the chord over it are set together
        line = first.string == second.string or len(before.sounds) == len(after.sounds) == 1
        if first.finger != second.finger and line and (lies is None or first.string == second.string):
            clause = say("finger {second} follows finger {first}.", second=second.finger, first=first.finger)
            turn = ("fingers", str(first.finger), str(second.finger))
            points = 0.03 * (first.finger + second.finger) / time
            yield _set_down(clause, points, (there[0].note.id, here[0].note.id), (turn,))


def _set_down(clause: Said, points: float, named: tuple[str, ...], treats: tuple[tuple[str, ...], ...]) -> Cost:
    return Cost(kind="fingers", points=points, clause=clause, named=named, treats=treats)


def _anew(fingers: Sequence[int], *, chord: bool) -> Said:
    """Fingers that leave a place for another: for a chord that is broken, or a bass with what is repeated over it."""
    if len(fingers) > 1:
        said = listed(map(str, fingers))
        if chord:
            return say("for the next chord fingers {fingers} take new places.", fingers=said)
        return say("fingers {fingers} take new places together.", fingers=said)
    if chord:
        return say("for the next chord finger {finger} takes a new place.", finger=fingers[0])
    return say("finger {finger} takes a new place.", finger=fingers[0])


def _onto(fingers: Iterable[int]) -> tuple[tuple[str, ...], ...]:
    """Any finger followed by one of these."""
    return tuple(("fingers", str(before), str(after)) for after in fingers for before in range(1, 5))


def _fingers(touches: Iterable[Touch]) -> list[int]:
    """The fingers of some places, ascending."""
    return sorted({finger for _, _, finger in touches})


def left(before: OnsetGroup, after: OnsetGroup, time: float) -> Iterator[Cost]:
    """A finger that has to leave its string before the open note of it is plucked."""
    stopped = {s.placement.string: s for s in before.stopped}
    for sound in after.sounds:
        lying = stopped.get(sound.placement.string)
        if lying and not sound.placement.finger and sound.plucked:
            yield Cost(
                kind="letting go",
                named=(lying.note.id, sound.note.id),
                treats=(("let go", str(lying.placement.finger)),),
                points=(0.2 + 0.05 * lying.placement.finger) / time,
                clause=say(
                    "finger {finger} must leave {string} before its open note sounds.",
                    finger=lying.placement.finger,
                    string=_circle(sound),
                ),
            )
            return


def _moves(before: int, after: int, opens: int) -> Said:
    """A move of the hand from one position to another, over so many open strings."""
    if opens:
        return say(
            "the hand moves from position {before} to {after}, with an open string to cover it.",
            before=numeral(before),
            after=numeral(after),
        )
    return say(
        "the hand moves from position {before} to {after}, with no open string to cover it.",
        before=numeral(before),
        after=numeral(after),
    )


def _goes(finger: int, before: int, after: int, opens: int) -> Said:
    """A move of one finger from fret to fret, over so many open strings."""
    if opens:
        return say(
            "finger {finger} moves from fret {before} to fret {after}, with an open string to cover it.",
            finger=finger,
            before=before,
            after=after,
        )
    return say(
        "finger {finger} moves from fret {before} to fret {after}, with no open string to cover it.",
        finger=finger,
        before=before,
        after=after,
    )


def _circle(sound: Sound) -> str:
    return CIRCLED[sound.placement.string - 1]
