"""Slurs: the curves of the fretting hand and the phrase marks of the source, kept clear of heads, stems and digits."""

from __future__ import annotations

from collections.abc import Sequence

from engrave.model import Event
from engrave.plates.score import Score, slur_runs
from engrave.plates.shapes import lens, slices
from engrave.plates.sheet import Ink, Sheet

THICK = 0.22
CLEAR = 0.22


def draw_slurs(sheet: Sheet, score: Score) -> None:
    """Print every slur of the system, the short ones first so that long ones go round them."""
    curves = [(run, True) for run in slur_runs(score)]
    curves += [
        ((s.start, s.stop), False) for s in score.passage.slurs if s.start in score.notes and s.stop in score.notes
    ]
    here = [(run, played) for run, played in curves if any(n in sheet.heads for n in _span(score, run))]
    for run, _ in sorted(here, key=lambda c: score.event_of[c[0][-1]].onset - score.event_of[c[0][0]].onset):
        _draw_slur(sheet, score, run)


def _span(score: Score, run: Sequence[str]) -> list[str]:
    """Ids of the notes of the run's voice from its first note to its last."""
    first, last = score.event_of[run[0]], score.event_of[run[-1]]
    if first.voice != last.voice:
        return list(run)
    inside = [e for e in score.events if e.voice == first.voice and _at(first) <= _at(e) <= _at(last)]
    return [n.id for e in inside for n in e.notes]


def _at(event: Event) -> tuple[object, bool]:
    return event.onset, not event.grace


def _draw_slur(sheet: Sheet, score: Score, run: Sequence[str]) -> None:
    names = [n for n in _span(score, run) if n in sheet.heads]
    over = _goes_over(sheet, score, names)
    sign = -1.0 if over else 1.0
    begins, ends = run[0] in sheet.heads, run[-1] in sheet.heads
    x0, y0 = _end(sheet, score, run[0], over) if begins else (_line_start(sheet), 0.0)
    x1, y1 = _end(sheet, score, run[-1], over) if ends else (sheet.width - 0.4, 0.0)
    if not begins:
        y0 = y1 + 0.3 * sign if ends else -1.5
    if not ends:
        y1 = y0 + 0.3 * sign
    if x1 - x0 < 1.0:
        x0, x1 = x0 - 0.2, x1 + 0.2
    rise = min(0.5 + 0.08 * (x1 - x0), 2.0)
    path = lens(x0, y0, x1, y1, rise=-sign * rise, thick=THICK)
    for _ in range(40):
        path = lens(x0, y0, x1, y1, rise=-sign * rise, thick=THICK)
        boxes = slices(path, width=0.5)
        hit = [k for k, box in enumerate(boxes) if not sheet.taken.free(box, CLEAR * 0.7)]
        if not hit:
            break
        edge = len(boxes) / 6
        if any(k < edge for k in hit):
            y0 += sign * 0.15
        if any(k >= len(boxes) - edge for k in hit):
            y1 += sign * 0.15
        if any(edge <= k < len(boxes) - edge for k in hit):
            rise += 0.15
    sheet.add(Ink(role="slur", owner=run[0], path=path, boxes=slices(path, width=0.5)))


def _line_start(sheet: Sheet) -> float:
    first = [h.left for h in sheet.heads.values()]
    return min(first) - 1.6 if first else 0.0


def _goes_over(sheet: Sheet, score: Score, names: Sequence[str]) -> bool:
    """Single line: on the heads' side, above where stems differ. More voices: on the voice's own side."""
    events = [score.event_of[name] for name in names]
    if score.several:
        return not score.below(events[0])
    stems = [sheet.stems[e.id].up for e in events if e.id in sheet.stems]
    return not stems or not all(stems)


def _end(sheet: Sheet, score: Score, name: str, over: bool) -> tuple[float, float]:
    """Where a slur meets a note: at its head, or at the stem's tip where the stem is on that side."""
    event = score.event_of[name]
    heads = [sheet.heads[n.id] for n in event.notes if n.id in sheet.heads]
    head = min(heads, key=lambda h: h.y) if over else max(heads, key=lambda h: h.y)
    stem = sheet.stems.get(event.id)
    x = (head.left + head.right) / 2
    if stem is not None and stem.up == over:
        return stem.x, stem.tip + (-0.4 if over else 0.4)
    return x, head.y + (-0.5 - CLEAR - 0.1 if over else 0.5 + CLEAR + 0.1)
