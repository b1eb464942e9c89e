"""Hard spots: where a page will fail first, why, and the few notes to go round and round there.

Each step from one moment to the next is asked what it costs the hands in the time there is at the fastest tempo the
page prints: a crossing against the lie of the hand, one finger twice running, a move along the neck, leaving a string
for its open note, a reach beyond comfort. What costs most in the least time fails first. The weights are the house's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from engrave.axes.moves import CIRCLED
from engrave.model import PLUCKING, Place, Spot, Trouble, Variation
from engrave.regimen.practice import figure
from engrave.textures.onsets import OnsetGroup as Moment
from engrave.textures.onsets import Sound
from engrave.textures.onsets import onset_groups as moments

_LOOP = (1, 2)
"""moments of a loop before the step and from it on: four in all at most"""
_SHORT = 0.08
"""seconds: shorter times are no harder, they are the same impossible"""
_SECOND = 0.5
"""share of the points of the hardest place from which a second one is worth a word"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cost:
    """What one step from moment to moment costs."""

    kind: str
    points: float
    reason: str


@dataclass(frozen=True, slots=True)
class _Hand:
    """Where the fretting hand was last stopping a note."""

    moment: Moment
    opens: int
    """moments since then in which only open strings sounded"""


def spots(variation: Variation, *, tempo: int, beat: Fraction, line: Mapping[str, str]) -> tuple[Spot, ...]:
    """The one or two places that fail first at `tempo` beats of `beat` quarters a minute, the hardest first.

    `line` holds the ids of the notes of the line as written.
    """
    row = moments(variation.passage)
    second = 60 / float(tempo * beat)
    found: list[tuple[float, int, list[_Cost]]] = []
    last: _Hand | None = None
    for at, (before, after) in enumerate(pairwise(row), start=1):
        if any(s.placement.finger for s in before.sounds):
            last = _Hand(before, 0)
        elif last:
            last = _Hand(last.moment, last.opens + 1)
        time = max(_SHORT, float(after.onset - before.onset) * second)
        costs = [*_plucked(before, after, time), *_stopped(last, after, second, variation), *_left(before, after, time)]
        if costs:
            found.append((sum(cost.points for cost in costs), at, costs))
    found.sort(key=lambda one: (-one[0], one[1]))
    taken: list[tuple[float, int, list[_Cost]]] = []
    for one in found:
        if len(taken) == int(figure("spots", "page")) or (taken and one[0] < _SECOND * taken[0][0]):
            break
        # the same thing once more tells nothing: another reason, or no second place
        same = {_kinds(other[2]) for other in taken}
        if all(abs(one[1] - other[1]) > sum(_LOOP) for other in taken) and _kinds(one[2]) not in same:
            taken.append(one)
    return tuple(_spot(one, row, variation, line) for one in taken)


def _kinds(costs: Sequence[_Cost]) -> str:
    return max(costs, key=lambda cost: cost.points).kind


def _spot(
    place: tuple[float, int, list[_Cost]], row: Sequence[Moment], variation: Variation, line: Mapping[str, str]
) -> Spot:
    points, at, costs = place
    # the step itself, the moment after it, and one before
    loop = row[max(0, at - 2) : at + _LOOP[1]]
    notes = tuple(sound.note.id for moment in loop for sound in moment.sounds)
    middle = row[at].sounds[0].note.id
    worst = max(costs, key=lambda cost: cost.points)
    return Spot(
        kind=worst.kind,
        start=_where(variation, loop[0]),
        end=_where(variation, loop[-1]),
        notes=notes,
        source=_origin(middle, line),
        reason=worst.reason,
        score=round(points, 2),
    )


def _where(variation: Variation, moment: Moment) -> str:
    place = variation.passage.place(moment.sounds[0].event)
    return str(Place(bar=place.bar, beat=place.beat))


def _origin(note: str, line: Mapping[str, str]) -> str:
    """The note of the line that a note was made from: copies carry its id before a colon."""
    head = note.split(":", 1)[0]
    return note if note in line else head if head in line else ""


def _leading(moment: Moment) -> Sound | None:
    return moment.plucked[-1] if moment.plucked else None


def _plucked(before: Moment, after: Moment, time: float) -> Iterator[_Cost]:
    """The crossing from one leading stroke to the next, or one finger twice."""
    one, other = _leading(before), _leading(after)
    if one is None or other is None or one.note.stroke is None or other.note.stroke is None:
        return
    first, second = one.note.stroke.finger, other.note.stroke.finger
    step = one.placement.string - other.placement.string
    if first == second:
        if first != "p" and len(before.plucked) == len(after.plucked) == 1:
            yield _Cost(kind="same finger", points=0.35 / time, reason=f"{first} plucks twice running.")
        return
    rises = PLUCKING.index(second) > PLUCKING.index(first)
    if step and rises != (step > 0) and "p" not in (first, second):
        yield _Cost(
            kind="crossing",
            points=(0.5 + 0.15 * abs(step)) / time,
            reason=f"From {first} on {_circle(one)} to {second} on {_circle(other)} the fingers cross against the way "
            "the hand lies.",
        )


def _stopped(last: _Hand | None, after: Moment, second: float, variation: Variation) -> Iterator[_Cost]:
    """A move of the fretting hand, or a reach."""
    here = [s.placement for s in after.sounds if s.placement.finger]
    if last is None or not here:
        return
    there = [s.placement for s in last.moment.sounds if s.placement.finger]
    time = max(_SHORT, float(after.onset - last.moment.onset) * second)
    frets = abs(here[-1].position - there[-1].position)
    if frets:
        over = ", with an open string to cover it" if last.opens else ", with no open string to cover it"
        guide = any(a.string == b.string and a.finger == b.finger for a in there for b in here)
        points = (0.12 + 0.1 * frets) * (0.6 if last.opens else 1.0) * (0.7 if guide else 1.0) / time
        yield _Cost(
            kind="shift",
            points=points,
            reason=f"The hand moves from position {_roman(there[-1].position)} to {_roman(here[-1].position)}{over}.",
        )
        return
    mm, comfort = variation.instrument.mm, variation.hand.comfortable
    for a in there:
        for b in here:
            if a.finger == b.finger:
                continue
            apart = abs(mm(a.fret) - mm(b.fret))
            limit = comfort[min(a.finger, b.finger), max(a.finger, b.finger)]
            if apart > limit:
                yield _Cost(
                    kind="reach",
                    points=(apart / limit - 0.8) / time,
                    reason=f"Fingers {min(a.finger, b.finger)} and {max(a.finger, b.finger)} reach farther than is "
                    "comfortable.",
                )
                return
    turns = [(a.finger, b.finger) for a in there for b in here if a.finger != b.finger]
    if turns:
        first, second = max(turns, key=sum)
        yield _Cost(
            kind="fingers",
            points=0.03 * (first + second) / time,
            reason=f"Finger {second} follows finger {first}.",
        )


def _left(before: Moment, after: Moment, time: float) -> Iterator[_Cost]:
    """A finger that has to leave its string before the open note of it is plucked."""
    stopped = {s.placement.string: s.placement.finger for s in before.sounds if s.placement.finger}
    for sound in after.sounds:
        finger = stopped.get(sound.placement.string)
        if finger and not sound.placement.finger and sound.plucked:
            yield _Cost(
                kind="letting go",
                points=(0.2 + 0.05 * finger) / time,
                reason=f"Finger {finger} must leave {_circle(sound)} before its open note sounds.",
            )
            return


def _roman(position: int) -> str:
    """A position as players write it."""
    tens, ones = divmod(position, 10)
    return "X" * tens + ("", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX")[ones]


def _circle(sound: Sound) -> str:
    return CIRCLED[sound.placement.string - 1]


TREATS = {
    "crossing": "crossing",
    "shift": "shift",
    "letting go": "let go",
    "reach": "reach",
    "same finger": "pair",
    "fingers": "fingers",
}
"""kind of hard spot → kind of atom that a page must train beyond the line to treat it"""


def troubles(
    line: Variation, found: Sequence[tuple[Spot, ...]], treat: Callable[[str], Sequence[int]]
) -> tuple[Trouble, ...]:
    """Hard places of the line over all steps, the hardest first; `treat` names the steps that train a kind of atom."""
    where = {note.id: event for event in line.passage.events for note in event.notes}
    at: dict[str, list[tuple[int, Spot]]] = {}
    for step, several in enumerate(found):
        for spot in several:
            if spot.source in where:
                found_at = line.passage.place(where[spot.source])
                at.setdefault(str(Place(bar=found_at.bar, beat=found_at.beat)), []).append((step, spot))
    made = []
    for place, rows in at.items():
        worst = max((spot for _, spot in rows), key=lambda spot: spot.score)
        made.append(
            Trouble(
                place=place,
                reason=worst.reason,
                steps=tuple(dict.fromkeys(step for step, _ in rows)),
                treated=tuple(treat(TREATS[worst.kind])),
                score=round(sum(spot.score for _, spot in rows), 2),
            )
        )
    made.sort(key=lambda trouble: (-trouble.score, trouble.place))
    return tuple(made[: int(figure("spots", "book"))])
