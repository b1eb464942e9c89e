"""Where the fretting hand goes: the step from a Passage to its first Variation."""

from __future__ import annotations

from dataclasses import replace

from engrave.fretting.candidates import FREE, Limits
from engrave.fretting.engine import Task, prepared
from engrave.fretting.search import Path, Placed, cheapest
from engrave.fretting.slurs import resolved
from engrave.fretting.taste import NEUTRAL, Taste
from engrave.fretting.tones import Tone
from engrave.fretting.weights import Weights
from engrave.model import Event, Hand, Instrument, Note, Passage, Placement, Variation, with_notes


def fret(
    passage: Passage,
    instrument: Instrument,
    hand: Hand,
    *,
    taste: Taste = NEUTRAL,
    limits: Limits = FREE,
    weights: Weights | None = None,
) -> Variation:
    """The passage with a placement on every note: the cheapest fingering for this hand, by an exact search.

    Marks of the source are law. Curves the hand can play become Note.slurred_from, the others stay in Passage.slurs.
    Notices say what had to give way. Raises UnplayableError for notes outside the instrument and for what no such hand
    can stop.
    """
    task = prepared(passage, instrument, hand, limits=limits, taste=taste, weights=weights)
    return variation_of(task, cheapest(task.lattice, task.costs))


def variation_of(task: Task, path: Path) -> Variation:
    """A task's passage with one fingering written into it."""
    barres = _barres(task, path)
    owner = {name: index for index, tone in enumerate(task.tones) for name in tone.ids}
    changed: dict[str, Note] = {}
    for note in task.passage.notes:
        index = owner[note.id]
        changed[note.id] = replace(note, placement=_placement(path.placed[index], barres.get(index, "")))
    placed = with_notes(task.passage, changed)
    final, notices = resolved(placed, instrument=task.instrument, hand=task.hand)
    return Variation(
        passage=final,
        instrument=task.instrument,
        hand=task.hand,
        notices=(*task.notices, *notices),
    )


def _placement(placed: Placed, barre: str) -> Placement:
    stop = placed.stop
    return Placement(
        string=stop.string, fret=stop.fret, finger=stop.finger, position=max(placed.position, 1), barre=barre
    )


def _barres(task: Task, path: Path) -> dict[int, str]:
    """Tone → kind of barre it lies under.

    Half where the finger covers up to four strings, full beyond; hinge where the finger stopped one string first and
    is laid down over more while it stays.
    """
    kinds: dict[int, str] = {}
    for frame in task.lattice.problem.frames:
        sounding = (*frame.held, *frame.struck)
        for finger in range(1, 5):
            mine = [i for i in sounding if path.placed[i].stop.finger == finger]
            strings = sorted(path.placed[i].stop.string for i in mine)
            if len(mine) < 2 or not any(i in frame.struck for i in mine):
                continue
            kind = "half" if strings[-1] - strings[0] < 4 else "full"
            alone = [i for i in mine if i in frame.held]
            if len(alone) == 1 and not kinds.get(alone[0]):
                kind = "hinge"
            for index in mine:
                kinds.setdefault(index, kind)
    return kinds


def head_of(passage: Passage, tone: Tone) -> tuple[Event, Note]:
    """The event and the head with which a tone begins."""
    event = passage.events[tone.event]
    return event, next(note for note in event.notes if note.id == tone.ids[0])
