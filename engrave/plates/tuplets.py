"""Tuplet figures: the number over the beam, or in a bracket where no one beam spans the tuplet."""

from __future__ import annotations

from engrave.model import Event, Tuplet
from engrave.model.outlines import line
from engrave.plates.draft import Draft, Ink, put
from engrave.plates.rows import row_base
from engrave.plates.score import IndexedScore

EM = 1.75
HOOK = 0.7
PEN = 0.1
ROOM = 0.3


def draw_tuplets(draft: Draft, score: IndexedScore) -> None:
    """Print the figure of every tuplet of the system, the short ones first so that those round them lie outside."""
    groups: dict[tuple[int, int, int], tuple[Tuplet, list[Event]]] = {}
    for event in score.on(draft.first, draft.last):
        for tuplet in event.tuplets:
            groups.setdefault((event.bar, event.voice, tuplet.id), (tuplet, []))[1].append(event)
    for tuplet, events in sorted(groups.values(), key=lambda g: (g[1][-1].end - g[1][0].onset, g[1][0].onset)):
        _draw_tuplet(draft, score, tuplet, events)


def _draw_tuplet(draft: Draft, score: IndexedScore, tuplet: Tuplet, events: list[Event]) -> None:
    drawn = [event for event in events if event.id in draft.rests or draft.heads_of(event)]
    if not drawn:
        return
    below = _below(draft, score, events)
    x0, x1 = draft.left_of(drawn[0]), _right(draft, drawn[-1])
    ink = draft.lettered(str(tuplet.actual), "bold italic", EM, "tuplet", events[0].id)
    left, top, right, bottom = ink.boxes[0]
    if _beamed(score, events):
        stems = [draft.stems[e.id].x for e in events if e.id in draft.stems]
        x0, x1 = min(stems, default=x0), max(stems, default=x1)
        x = (x0 + x1 - left - right) / 2
        y = row_base(draft, [(x + left, top, x + right, bottom)], below=below, room=ROOM)
        put(draft, ink, x, y)
        return
    x = (x0 + x1 - left - right) / 2
    half = (bottom - top) / 2
    y = row_base(draft, [(x0, -HOOK if below else -half, x1, half if below else HOOK)], below=below, room=ROOM)
    put(draft, ink, x, y - (top + bottom) / 2)
    hook = -HOOK if below else HOOK
    for end, inner in ((x0, x + left - 0.25), (x1, x + right + 0.25)):
        if abs(inner - end) > 0.3 and (inner > end) == (end == x0):
            path = (("M", (end, y + hook)), ("L", (end, y)), ("L", (inner, y)))
            draft.add(Ink(role="tuplet", owner=events[0].id, path=path, pen=PEN))
    if x1 - x0 < right - left + 1.1:
        # Too narrow for a gap in the bracket: a plain line on the notes' side of the figure holds it together.
        edge = y + (-half - 0.2 if below else half + 0.2)
        draft.add(Ink(role="tuplet", owner=events[0].id, path=line(x0, edge, x1, edge), pen=PEN))


def _below(draft: Draft, score: IndexedScore, events: list[Event]) -> bool:
    """On the voice's own side, else where the stems point."""
    if score.several:
        return events[0].voice > 1
    stems = [draft.stems[e.id].up for e in events if e.id in draft.stems]
    return bool(stems) and sum(stems) * 2 < len(stems)


def _beamed(score: IndexedScore, events: list[Event]) -> bool:
    """Whether one beam spans exactly these events."""
    here, runs = score.beamed(events[0].bar, events[0].voice)
    plain = [e for e in events if not e.grace]
    names = [e.id for e in here]
    run = (names.index(plain[0].id), names.index(plain[-1].id))
    return run in runs


def _right(draft: Draft, event: Event) -> float:
    if event.id in draft.rests:
        return draft.rests[event.id][2]
    return max(head.right for head in draft.heads_of(event))
