"""Marks that stand in a row above or below the staff: plucking letters, and string circles with their lines."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

from engrave.model import Event, Note
from engrave.plates.draft import Draft, Ink, placed, put
from engrave.plates.lettering import EM
from engrave.plates.outlines import Box, disc, line
from engrave.plates.score import IndexedScore

LETTER = 2.1
"""em of a plucking letter in spaces: the x-height is about one space"""
ROOM = 0.45
"""distance between a row and the ink it stands over"""
BETWEEN = 0.3
"""distance between two letters of a stack"""
CIRCLE = 0.98
"""outer radius of a string circle"""
RING = 0.13
"""width of its line"""
STRING = 1.75
"""em of the figure in it"""


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


@dataclass(slots=True)
class Govern:
    """A string number and the ids of the notes it holds for, the first of which it stands at."""

    string: int
    notes: list[str]


def string_runs(score: IndexedScore, *, fully: bool) -> list[Govern]:
    """Where the stopped string changes, voice by voice: open strings name themselves and do not end a run.

    Of a chord, the highest stopped note counts; the shape tells the others. Unless `fully` is asked for, no circle
    stands in the first position, where pitch and finger leave one string only.
    """
    runs: list[Govern] = []
    current: dict[int, Govern] = {}
    for event in score.events:
        stopped = [n for n in event.notes if n.placement is not None and n.placement.fret > 0 and not n.muted]
        if not stopped:
            continue
        note = stopped[-1]
        assert note.placement is not None
        run = current.get(event.voice)
        if not fully and note.placement.position == 1 and note.placement.fret <= 4:
            if run is not None and run.string != note.placement.string:
                del current[event.voice]
            elif run is not None:
                run.notes.append(note.id)
            continue
        if run is not None and run.string == note.placement.string:
            run.notes.append(note.id)
        else:
            current[event.voice] = Govern(string=note.placement.string, notes=[note.id])
            runs.append(current[event.voice])
    return runs


def draw_strings(draft: Draft, score: IndexedScore, runs: list[Govern], *, below: bool, voice_below: bool) -> None:
    """Print string circles, with a line to the last note each governs, in one row.

    `below` is the side the row lies on, `voice_below` which voices it serves.
    """
    rows: list[list[Circle]] = []
    for run in runs:
        here = [name for name in run.notes if name in draft.heads]
        if not here or score.below(score.event_of[here[0]]) != voice_below:
            continue
        # On a new line the number is said again at the first note it still holds for.
        head = draft.heads[here[0]]
        x = (head.left + head.right) / 2
        end = draft.heads[here[-1]].right if here[-1] == run.notes[-1] else draft.width - 0.5
        row = next((r for r in rows if x - r[-1][2] > 2 * CIRCLE + 0.25), None)
        if row is None:
            row = []
            rows.append(row)
        row.append((run.string, here[0], x, end))
    for row in rows:
        _string_row(draft, row, below=below)


Circle = tuple[int, str, float, float]
"""string, note it stands at, x of its middle, x of the end of what it governs"""


def _string_row(draft: Draft, row: list[Circle], *, below: bool) -> None:
    """One row of circles, each with its dashed line to the last note it governs or to the next circle."""
    ends = [min(a[3], b[2] - CIRCLE - 0.3) for a, b in pairwise(row)] + [row[-1][3]]
    lines = [(x + CIRCLE + 0.3, end) for (_, _, x, _), end in zip(row, ends, strict=True) if end > x + CIRCLE + 1.3]
    boxes = [(x - CIRCLE, -CIRCLE, x + CIRCLE, CIRCLE) for _, _, x, _ in row]
    y = row_base(draft, boxes + [(a, -0.1, b, 0.1) for a, b in lines], below=below)
    for string, name, x, _ in row:
        circled(draft, string, name, x, y)
    for a, b in lines:
        draft.add(Ink(role="string line", path=line(a, y, b, y), pen=0.1, dash=(0.5, 0.4)))


def circled(draft: Draft, string: int, owner: str, x: float, y: float) -> None:
    """A string number in its circle, centred on (x, y)."""
    inner = disc(0, 0, EM * (1 - RING / CIRCLE), inward=True)
    draft.outlines.setdefault("circle", disc(0, 0, EM) + inner)
    draft.add(Ink(role="circle", owner=owner, outline="circle", scale=CIRCLE / EM, x=x, y=y, text=str(string)))
    ink = draft.lettered(str(string), "bold", STRING if string < 10 else 0.75 * STRING, "string", owner)
    left, top, right, bottom = ink.boxes[0]
    put(draft, ink, x - (left + right) / 2, y - (top + bottom) / 2)
