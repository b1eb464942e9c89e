"""Where the fretting hand goes: the step from a Passage to its first Variation."""

from __future__ import annotations

from dataclasses import replace

from engrave.fretting.engine import Task, prepared
from engrave.fretting.search import Path
from engrave.fretting.slurs import resolved
from engrave.fretting.taste import NEUTRAL, Taste
from engrave.model import Hand, Instrument, Note, Passage, Placement, Variation, with_notes
from engrave.model.hand_signs import with_whole_barres


def fret(passage: Passage, instrument: Instrument, hand: Hand, *, taste: Taste = NEUTRAL) -> Variation:
    """The passage with a placement on every note: the cheapest fingering for this hand, by an exact search.

    Marks of the source are law. Curves the hand can play become Note.slurred_from, the others stay in Passage.slurs.
    Notices say what had to give way. Raises UnplayableError for notes outside the instrument and for what no such hand
    can stop.
    """
    task = prepared(passage, instrument, hand, taste)
    return variation_of(task, task.best)


def variation_of(task: Task, path: Path) -> Variation:
    """A task's passage with one fingering written into it."""
    barres = _barres(task, path)
    owner = {name: index for index, tone in enumerate(task.tones) for name in tone.ids}
    changed: dict[str, Note] = {}
    for note in task.passage.notes:
        index = owner[note.id]
        placed, barre = path.placed[index], "half" if index in barres else ""
        place = Placement(**placed.stop._asdict(), position=max(placed.position, 1), barre=barre)
        changed[note.id] = replace(note, placement=place)
    final, notices = resolved(with_notes(task.passage, changed), instrument=task.instrument, hand=task.hand)
    return Variation(
        passage=with_whole_barres(final), instrument=task.instrument, hand=task.hand, notices=(*task.notices, *notices)
    )


def _barres(task: Task, path: Path) -> set[int]:
    """Tones that lie under a barre; only finger 1 lies over several strings with a sign.

    It is laid with its first note: one finger at one fret over several strings that sound together, or one after the
    other in a broken chord.
    """
    under: set[int] = set()
    laid: list[int] = []
    opens: set[int] = set()
    for group in task.lattice.problem.groups:
        new = [i for i in group.struck if path.placed[i].stop.finger == 1]
        on = any(i in group.held for i in laid) or bool(group.chord is not None and group.ringing)
        if laid and not (on and all(path.placed[i].stop.fret == path.placed[laid[0]].stop.fret for i in new)):
            laid = []
        if not laid:
            # a string that sounded open before the finger came does not tell how it lies
            opens = set()
        laid += new
        strings = {path.placed[i].stop.string for i in laid}
        if len(strings) > 1 and new:
            under |= set(laid)
        opens |= {path.placed[i].stop.string for i in group.struck if not path.placed[i].stop.finger}
        if len(strings) > 1 and any(min(strings) <= s <= max(strings) for s in opens):
            laid, opens = [i for i in laid if i in group.held], set()
    return under
