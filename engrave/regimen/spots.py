"""Hard spots: where a page will fail first, why, and the few notes to go round and round there.

What costs most in the least time (`hard_steps.py`), at the fastest tempo the page prints, fails first. A loop holds
something of what its study is about, and stays in one texture: a step from a line into a chord, or into the closing
chord, is no place to go round and round, and is named only where a page has no other.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import chain, pairwise

from engrave.model import Passage, Spot, Trouble, Variation
from engrave.model.hand_signs import told_places
from engrave.model.texture import BROKEN, TREMOLO, Texture
from engrave.model.wording import sentence
from engrave.regimen.hard_steps import SHORT, Cost, FrettingHand, LastStop, left, plucked, stopped
from engrave.regimen.held_shapes import shapes_held
from engrave.regimen.practice import figure
from engrave.regimen.spot_places import place_of, stretch_of
from engrave.regimen.subjects import subject
from engrave.textures.lookup import kind_of, stretches
from engrave.textures.onsets import OnsetGroup, onset_groups

_LOOP = 4
"""onset groups of a loop: one before the step, the two of the step, one after it, where the texture has them"""
_LEAST, _ASIDE = 3, 5
"""onset groups that are enough, and by how many a loop reaches beyond its step (house figures)"""
_MOST = 16
"""onset groups beyond which nobody goes round and round (house figure)"""
_SECOND = 0.5
"""share of the points of the hardest place from which a second one is worth a word"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _HardStep:
    """A step that costs the hands something."""

    at: int
    """the onset group it leads to"""
    points: float
    worst: Cost


def spots(variation: Variation, *, tempo: int, beat: Fraction, line: Collection[str]) -> tuple[Spot, ...]:
    """The one or two places that fail first at `tempo` beats of `beat` quarters a minute, the hardest first.

    `line` holds the ids of the notes of the line as written.
    """
    row = onset_groups(variation.passage)
    source = _LoopSource(
        row=row,
        spans=_spans(row, variation),
        figures=_figures(row, variation),
        bound=_bound(row),
        beats=_beats(row, variation),
    )
    found = [
        _HardStep(at=at, points=sum(cost.points for cost in costs), worst=max(costs, key=lambda cost: cost.points))
        for at, costs in _costs(row, variation, 60 / float(tempo * beat))
        if costs
    ]
    found.sort(key=lambda one: (-one.points, one.at))
    about = subject(variation)
    # to find a loop takes longer than all else: none is sought for places that come too late
    around = cache(source.around)

    def short(one: _HardStep) -> bool:
        return len(around(one)) <= _MOST

    def works(one: _HardStep) -> bool:
        return short(one) and not about.isdisjoint(_ids(around(one)))

    def nested(one: _HardStep, other: _HardStep) -> bool:
        first, second = ({group.onset for group in around(place)} for place in (one, other))
        return first <= second or second <= first

    even = [one for one in found if source.even(one)]
    # of a study that is about every note alike each loop holds something
    ways = (*(((works, even),) if about else ()), (short, even))
    good, pool = next(((good, pool) for good, pool in ways if any(map(good, pool))), (short, found))
    taken: list[_HardStep] = []
    for one in pool:
        if len(taken) == int(figure("spots", "page")) or (taken and one.points < _SECOND * taken[0].points):
            break
        # the same thing once more tells nothing: another reason, or no second place
        new = all(abs(one.at - other.at) >= _LOOP and one.worst.kind != other.worst.kind for other in taken)
        if new and good(one) and not any(nested(one, other) for other in taken):
            taken.append(one)
    return tuple(_spot(one, around(one), row, variation.passage, line) for one in taken)


def felt(variation: Variation, *, tempo: int, beat: Fraction, line: Collection[str]) -> frozenset[tuple[str, str]]:
    """Everything that costs the hands something, first or not: (note of the line, reason); as `spots` has it."""
    row = onset_groups(variation.passage)
    return frozenset(
        (_origin(_where(cost, at, row), line), sentence(cost.clause))
        for at, costs in _costs(row, variation, 60 / float(tempo * beat))
        for cost in costs
    )


def _costs(row: Sequence[OnsetGroup], variation: Variation, second: float) -> Iterator[tuple[int, list[Cost]]]:
    """What the step to each group costs, where a quarter lasts `second` seconds."""
    hand = FrettingHand(shapes_held(variation), told_places(variation.passage.events))
    last: LastStop | None = None
    for at, (before, after) in enumerate(pairwise(row), start=1):
        if before.stopped:
            last = LastStop(before, 0)
        elif last:
            last = LastStop(last.group, last.opens + 1)
        time = max(SHORT, float(after.onset - before.onset) * second)
        costs = [
            *plucked(before, after, time),
            *stopped(last, after, second, variation, hand),
            *left(before, after, time),
        ]
        yield at, costs


def _spans(row: Sequence[OnsetGroup], variation: Variation) -> list[int]:
    """For each group the number of its stretch of one texture; a grace note counts with what is before it."""
    where = kind_of(variation)
    found: list[int] = []
    last: Texture | None = None
    for group in row:
        span = where.get(group.sounds[0].note.id, last)
        found.append((found[-1] if found else 0) + (span is not last))
        last = span
    return found


def _figures(row: Sequence[OnsetGroup], variation: Variation) -> list[tuple[int, int]]:
    """For each group the first and the last group of its broken chord or its tremolo figure; itself in a line."""
    figure = {
        name: (at, number)
        for at, span in enumerate(stretches(variation))
        if span.kind in (BROKEN, TREMOLO)
        for number, names in enumerate(span.figures)
        for name in names
    }
    of = [figure.get(group.sounds[0].note.id, at) for at, group in enumerate(row)]
    first = {key: at for at, key in reversed([*enumerate(of)])}
    last = {key: at for at, key in enumerate(of)}
    return [(first[key], last[key]) for key in of]


def _beats(row: Sequence[OnsetGroup], variation: Variation) -> frozenset[int]:
    """The groups that begin on a beat."""
    bars = variation.passage.bars
    since = ((at, bars[g.bar], g.onset - bars[g.bar].onset + bars[g.bar].offset) for at, g in enumerate(row))
    return frozenset(at for at, bar, onset in since if onset % bar.metre.beat == 0)


def _bound(row: Sequence[OnsetGroup]) -> frozenset[int]:
    """The groups before which no loop begins or ends: a slur leads to them from before, or over them, or a tuplet."""
    where = {sound.note.id: index for index, group in enumerate(row) for sound in group.sounds}
    found: set[int] = set()
    for index, group in enumerate(row):
        if index and _tuplets(row[index - 1]) & _tuplets(group):
            found.add(index)
        for sound in group.sounds:
            if sound.note.slurred_from:
                # a slur out of a note that is tied on leaves its last piece: the group before is near enough
                found.update(range(where.get(sound.note.slurred_from, index - 1) + 1, index + 1))
    return frozenset(found)


def _tuplets(group: OnsetGroup) -> set[int]:
    """The outermost tuplets that a group stands in."""
    return {sound.event.tuplets[0].id for sound in group.sounds if sound.event.tuplets}


@dataclass(frozen=True, slots=True, kw_only=True)
class _LoopSource:
    """Where loops are cut from: the groups, the stretch of one texture each lies in, and the figure."""

    row: Sequence[OnsetGroup]
    spans: Sequence[int]
    figures: Sequence[tuple[int, int]]
    bound: frozenset[int]
    """groups that a slur or a tuplet holds to those before them"""
    beats: frozenset[int]
    """groups that begin on a beat"""

    def step(self, place: _HardStep) -> tuple[int, int]:
        """The first and the last group that a step, or what is told of it, needs."""
        # what is named lies near: nobody looks for it in a whole piece
        near = range(max(0, place.at - _MOST), min(len(self.row), place.at + _MOST))
        there = [index for index in near if any(s.note.id in place.worst.named for s in self.row[index].sounds)]
        return min([place.at - 1, *there]), max([place.at, *there])

    def even(self, place: _HardStep) -> bool:
        """Whether the step and all that is told of it lie in one texture."""
        first, last = self.step(place)
        return self.spans[first] == self.spans[last]

    def around(self, place: _HardStep) -> Sequence[OnsetGroup]:
        """The loop about a step, with every note that is named, in its texture as far as it has them.

        Whole figures where there are some; else four onset groups, one before the step and one after it, or a few more
        or one less: it cuts no slur, and fingers that take turns take turns where it begins again.
        """
        first, last = self.step(place)
        if self.spans[first] != self.spans[last]:
            return self.row[first : last + 1]
        low, _ = self.figures[first]
        high = max(end for _, end in self.figures[first : last + 1])
        if (low, high) != (first, last) or self.figures[first][0] != self.figures[first][1]:
            ways = [self._whole(*way) for way in ((low, high), (low, last), (first, last))]
            return next((way for way in ways if len(way) <= _MOST), ways[-1])
        span = self.spans[first]
        least, most = self.spans.index(span), len(self.spans) - self.spans[::-1].index(span)
        start = max(least, min(first - 1, most - _LOOP))
        end = max(last, min(most, start + _LOOP) - 1)
        starts, ends = range(max(least, first - _ASIDE), first + 1), range(last, min(most, last + _ASIDE + 1))
        low, high = min(
            ((one, other) for one in starts for other in ends if other - one + 1 >= min(_LEAST, end - start + 1)),
            key=lambda way: (*self._faults(*way), abs(way[0] - start) + abs(way[1] - end), not self._goes_on(*way)),
        )
        return self._whole(low, high)

    def _whole(self, first: int, last: int) -> Sequence[OnsetGroup]:
        """Groups from the first to the last, with the rest of slurs that they would cut."""
        while first in self.bound:
            first -= 1
        while last + 1 in self.bound:
            last += 1
        return self.row[first : last + 1]

    def _faults(self, first: int, last: int) -> tuple[bool, bool, bool]:
        """Whether a loop cuts a slur, asks one finger twice going round where within it none plucks so, or is off beat.

        From within a beat a dotted pair would be turned round.
        """
        plucked = [fingers for group in self.row[first : last + 1] if (fingers := _fingers(group))]
        turns = len(plucked) > 1 and all(one != other for one, other in pairwise(plucked))
        cut = first in self.bound or last + 1 in self.bound
        return cut, turns and plucked[0] == plucked[-1], first not in self.beats

    def _goes_on(self, first: int, last: int) -> bool:
        """Whether the note behind a loop is plucked as its first one is: its order of fingers goes on round."""
        return last + 1 < len(self.row) and _fingers(self.row[first]) == _fingers(self.row[last + 1])


def _fingers(group: OnsetGroup) -> frozenset[str]:
    """Who plucks of a group."""
    return frozenset(s.note.stroke.finger for s in group.plucked if s.note.stroke and s.note.stroke.finger)


def _ids(groups: Sequence[OnsetGroup]) -> tuple[str, ...]:
    return tuple(sound.note.id for group in groups for sound in group.sounds)


def _spot(
    place: _HardStep, loop: Sequence[OnsetGroup], row: Sequence[OnsetGroup], passage: Passage, line: Collection[str]
) -> Spot:
    worst = place.worst
    return Spot(
        kind=worst.kind,
        stretch=stretch_of(passage, loop[0].sounds[0].event, loop[-1].sounds[0].event),
        notes=_ids(loop),
        named=worst.named,
        source=_origin(_where(worst, place.at, row), line),
        clause=worst.clause,
        treats=worst.treats,
        score=round(place.points, 2),
    )


def _where(cost: Cost, at: int, row: Sequence[OnsetGroup]) -> str:
    """The note at which what is told of the step to group `at` is felt: the first of those that new fingers stop."""
    step = row[at].sounds[0].note.id
    new = set(cost.named[1:]) if cost.kind == "fingers" else set()
    near = (sound.note.id for group in row[at : at + _MOST] for sound in group.sounds)
    return next((note for note in near if note in new), step)


def _origin(note: str, line: Collection[str]) -> str:
    """The note of the line that a note was made from: copies carry its id before a colon."""
    head = note.split(":", 1)[0]
    return note if note in line else head if head in line else ""


def troubles(
    line: Variation,
    found: Sequence[tuple[Spot, ...]],
    all_felt: Sequence[Collection[tuple[str, str]]],
    treat: Callable[[Spot, Collection[int]], Sequence[int]],
) -> tuple[Trouble, ...]:
    """Hard places of the line over all steps, from the spots of each, the hardest first.

    A place is hard in every step in which the same is felt there (`felt`), first or not; `treat` names the steps that
    train what is felt there, without those.
    """
    where = {note.id: event for event in line.passage.events for note in event.notes}
    # what is hard at a place differs from page to page: each reason stands for those alone of which it is true
    at: dict[tuple[str, str], list[Spot]] = {}
    for spot in chain.from_iterable(found):
        if spot.source in where:
            at.setdefault((spot.source, spot.reason), []).append(spot)
    made = []
    for (source, reason), rows in at.items():
        hard = tuple(step for step, there in enumerate(all_felt) if (source, reason) in there)
        # a page that loops the same move, if from another note of it, does not treat it
        looped = {step for step, several in enumerate(found) if any(spot.reason == reason for spot in several)}
        made.append(
            Trouble(
                place=place_of(line.passage, where[source]),
                reason=reason,
                steps=hard,
                treated=tuple(treat(rows[0], {*hard, *looped})),
                score=round(sum(spot.score for spot in rows), 2),
            )
        )
    return tuple(sorted(made, key=lambda trouble: (-trouble.score, trouble.place)))
