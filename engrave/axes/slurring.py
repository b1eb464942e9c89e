"""Finding and choosing slurs: every pair of notes the fretting hand could slur, and which of them a setting takes.

A note can be slurred to the one before it in its voice where both lie on one string, nothing else sounds on that string
between, the first still sounds, and the fingers allow it (engrave.fretting.can_slur). What is slurred is plucked no
more.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from engrave.axes.cleanup import playable
from engrave.axes.retiming import fresh
from engrave.axes.setting import unfit
from engrave.model import Event, Note, Passage, Placement, Value, Variation, replace_unchecked, with_notes
from engrave.model.said import say
from engrave.model.texture import LAYERS
from engrave.textures import stretches
from engrave.textures.onsets import onset_groups


@dataclass(frozen=True, slots=True, kw_only=True)
class NotePair:
    """Two neighbouring notes the hand could slur."""

    before: Note
    note: Note

    @property
    def pull(self) -> bool:
        """Whether it falls: a pull-off, else a hammer-on."""
        return self._place(self.before).fret > self._place(self.note).fret

    @property
    def fingers(self) -> tuple[int, int]:
        """Fingers, first to second; 0 is the open string."""
        return self._place(self.before).finger, self._place(self.note).finger

    @property
    def acting(self) -> int:
        """The finger that makes the second note sound."""
        return self.fingers[0] if self.pull else self.fingers[1]

    @staticmethod
    def _place(note: Note) -> Placement:
        assert note.placement is not None
        return note.placement


Choose = Callable[[tuple[NotePair, ...]], list[NotePair]]
"""which of the possible pairs, in playing order, to slur"""


def note_pairs(variation: Variation) -> tuple[NotePair, ...]:
    """Every pair of neighbouring notes that the fretting hand could slur, in playing order."""
    passage = variation.passage
    between = _busy(passage)
    low = {name for span in stretches(variation) if span.kind == LAYERS for name in span.basses}
    found: list[NotePair] = []
    before: dict[int, Event] = {}
    for event in passage.events:
        prior = before.get(event.voice)
        before[event.voice] = event
        if prior is None or len(event.notes) != 1 or not (prior.end == event.onset or event.grace or prior.grace):
            continue
        note = event.notes[0]
        if note.tied_back or note.slide or note.placement is None:
            continue
        string = note.placement.string
        # of a chord the top note leads on: what lies under it is another layer, as is a bass under a melody
        for other in prior.notes[-1:]:
            if (other.id in low) != (note.id in low):
                continue
            if other.placement and other.placement.string == string and not (other.muted or note.muted):
                free = between(string, prior.onset, event.onset)
                if free and playable(variation, other, note):
                    found.append(NotePair(before=other, note=note))
    return tuple(found)


def _busy(passage: Passage) -> Callable[[int, Fraction, Fraction], bool]:
    """Whether a string is left alone between two times, ends not counted."""
    starts: dict[int, list[Fraction]] = {}
    for group in onset_groups(passage):
        for sound in group.sounds:
            starts.setdefault(sound.placement.string, []).append(group.onset)

    def alone(string: int, start: Fraction, end: Fraction) -> bool:
        times = starts.get(string, [])
        return bisect_right(times, start) == bisect_left(times, end)

    return alone


def slurred(variation: Variation, chosen: list[NotePair]) -> Variation:
    """`variation` with these pairs slurred besides those it has."""
    changed = {
        pair.note.id: replace_unchecked(pair.note, slurred_from=pair.before.id, stroke=None, slide=False)
        for pair in chosen
    }
    return replace(variation, passage=with_notes(variation.passage, changed))


def slurring(variation: Variation, choose: Choose, empty: str) -> Variation:
    """Slurs what `choose` takes of the pairs not yet slurred; raises UnfitError with `empty` where that is none."""
    chosen = choose(tuple(pair for pair in note_pairs(variation) if not pair.note.slurred_from))
    chosen = _one_at_a_time(variation.passage, chosen)
    if not chosen:
        raise unfit(empty)
    return slurred(variation, chosen)


def _one_at_a_time(passage: Passage, chosen: list[NotePair]) -> list[NotePair]:
    """Of notes that begin together the first voice's is slurred: one slur at a time, and something is still plucked."""
    events = {note.id: event for event in passage.events for note in event.notes}
    busy = {events[n.id].onset for n in passage.notes if n.slurred_from and not events[n.id].grace}
    first: dict[Fraction, int] = {}
    for pair in chosen:
        event = events[pair.note.id]
        first[event.onset] = min(event.voice, first.get(event.onset, event.voice))

    def alone(event: Event) -> bool:
        return event.grace or (event.onset not in busy and event.voice == first[event.onset])

    return [pair for pair in chosen if alone(events[pair.note.id])]


def none(variation: Variation) -> Variation:
    """Every note plucked."""
    changed = {
        n.id: replace_unchecked(n, slurred_from="", slide=False) for n in variation.passage.notes if n.slurred_from
    }
    return replace(variation, passage=with_notes(variation.passage, changed)) if changed else variation


def where(wanted: Callable[[NotePair], bool]) -> Choose:
    """Takes every pair that is `wanted`."""
    return lambda possible: [pair for pair in possible if wanted(pair)]


def twos(possible: tuple[NotePair, ...]) -> list[NotePair]:
    """One stroke, one slur: no slur starts from a slurred note."""
    chosen: list[NotePair] = []
    slurred_to: set[str] = set()
    for pair in possible:
        if pair.before.id not in slurred_to:
            chosen.append(pair)
            slurred_to.add(pair.note.id)
    return chosen


def threes(possible: tuple[NotePair, ...]) -> list[NotePair]:
    """One stroke for three notes: groups of two pairs that share no note."""
    return _whole_runs(possible, lambda _: True)


def up_and_down(possible: tuple[NotePair, ...]) -> list[NotePair]:
    """Groups of three notes that go up and back, or down and back."""
    return _whole_runs(possible, lambda run: run[0].pull is not run[1].pull)


def _whole_runs(possible: tuple[NotePair, ...], wanted: Callable[[tuple[NotePair, NotePair]], bool]) -> list[NotePair]:
    """Groups of three notes, two pairs each, that share no note."""
    chosen: list[NotePair] = []
    used: set[str] = set()
    by_start = {pair.before.id: pair for pair in possible}
    for first in possible:
        second = by_start.get(first.note.id)
        if second is None or not wanted((first, second)):
            continue
        ids = {first.before.id, first.note.id, second.note.id}
        if not ids & used:
            chosen += [first, second]
            used |= ids
    return chosen


def open_before(variation: Variation) -> Variation:
    """Pull-offs to the open string, each fretted note giving its first half to the open string, plucked."""
    pulls = [pair for pair in note_pairs(variation) if pair.pull and not pair.fingers[1]]
    split = {pair.before.id: pair for pair in pulls if not pair.before.slurred_from and not pair.before.tied_back}
    made: list[Event] = []
    slurs: list[NotePair] = []
    taken = {e.id for e in variation.passage.events} | {n.id for n in variation.passage.notes}
    for event in variation.passage.events:
        pair = split.get(event.notes[0].id) if len(event.notes) == 1 else None
        halved = _halved(event) if pair and not event.grace else None
        if pair is None or halved is None:
            made.append(event)
            continue
        slurs.append(pair)
        string = pair.note.placement
        assert string is not None
        extra = replace(
            pair.note,
            id=fresh(taken, f"{event.notes[0].id}-open"),
            tied_on=False,
            stroke=None,
            slurred_from="",
            placement=replace(string, position=event.notes[0].placement.position if event.notes[0].placement else 1),
        )
        made.append(replace(halved, id=fresh(taken, f"{event.id}-open"), notes=(extra,)))
        made.append(replace(halved, onset=event.onset + halved.duration, marks=()))
    if not slurs:
        raise unfit(say("no fretted note falls to the open string under it: there is nothing to pull off"))
    return slurred(replace(variation, passage=replace(variation.passage, events=tuple(made))), slurs)


def _halved(event: Event) -> Event | None:
    if event.value.kind >= 128:
        return None
    kind = event.value.kind * 2 or 1
    return replace(event, value=Value(kind=kind, dots=event.value.dots), duration=event.duration / 2)
