"""Lines that show a finger staying on its string: guides before a digit, and slides from head to head."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from engrave.model import Note, Placement
from engrave.model.outlines import line, slices
from engrave.plates.draft import Draft, Ink
from engrave.plates.score import IndexedScore

PEN = 0.12
CLEAR = 0.16


def guided(score: IndexedScore) -> dict[str, bool]:
    """Ids of notes whose finger glides to them along its string from its last note, and whether it goes up the neck.

    The finger has changed its fret with the hand, nothing else was stopped in between, its string did not sound open,
    which would have lifted it, and the glide itself is not heard.
    """
    found: dict[str, bool] = {}
    latest: dict[int, Placement] = {}
    onset: Fraction | None = None
    now: dict[int, Placement] = {}
    for event in score.events:
        places = [(note, note.placement) for note in event.notes if note.placement]
        opened = {place.string for _, place in places if not place.fret}
        latest, now = (
            {finger: place for finger, place in fingers.items() if place.string not in opened}
            for fingers in (latest, now)
        )
        stopped = [(note, place) for note, place in places if place.finger]
        if stopped and (onset != event.onset or event.grace):
            latest, now, onset = now, {}, event.onset
        for note, place in stopped:
            now[place.finger] = place
            before = latest.get(place.finger)
            if before and _glides(before, place, note):
                found[note.id] = place.fret > before.fret
    return found


def _glides(was: Placement, place: Placement, note: Note) -> bool:
    if place.barre or was.barre or note.slide or note.tied_back:
        return False
    return was.string == place.string and was.fret != place.fret and was.position != place.position


def draw_guides(draft: Draft, glides: Mapping[str, bool]) -> None:
    """A short line before the digit of each guided note, rising where the finger goes up the neck.

    `glides` is what `guided` found in the whole passage.
    """
    if not glides:
        return
    digits = {ink.owner: ink for ink in draft.ink if ink.role == "digit"}
    for name, up in glides.items():
        if name not in digits:
            continue
        left, top, _, bottom = digits[name].boxes[0]
        middle = (top + bottom) / 2
        lean = -0.22 if up else 0.22
        for length in (1.0, 0.8, 0.6, 0.45):
            x1 = left - CLEAR - PEN
            path = line(x1 - length, middle - lean, x1, middle + lean)
            boxes = slices(path, pen=PEN)
            if all(draft.taken.free(box, CLEAR) for box in boxes):
                draft.add(Ink(role="guide", owner=name, path=path, pen=PEN, boxes=boxes))
                break


def draw_slides(draft: Draft, score: IndexedScore) -> None:
    """A line from head to head where one finger slides and is heard."""
    slides = [note for event in score.on(draft.first, draft.last) for note in event.notes if note.slide]
    digits = {ink.owner for ink in draft.ink if ink.role == "digit"} if slides else set()
    for note in slides:
        start, stop = draft.heads.get(note.slurred_from), draft.heads.get(note.id)
        if start is None or stop is None:
            continue
        x0, x1 = start.right + 0.25, stop.left - 0.25
        signs = [ink for ink in draft.ink if ink.role in ("digit", "accidental") and ink.owner == note.id]
        x1 = min([x1, *(ink.boxes[0][0] - 0.25 for ink in signs)])
        if note.id in digits and x1 - x0 < 0.8:
            continue
        lean = 0.25 if stop.y < start.y else -0.25
        y0, y1 = (start.y, stop.y) if abs(stop.y - start.y) > 0.6 else (start.y + lean, stop.y - lean)
        draft.add(Ink(role="slide", owner=note.id, path=line(x0, y0, x1, y1), pen=PEN))
