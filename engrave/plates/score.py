"""What the guitar layer asks of the music again and again: notes by id, events in order, the runs of slurs."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field
from fractions import Fraction

from engrave.model import Event, Marks, Note, Passage
from engrave.plates.mei import beams


@dataclass(slots=True)
class IndexedScore:
    """A passage with its look-ups."""

    passage: Passage
    marks: Marks
    events: tuple[Event, ...] = field(init=False)
    """in order of time, grace notes before their main event, voice after voice"""
    event_of: dict[str, Event] = field(init=False)
    """note or event id → event"""
    notes: dict[str, Note] = field(init=False)
    several: bool = field(init=False)
    """whether the passage has more than one voice: marks then keep to their own side"""
    rank: dict[str, int] = field(init=False)
    """event id → rank of its time, even for a grace note, odd for others: events at one time share it.

    Whole numbers, because slurs ask for all events between two times: with Fractions that was a fifth of a plate.
    """
    _voices: dict[int, tuple[list[int], list[Event]]] = field(init=False)
    """voice → ranks of its events, and these"""
    _on: dict[tuple[int, int], list[Event]] = field(init=False)
    _beams: dict[tuple[int, int], list[tuple[int, int]]] = field(init=False)

    def __post_init__(self) -> None:
        self.events = tuple(sorted(self.passage.events, key=lambda e: (e.onset, not e.grace, e.voice)))
        self.event_of = {}
        self.notes = {}
        for event in self.events:
            self.event_of[event.id] = event
            for note in event.notes:
                self.event_of[note.id] = event
                self.notes[note.id] = note
        sounding = {event.voice for event in self.events if not event.space}
        self.several = len(sounding) > 1 or max(sounding, default=1) > 1
        self.rank, self._voices, self._on, self._beams = {}, {}, {}, {}
        rank, now = -2, Fraction(-1)
        for event in self.events:
            if event.onset != now:
                rank, now = rank + 2, event.onset
            self.rank[event.id] = rank + (not event.grace)
            ranks, mine = self._voices.setdefault(event.voice, ([], []))
            ranks.append(self.rank[event.id])
            mine.append(event)

    def below(self, event: Event) -> bool:
        """Whether an event's marks go below the staff: those of the lower voices."""
        return self.several and event.voice > 1

    def on(self, first: int, last: int) -> list[Event]:
        """Events of bars first to last, in order."""
        if (first, last) not in self._on:
            # each layer of marks asks for the events of its system
            self._on[first, last] = [event for event in self.events if first <= event.bar <= last]
        return self._on[first, last]

    def between(self, first: Event, last: Event) -> list[Event]:
        """Events of the voice of `first` from its time to that of `last`."""
        ranks, mine = self._voices[first.voice]
        return mine[bisect_left(ranks, self.rank[first.id]) : bisect_right(ranks, self.rank[last.id])]

    def beamed(self, bar: int, voice: int) -> tuple[list[Event], list[tuple[int, int]]]:
        """Events of one voice in one bar, and the runs of them that share a beam."""
        here = [event for event in self.on(bar, bar) if event.voice == voice]
        if (bar, voice) not in self._beams:
            self._beams[bar, voice] = beams(self.passage.bars[bar], here)
        return here, self._beams[bar, voice]


def slur_runs(score: IndexedScore) -> list[tuple[str, ...]]:
    """Runs of notes the fretting hand sounds one from the other, as note ids; slides belong to them."""
    after: dict[str, str] = {}
    for note in score.notes.values():
        if note.slurred_from in score.notes:
            after.setdefault(note.slurred_from, note.id)
    runs: list[tuple[str, ...]] = []
    taken = set(after.values())
    for start in after:
        if start in taken:
            continue
        run = [start]
        while run[-1] in after:
            run.append(after[run[-1]])
        runs.append(tuple(run))
    return runs
