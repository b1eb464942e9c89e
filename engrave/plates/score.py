"""What the guitar layer asks of the music again and again: notes by id, events in order, the runs of slurs."""

from __future__ import annotations

from dataclasses import dataclass, field

from engrave.model import Event, Marks, Note, Passage


@dataclass(slots=True)
class Score:
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

    def below(self, event: Event) -> bool:
        """Whether an event's marks go below the staff: those of the lower voices."""
        return self.several and event.voice > 1

    def on(self, first: int, last: int) -> list[Event]:
        """Events of bars first to last, in order."""
        return [event for event in self.events if first <= event.bar <= last]


def slur_runs(score: Score) -> list[tuple[str, ...]]:
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
