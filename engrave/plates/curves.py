"""Slurs, kept clear of heads, stems and digits, the wavy lines of spread chords, and the thumb's arrows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from engrave.model import Note
from engrave.model.outlines import Box, Path, lens, line, slices, wave
from engrave.plates.draft import Draft, Ink
from engrave.plates.score import IndexedScore, slur_runs

THICK = 0.22
CLEAR = 0.22
STEPS = 60


def draw_slurs(draft: Draft, score: IndexedScore) -> None:
    """Print every slur of the system, the short ones first so that long ones go round them."""
    notes = score.notes
    runs = slur_runs(score)
    runs += [(slur.start, slur.stop) for slur in score.passage.slurs if slur.start in notes and slur.stop in notes]
    here = [run for run in runs if any(name in draft.heads for name in _span(score, run))]
    for run in sorted(here, key=lambda run: score.event_of[run[-1]].onset - score.event_of[run[0]].onset):
        _draw_slur(draft, score, run)


def _span(score: IndexedScore, run: Sequence[str]) -> list[str]:
    """Ids of the notes of the run's voice from its first note to its last."""
    first, last = score.event_of[run[0]], score.event_of[run[-1]]
    if first.voice != last.voice:
        return list(run)
    return [n.id for e in score.between(first, last) for n in e.notes]


def _draw_slur(draft: Draft, score: IndexedScore, run: Sequence[str]) -> None:
    """Draw one slur on its usual side, or on the other where that is much flatter."""
    names = [n for n in _span(score, run) if n in draft.heads]
    over = _goes_over(draft, score, names, whole=run[0] in draft.heads and run[-1] in draft.heads)
    path, boxes, effort = _fitted(draft, score, run, over=over)
    if effort > 12:
        other, others, less = _fitted(draft, score, run, over=not over)
        if less < effort - 4:
            path, boxes = other, others
    draft.add(Ink(role="slur", owner=run[0], path=path, boxes=boxes))


def _fitted(draft: Draft, score: IndexedScore, run: Sequence[str], *, over: bool) -> tuple[Path, tuple[Box, ...], int]:
    """The slur on one side, raised until it is clear, with the boxes it takes and how many steps that took."""
    sign = -1.0 if over else 1.0
    begins, ends = run[0] in draft.heads, run[-1] in draft.heads
    x0, y0 = _end(draft, score, run[0], over=over) if begins else (_line_start(draft), 0.0)
    grace = score.event_of[run[0]].grace and len(run) == 2
    x1, y1 = _end(draft, score, run[-1], over=over, from_grace=grace) if ends else (draft.width - 0.4, 0.0)
    if not begins:
        y0 = y1 + 0.3 * sign if ends else 2 + 3.5 * sign
    if not ends:
        y1 = y0 + 0.3 * sign
    if x1 - x0 < 1.0:
        x0, x1 = x0 - 0.3, x1 + 0.3
    rise = min(0.35 + 0.1 * (x1 - x0), 2.0)
    steepest = 0.5 + 0.3 * (x1 - x0)
    for effort in range(STEPS):
        path = lens(x0, y0, x1, y1, rise=-sign * rise, thick=THICK)
        boxes = slices(path, width=0.5)
        hit = [k for k, box in enumerate(boxes) if not draft.taken.free(box, CLEAR * 0.75)]
        if not hit:
            return path, boxes, effort
        edge = len(boxes) / 6
        inner = any(edge <= k < len(boxes) - edge for k in hit)
        if inner and rise < steepest:
            rise += 0.15
        if any(k < edge for k in hit) or (inner and rise >= steepest):
            y0 += sign * 0.15
        if any(k >= len(boxes) - edge for k in hit) or (inner and rise >= steepest):
            y1 += sign * 0.15
    return path, boxes, STEPS


def _line_start(draft: Draft) -> float:
    first = [h.left for h in draft.heads.values()]
    return min(first) - 1.6 if first else 0.0


def _goes_over(draft: Draft, score: IndexedScore, names: Sequence[str], *, whole: bool) -> bool:
    """Single line: on the heads' side, above where stems differ or a line ends. More voices: on the voice's side."""
    events = [score.event_of[name] for name in names]
    if events[0].grace and events[0].id in draft.stems:
        return not draft.stems[events[0].id].up
    if score.several:
        return not score.below(events[0])
    stems = [draft.stems[e.id].up for e in events if e.id in draft.stems]
    return not whole or not stems or not all(stems)


def _end(draft: Draft, score: IndexedScore, name: str, *, over: bool, from_grace: bool = False) -> tuple[float, float]:
    """Where a slur meets a note: at its head, or at the stem's tip where the stem is on that side.

    From a grace note it goes to the head in any case.
    """
    event = score.event_of[name]
    head = (min if over else max)(draft.heads_of(event), key=lambda head: head.y)
    stem = draft.stems.get(event.id)
    x = (head.left + head.right) / 2
    if stem is not None and stem.up == over and from_grace and not event.grace:
        return head.left - 0.3, head.y + (-0.6 if over else 0.6)
    if stem is not None and stem.up == over:
        return stem.x, stem.tip + (-0.4 if over else 0.4)
    return x, head.y + (-0.5 - CLEAR - 0.1 if over else 0.5 + CLEAR + 0.1)


def draw_arpeggios(draft: Draft, score: IndexedScore) -> None:
    """A wavy line left of each spread chord, its signs and its digits, from the lowest head to the highest."""
    spread = [event for event in score.on(draft.first, draft.last) if "arpeggio" in event.marks]
    for owner, (x, top, bottom) in _beside(draft, {event.id: list(event.notes) for event in spread}):
        draft.add(Ink(role="arpeggio", owner=owner, path=wave(x, top, bottom), pen=0.16))


def draw_sweeps(draft: Draft, score: IndexedScore) -> None:
    """An upright arrow left of the notes that the thumb takes in one stroke, from the lowest to the highest."""
    swept: dict[str, list[Note]] = {}
    for event in score.on(draft.first, draft.last):
        thumb = [n for n in event.notes if n.stroke is not None and n.stroke.finger == "p"]
        if len(thumb) > 1:
            swept[event.id] = thumb
    for owner, (x, top, bottom) in _beside(draft, swept):
        tip = line(x - 0.3, top + 0.6, x, top) + line(x, top, x + 0.3, top + 0.6)
        draft.add(Ink(role="sweep", owner=owner, path=line(x, bottom, x, top) + tip, pen=0.14))


def _beside(draft: Draft, chords: dict[str, list[Note]]) -> Iterator[tuple[str, tuple[float, float, float]]]:
    """Event id → where an upright sign has room left of these notes, their signs and digits: x, top and bottom."""
    edges: dict[str, float] = {}
    for ink in draft.ink if chords else ():
        if ink.role in ("head", "accidental", "digit"):
            edges[ink.owner] = min(edges.get(ink.owner, ink.boxes[0][0]), ink.boxes[0][0])
    for event, all_ in chords.items():
        notes = [n for n in all_ if n.id in draft.heads]
        if len(notes) < 2:
            continue
        heads = [draft.heads[n.id] for n in notes]
        x = min(edges[n.id] for n in notes) - 0.45
        top, bottom = min(h.y for h in heads) - 0.6, max(h.y for h in heads) + 0.6
        while x > 0 and not draft.taken.free((x - 0.25, top, x + 0.25, bottom), 0.16):
            x -= 0.1
        yield event, (x, top, bottom)
