"""Plucking letters in a row above or below the staff, and where such a row lies."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from fractions import Fraction

from engrave.model import Event, Note
from engrave.model.outlines import Box
from engrave.plates.draft import Draft, Ink, placed, put
from engrave.plates.score import IndexedScore

LETTER = 2.1
"""em of a plucking letter in spaces: the x-height is about one space"""
ROOM = 0.45
"""distance between a row and the ink it stands over"""
BETWEEN = 0.3
"""distance between two letters of a stack"""


@dataclass(slots=True)
class Stack:
    """The letters over one event, from the row outwards, each with its origin above the row's baseline."""

    x: float
    letters: list[tuple[Ink, float]] = field(default_factory=list)
    """ink and its baseline, relative to the row's, y down"""

    def box(self) -> Box:
        """Ink of the stack with the row's baseline at 0."""
        boxes = [placed(ink, self.x - _centre(ink), y) for ink, y in self.letters]
        if len(boxes) == 1:
            return boxes[0]
        return (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))


def draw_letters(draft: Draft, score: IndexedScore, wanted: frozenset[str], *, below: bool) -> None:
    """Print the plucking letters of the events whose id is in `wanted` on one side of the staff, in one row."""
    groups: dict[tuple[Fraction, str], list[Event]] = {}
    for event in score.on(draft.first, draft.last):
        if event.id in wanted and score.below(event) == below:
            groups.setdefault((event.onset, event.id if event.grace else ""), []).append(event)
    stacks = [
        stack
        for events in groups.values()
        for column in _columns(draft, events)
        if (stack := _stack(draft, score, column, below=below, small=events[0].grace)).letters
    ]
    stacks.sort(key=lambda s: s.x)
    _part(stacks)
    if not stacks:
        return
    base = row_base(draft, [stack.box() for stack in stacks], below=below)
    for stack in stacks:
        for ink, y in stack.letters:
            put(draft, ink, stack.x - _centre(ink), base + y)
    if not below:
        draft.roof = base - 0.5 * LETTER


def row_base(draft: Draft, boxes: list[Box], *, below: bool, room: float = ROOM) -> float:
    """The y at which a row lies clear of all ink; `boxes` are its marks with the row at 0."""
    pad = 0.25
    if below:
        return max(draft.taken.bottom(b[0] - pad, b[2] + pad, 4.0) + room - b[1] for b in boxes)
    return min(draft.taken.top(b[0] - pad, b[2] + pad, 0.0) - room - b[3] for b in boxes)


def _columns(draft: Draft, events: list[Event]) -> list[list[Note]]:
    """The notes of one onset group in the columns their heads stand in; seconds round one stem count as one column."""
    columns: list[list[Note]] = []
    for event in events:
        notes = [n for n in event.notes if n.id in draft.heads]
        if not notes:
            continue
        x = min(draft.heads[n.id].left for n in notes)
        near = next((c for c in columns if abs(min(draft.heads[n.id].left for n in c) - x) < 0.9), None)
        if near is None:
            columns.append(notes)
        else:
            near += notes
    return columns


def _stack(draft: Draft, score: IndexedScore, notes: list[Note], *, below: bool, small: bool) -> Stack:
    """The letters of one column, the lowest note's innermost above the staff, the highest's below it."""
    notes = sorted(notes, key=lambda n: n.pitch.midi)
    # Seconds put a head on the far side of the stem; the letter stays over the column most heads share.
    column = sorted((draft.heads[n.id] for n in notes), key=lambda h: h.left)[len(notes) // 2]
    stack = Stack(x=(column.left + column.right) / 2)
    edge = 0.0
    swept = ""
    for note in notes[::-1] if below else notes:
        # one p stands for all that the thumb takes in one stroke: the arrow says which
        event = score.event_of[note.id].id
        if note.stroke is None or (note.stroke.finger == "p" and swept == event):
            continue
        swept = event if note.stroke.finger == "p" else ""
        letter = score.marks.little if note.stroke.finger == "c" else note.stroke.finger
        em = LETTER * (0.85 if small else 1.0)
        ink = draft.lettered(letter, "italic", em, "letter", note.id)
        _, top, _, bottom = ink.boxes[0]
        y = 0.0
        if stack.letters:
            y = edge + BETWEEN - top if below else edge - BETWEEN - bottom
        stack.letters.append((ink, y))
        edge = y + (bottom if below else top)
    return stack


def _part(stacks: list[Stack]) -> None:
    """Move letters that would touch a little apart, half the way each."""
    for before, after in itertools.pairwise(stacks):
        # most letters are far apart, and an em is wider than any of them
        if after.x - before.x > LETTER + 0.22:
            continue
        short = before.box()[2] + 0.22 - after.box()[0]
        if short > 0:
            before.x -= short / 2
            after.x += short / 2


def _centre(ink: Ink) -> float:
    left, _, right, _ = ink.boxes[0]
    return (left + right) / 2 - ink.x
