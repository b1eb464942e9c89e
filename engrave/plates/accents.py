"""Accents: over or under the heads they belong to, outside the staff and clear of the plain ink.

Drawn here rather than by verovio, so that lines that differ in their accents alone share one plain staff.
"""

from __future__ import annotations

from engrave.model import Event
from engrave.plates.draft import Draft, Ink
from engrave.plates.score import IndexedScore
from engrave.plates.staff import GLYPH, accent_shapes

ABOVE = {"accent": "E4A0", "marcato": "E4AC"}
"""SMuFL code points of the signs that stand over a note"""
BELOW = {"accent": "E4A1", "marcato": "E4AD"}
ROOM = 0.37
"""distance in spaces to the staff, or to the ink of the note"""
STEP = 0.25
STEPS = 8


def draw_accents(draft: Draft, score: IndexedScore) -> None:
    """Print the accents of one system. Its staff must be on the draft, and nothing of the guitar layer yet."""
    for event in score.on(draft.first, draft.last):
        kinds = [kind for kind in ABOVE if kind in event.marks]
        if kinds and draft.heads_of(event):
            _draw(draft, event, kinds, over=_over(draft, score, event))


def _over(draft: Draft, score: IndexedScore, event: Event) -> bool:
    """Which side: a voice's own where there are several, else above; what the thumb plays has it beside the heads.

    Common practice for voices and heads. Below stems that point up, an accent would read as one for the bass.
    """
    if score.several:
        return not score.below(event)
    top = max(event.notes, key=lambda note: note.pitch.midi)
    if "marcato" in event.marks or top.stroke is None or top.stroke.finger != "p":
        return True
    stem = draft.stems.get(event.id)
    if stem is not None:
        return not stem.up
    return min(head.y for head in draft.heads_of(event)) <= 2


def _draw(draft: Draft, event: Event, kinds: list[str], *, over: bool) -> None:
    """The signs of one event, the accent nearer to it, and over or under what is there in its column."""
    draft.outlines |= accent_shapes()
    heads = sorted(draft.heads_of(event), key=lambda head: head.left)
    # with seconds in a chord, over the column most heads share
    head = heads[len(heads) // 2]
    away = -1 if over else 1
    for kind in kinds:
        ink = Ink(
            role="accent",
            owner=event.notes[0].id if len(event.notes) == 1 else event.id,
            outline=(ABOVE if over else BELOW)[kind],
            scale=GLYPH * head.scale,
        )
        left, top, right, bottom = draft.extent(ink)[0]
        near = (draft.taken.top if over else draft.taken.bottom)(head.left, head.right, 0.0 if over else 4.0)
        x = (head.left + head.right - left - right) / 2
        y = near + away * ROOM - (bottom if over else top)
        for _ in range(STEPS):
            if draft.taken.free((x + left, y + top, x + right, y + bottom), 0.1):
                break
            y += away * STEP
        ink.x, ink.y = x, y
        draft.add(ink)
