"""A variation as the hands meet it: one onset group after another, each with the notes that begin there.

Conventions: notes that are tied from before begin nothing; the notes of a group go from the lowest string up, as the
fingers lie; each grace note is a group of its own, before its main note.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import TypeVar, TypeVarTuple

from engrave.model import Event, Note, Passage, Placement


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound:
    """A note that begins, with the event it stands in."""

    event: Event
    note: Note

    @property
    def placement(self) -> Placement:
        """Where it is stopped. Raises ValueError before the hands are worked out."""
        if self.note.placement is None:
            raise ValueError(f"{self.note.id} has no placement")
        return self.note.placement

    @property
    def plucked(self) -> bool:
        """Whether the plucking hand sounds it."""
        return not self.note.slurred_from


@dataclass(frozen=True, slots=True, kw_only=True)
class OnsetGroup:
    """What begins together."""

    onset: Fraction
    """quarters from the passage's start"""
    bar: int
    grace: bool
    sounds: tuple[Sound, ...]
    """from the lowest string up"""

    plucked: tuple[Sound, ...]
    """what of `sounds` the plucking hand makes, one a string"""

    @property
    def stopped(self) -> list[Sound]:
        """What of `sounds` a finger of the fretting hand stops."""
        return [sound for sound in self.sounds if sound.placement.finger]


_Held = TypeVar("_Held")
_Rest = TypeVarTuple("_Rest")
_Answer = TypeVar("_Answer")
_KEPT = 16
"""answers that are remembered"""


def remembered(work: Callable[[_Held, *_Rest], _Answer]) -> Callable[[_Held, *_Rest], _Answer]:
    """`work` with its last few answers, by identity of its first argument and equality of any others.

    One variation is read by several axes and by its figures, and most studies of a book are on a few lines.
    """
    known: dict[tuple[int, object], tuple[_Held, _Answer]] = {}

    def answer(held: _Held, *rest: *_Rest) -> _Answer:
        key = id(held), rest
        before = known.get(key)
        if before and before[0] is held:
            return before[1]
        found = work(held, *rest)
        while len(known) >= _KEPT:
            known.pop(next(iter(known)), None)
        known[key] = (held, found)
        return found

    return answer


def onset_groups(passage: Passage) -> tuple[OnsetGroup, ...]:
    """Every onset group of the passage in playing order."""
    return _onset_groups(passage.events)


@remembered
def _onset_groups(events: tuple[Event, ...]) -> tuple[OnsetGroup, ...]:
    together: dict[tuple[int, tuple[int, int]], list[Sound]] = {}
    order: list[list[Sound]] = []
    for event in events:
        sounds = [Sound(event=event, note=note) for note in event.notes if not note.tied_back]
        if not sounds:
            continue
        if event.grace:
            order.append(sounds)
            continue
        # a time as two whole numbers is a key for a sixth of what it is as a fraction
        key = (event.bar, event.onset.as_integer_ratio())
        before = together.get(key)
        if before is None:
            together[key] = sounds
            order.append(sounds)
        else:
            before += sounds
    return tuple([_onset_group(sounds) for sounds in order])


def _onset_group(sounds: list[Sound]) -> OnsetGroup:
    first = sounds[0].event
    if len(sounds) > 1:
        sounds.sort(key=lambda sound: (-_string(sound.note), sound.note.pitch.midi))
    plucked = _once_a_string([sound for sound in sounds if sound.plucked])
    return OnsetGroup(onset=first.onset, bar=first.bar, grace=first.grace, sounds=tuple(sounds), plucked=plucked)


def _once_a_string(sounds: list[Sound]) -> tuple[Sound, ...]:
    """Two voices on one note are one stroke: of the one the source letters, else of the upper."""
    if len(sounds) < 2 or not all(_string(sound.note) for sound in sounds):
        return tuple(sounds)
    strings = groupby(sounds, key=lambda sound: _string(sound.note))
    return tuple(min(row, key=lambda s: (not s.note.given.pluck, s.event.voice)) for _, row in strings)


def upper_voice(passage: Passage) -> int:
    """The voice the line is in: the first that sounds."""
    return min([e.voice for e in passage.events if e.notes], default=1)


def voices_sounding(passage: Passage) -> dict[int, set[int]]:
    """Bar → the voices that sound in it."""
    found: dict[int, set[int]] = {}
    for event in passage.events:
        if event.notes:
            found.setdefault(event.bar, set()).add(event.voice)
    return found


def commonest(lengths: list[Fraction]) -> tuple[Fraction, int]:
    """The commonest of some lengths, of equally common ones the shortest, and how often it occurs."""
    counts = Counter([length.as_integer_ratio() for length in lengths])
    often, short = max((count, -Fraction(*length)) for length, count in counts.items())
    return -short, often


def sounding_end(passage: Passage) -> dict[str, Fraction]:
    """Id of each note → when the sound it belongs to ends, ties followed, in quarters from the passage's start."""
    head = heads(passage)
    last = {head[note.id]: event.end for event in passage.events for note in event.notes}
    return {name: last[first] for name, first in head.items()}


def held(passage: Passage) -> tuple[tuple[OnsetGroup, tuple[Sound, ...]], ...]:
    """Every onset group with the sounds that began before it and, as written, still last.

    A pitch that is struck again while it lasts begins anew there; on the same string for what was left of it.
    """
    ends = sounding_end(passage)
    ringing: list[Sound] = []
    found = []
    for group in onset_groups(passage):
        ringing = [s for s in ringing if ends[s.note.id] > group.onset]
        anew = {s.note.pitch.midi: s.note for s in group.sounds}
        for sound in ringing:
            again = anew.get(sound.note.pitch.midi)
            if again and _string(again) == _string(sound.note):
                ends[again.id] = max(ends[again.id], ends[sound.note.id])
        ringing = [s for s in ringing if s.note.pitch.midi not in anew or s.event.onset == group.onset]
        found.append((group, tuple(s for s in ringing if s.event.onset < group.onset)))
        ringing += group.sounds
    return tuple(found)


def _string(note: Note) -> int:
    """The string of a note; 0 where it has no place yet."""
    return note.placement.string if note.placement else 0


def heads(passage: Passage) -> dict[str, str]:
    """Id of each note → id of the note its sound began with: its own, but for tied notes."""
    found: dict[str, str] = {}
    waiting: dict[tuple[int, int], str] = {}
    for event in passage.events:
        for note in event.notes:
            key = (event.voice, note.pitch.midi)
            head = waiting.pop(key, note.id) if note.tied_back else note.id
            found[note.id] = head
            if note.tied_on:
                waiting[key] = head
    return found
