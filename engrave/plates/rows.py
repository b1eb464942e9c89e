"""Marks that stand in a row above or below the staff: plucking letters, and string circles with their lines."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

from engrave.model import Event
from engrave.plates.score import Score
from engrave.plates.shapes import Box, disc, line, moved
from engrave.plates.sheet import Ink, Sheet, placed, put

LETTER = 2.1
"""em of a plucking letter in spaces: the x-height is about one space"""
ROOM = 0.45
"""distance between a row and the ink it stands over"""
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
        return (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))


def draw_letters(sheet: Sheet, score: Score, wanted: frozenset[str], *, below: bool) -> None:
    """Print the plucking letters of the events whose id is in `wanted` on one side of the staff, in one row."""
    stacks: list[Stack] = []
    for event in score.on(sheet.first, sheet.last):
        if event.id in wanted and score.below(event) == below:
            stack = _stack(sheet, score, event, below=below)
            if stack.letters:
                stacks.append(stack)
    _part(stacks)
    if not stacks:
        return
    base = row_base(sheet, [stack.box() for stack in stacks], below=below)
    for stack in stacks:
        for ink, y in stack.letters:
            put(sheet, ink, stack.x - _centre(ink), base + y)


def row_base(sheet: Sheet, boxes: list[Box], *, below: bool, room: float = ROOM) -> float:
    """The y at which a row lies clear of all ink; `boxes` are its marks with the row at 0."""
    pad = 0.25
    if below:
        return max(sheet.taken.bottom(b[0] - pad, b[2] + pad, 4.0) + room - b[1] for b in boxes)
    return min(sheet.taken.top(b[0] - pad, b[2] + pad, 0.0) - room - b[3] for b in boxes)


def _stack(sheet: Sheet, score: Score, event: Event, *, below: bool) -> Stack:
    heads = [sheet.heads[note.id] for note in event.notes if note.id in sheet.heads]
    if not heads:
        return Stack(x=0.0)
    # Seconds put a head on the far side of the stem; the letter stays over the column most heads share.
    column = sorted(heads, key=lambda h: h.left)[len(heads) // 2]
    stack = Stack(x=(column.left + column.right) / 2)
    notes = event.notes[::-1] if below else event.notes
    edge = 0.0
    for note in notes:
        if note.stroke is None:
            continue
        letter = score.marks.little if note.stroke.finger == "c" else note.stroke.finger
        ink = sheet.lettered(letter, "italic", LETTER * (0.85 if event.grace else 1.0), "letter", note.id)
        _, top, _, bottom = ink.boxes[0]
        if not stack.letters:
            y = 0.0
        elif below:
            y = edge + 0.24 - top
        else:
            y = edge - 0.24 - bottom
        stack.letters.append((ink, y))
        edge = y + (bottom if below else top)
    return stack


def _part(stacks: list[Stack]) -> None:
    """Move letters that would touch a little apart, half the way each."""
    for before, after in itertools.pairwise(stacks):
        short = before.box()[2] + 0.22 - after.box()[0]
        if short > 0:
            before.x -= short / 2
            after.x += short / 2


def _centre(ink: Ink) -> float:
    left, _, right, _ = ink.boxes[0]
    return (left + right) / 2 - ink.x


@dataclass(slots=True)
class Govern:
    """A string number, the note it stands at and the last note it holds for."""

    string: int
    first: str
    last: str


def string_runs(score: Score) -> list[Govern]:
    """Where the stopped string changes, voice by voice: open strings name themselves and do not end a run.

    Of a chord, the highest stopped note counts; the shape tells the others.
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
        if run is not None and run.string == note.placement.string:
            run.last = note.id
        else:
            current[event.voice] = Govern(string=note.placement.string, first=note.id, last=note.id)
            runs.append(current[event.voice])
    return runs


def draw_strings(sheet: Sheet, score: Score, runs: list[Govern], *, below: bool, voice_below: bool) -> None:
    """Print string circles, with a line to the last note each governs, in one row.

    `below` is the side the row lies on, `voice_below` which voices it serves.
    """
    mine: list[tuple[Govern, float, float]] = []
    for run in runs:
        event = score.event_of[run.first]
        if score.below(event) != voice_below or run.first not in sheet.heads:
            continue
        head = sheet.heads[run.first]
        x = (head.left + head.right) / 2
        last = sheet.heads.get(run.last)
        mine.append((run, x, last.right if last is not None else sheet.width - 0.5))
    for (_, x0, _), k in zip(mine, range(len(mine)), strict=True):
        if k and x0 - mine[k - 1][1] < 2 * CIRCLE + 0.25:
            mine[k] = (mine[k][0], mine[k - 1][1] + 2 * CIRCLE + 0.25, mine[k][2])
    if not mine:
        return
    boxes = [(x - CIRCLE, -CIRCLE, x + CIRCLE, CIRCLE) for _, x, _ in mine]
    boxes += [(x + CIRCLE, -0.1, end, 0.1) for _, x, end in mine if end > x + CIRCLE + 0.5]
    y = row_base(sheet, boxes, below=below)
    for k, (run, x, end) in enumerate(mine):
        circled(sheet, run.string, run.first, x, y)
        stop = min(end, mine[k + 1][1] - CIRCLE - 0.3) if k + 1 < len(mine) else end
        if stop > x + CIRCLE + 1.2:
            path = line(x + CIRCLE + 0.2, y, stop, y)
            sheet.add(Ink(role="string line", owner=run.first, path=path, pen=0.1, dash=(0.5, 0.4)))


def circled(sheet: Sheet, string: int, owner: str, x: float, y: float) -> None:
    """A string number in its circle, centred on (x, y)."""
    sheet.outlines.setdefault("circle", disc(0, 0, 1.0) + moved(disc(0, 0, 1 - RING / CIRCLE, inward=True)))
    sheet.add(Ink(role="circle", owner=owner, outline="circle", scale=CIRCLE, x=x, y=y, text=str(string)))
    ink = sheet.lettered(str(string), "bold", STRING if string < 10 else 0.75 * STRING, "string", owner)
    left, top, right, bottom = ink.boxes[0]
    put(sheet, ink, x - (left + right) / 2, y - (top + bottom) / 2)
