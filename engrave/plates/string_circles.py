"""Numbers of strings in circles, in a row above or below the staff, with a broken line over the notes they hold for."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.model.neck import tells_itself
from engrave.model.outlines import disc, line
from engrave.plates.draft import Draft, Ink, put_round
from engrave.plates.lettering import EM
from engrave.plates.rows import row_base
from engrave.plates.score import IndexedScore

CIRCLE = 0.98
"""outer radius of a string circle"""
RING = 0.13
"""width of its line"""
STRING = 1.75
"""em of the figure in it"""
_NEAR = 6.0
"""spaces behind the end of a line within which it goes on without its number"""
_CUT = 1.5
"""spaces of a line that the next circle of its row may take: it ends under a head that stands close"""


@dataclass(slots=True)
class Govern:
    """A string number and the ids of the notes it holds for, at the first of which it stands.

    Notes with no other string between them in their voice are one stretch.
    """

    string: int
    stretches: list[list[str]]


def string_runs(score: IndexedScore, *, fully: bool) -> list[Govern]:
    """Where the stopped string changes, voice by voice: open strings name themselves and do not end a run.

    Of a chord, the highest stopped note counts; the shape tells the others. Unless `fully` is asked for, no circle
    stands in the first position, where pitch and finger leave one string only.
    """
    runs: list[Govern] = []
    current: dict[int, Govern] = {}
    left: set[int] = set()
    for event in score.events:
        placed = [(note.id, note.placement) for note in event.notes if note.placement and not note.muted]
        stopped = [(name, place) for name, place in placed if place.fret > 0]
        run = current.get(event.voice)
        if not stopped:
            # an open string of another number: no line reaches over it
            if run is not None and any(place.string != run.string for _, place in placed):
                left.add(event.voice)
            continue
        name, place = stopped[-1]
        told = fully or not tells_itself(place)
        stays = run is not None and run.string == place.string and (told or event.voice not in left)
        if run is not None and stays:
            if event.voice in left:
                run.stretches.append([])
            run.stretches[-1].append(name)
        elif not told:
            current.pop(event.voice, None)
        else:
            current[event.voice] = Govern(string=place.string, stretches=[[name]])
            runs.append(current[event.voice])
        left.discard(event.voice)
    return runs


def draw_strings(draft: Draft, score: IndexedScore, runs: list[Govern], *, below: bool, voice_below: bool) -> None:
    """Print string circles, with a broken line over the notes that each holds for, in one row.

    `below` is the side the row lies on, `voice_below` which voices it serves.
    """
    rows: list[list[Circle]] = []
    for run in runs:
        parts = [(part, [name for name in part if name in draft.heads]) for part in run.stretches]
        parts = [(part, here) for part, here in parts if here]
        if not parts or score.below(score.event_of[parts[0][1][0]]) != voice_below:
            continue
        for circle in _circles(draft, run.string, parts):
            row = next((r for r in rows if r[-1].clear_of(circle)), None)
            if row is None:
                rows.append(row := [])
            row.append(circle)
    for row in rows:
        _string_row(draft, row, below=below)


def _circles(draft: Draft, string: int, parts: list[tuple[list[str], list[str]]]) -> list[Circle]:
    """The circles of one run on one system; `parts` are its stretches, whole and as far as they stand here.

    On a new line the number is said again at the first note it still holds for, and behind another string at a note
    that stands alone, where a dash would say nothing, or far off, where nobody would see what the line goes on from.
    """
    made: list[Circle] = []
    for whole, here in parts:
        head = draft.heads[here[0]]
        end = draft.heads[here[-1]].right if here[-1] == whole[-1] else draft.width - 0.5
        if made and len(here) > 1 and head.left - made[-1].lines[-1][1] < _NEAR:
            made[-1].lines.append((head.left, end))
        else:
            made.append(Circle(string=string, owner=here[0], x=(head.left + head.right) / 2, lines=[(head.left, end)]))
    return made


@dataclass(frozen=True, slots=True)
class Circle:
    """A string number on one system: the note it stands at, its middle, and from where to where it holds."""

    string: int
    owner: str
    x: float
    lines: list[tuple[float, float]]

    @property
    def left(self) -> float:
        """Where its own ink and the white before it begin."""
        return self.x - CIRCLE - 0.3

    def clear_of(self, after: Circle) -> bool:
        """Whether another may stand after it in the same row: it cuts off no line that says where this one holds."""
        return after.x - self.x > 2 * CIRCLE + 0.25 and self.lines[-1][1] - after.left < _CUT


def _string_row(draft: Draft, row: list[Circle], *, below: bool) -> None:
    """One row of circles, each with its dashed line to the last note it governs or to the next circle."""
    ends = [b.left for b in row[1:]] + [draft.width]
    lines = []
    for circle, most in zip(row, ends, strict=True):
        first = circle.x + CIRCLE + 0.3
        parts = [(max(a, first), min(b, most)) for a, b in circle.lines]
        # behind a circle a line is worth a dash or two, a single head further on has its own
        lines += [(a, b) for a, b in parts if b - a > (1.0 if a == first else 0.5)]
    boxes = [(c.x - CIRCLE, -CIRCLE, c.x + CIRCLE, CIRCLE) for c in row]
    y = row_base(draft, boxes + [(a, -0.1, b, 0.1) for a, b in lines], below=below)
    for circle in row:
        circled(draft, circle.string, circle.owner, circle.x, y)
    for a, b in lines:
        draft.add(Ink(role="string line", path=line(a, y, b, y), pen=0.1, dash=(0.5, 0.4)))


def circled(draft: Draft, string: int, owner: str, x: float, y: float) -> None:
    """A string number in its circle, centred on (x, y)."""
    inner = disc(0, 0, EM * (1 - RING / CIRCLE), inward=True)
    draft.outlines.setdefault("circle", disc(0, 0, EM) + inner)
    draft.add(Ink(role="circle", owner=owner, outline="circle", scale=CIRCLE / EM, x=x, y=y, text=str(string)))
    ink = draft.lettered(str(string), "bold", STRING if string < 10 else 0.75 * STRING, "string", owner)
    put_round(draft, ink, x, y)
