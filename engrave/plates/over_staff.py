"""Signs over the staff: positions, barres, stroke words, the source's words, endings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from engrave.languages import letters_plain, told
from engrave.model import Direction, Event
from engrave.model.hand_signs import barre_marks, position_marks
from engrave.model.outlines import Path
from engrave.model.said import say, strung
from engrave.model.strokes import StrokeWord, stroke_words
from engrave.model.wording import numeral
from engrave.plates.draft import Draft, Ink, placed, put
from engrave.plates.rows import row_base
from engrave.plates.score import IndexedScore

NUMERAL = 1.75
"""em of position and barre numerals in spaces"""
WORDS = 1.7
NUMBER = 1.45
"""em of a bar number"""
PEN = 0.12


@dataclass(slots=True)
class HeldSign:
    """A sign that starts at one time and may hold, as a bracket, to another."""

    text: str
    role: str
    owner: str
    start: Fraction
    stop: Fraction | None = None
    """end of the bracket; none for a sign alone"""
    last: str = ""
    """id of the last event under the bracket"""
    face: str = "roman"


def position_spans(score: IndexedScore) -> list[HeldSign]:
    """A numeral where the hand comes to live over another fret; in a loop those of its page."""
    said = [d for d in score.passage.directions if d.kind == "numeral"]
    if said:
        return [replace(_words(score, d), role="position", face="roman") for d in said if d.text]
    return [
        HeldSign(text=numeral(place), role="position", owner=event.id, start=event.onset)
        for event, place in position_marks(score.events)
    ]


def barre_spans(score: IndexedScore) -> list[HeldSign]:
    """A bracket for each barre, from where it is laid to where it is lifted."""
    return [
        HeldSign(
            text=_barre(barre.kind, numeral(barre.fret)),
            role="barre",
            owner=barre.first.id,
            start=barre.first.onset,
            stop=barre.last.end,
            last=barre.last.id,
        )
        for barre in barre_marks(score.events)
    ]


def _barre(kind: str, fret: str) -> str:
    """A barre's sign: C is common practice, the rest spells itself."""
    # for the translator: a barre pressed with the base of the finger; stands over the staff, before the fret's numeral
    return say("hinge {fret}", fret=fret) if kind == "hinge" else f"{'½C' if kind == 'half' else 'C'} {fret}"


def stroke_spans(score: IndexedScore, *, named: bool) -> list[HeldSign]:
    """Words for the kind of stroke; `named` prints one even where all is free."""
    return [_words(score, word) for word in stroke_words(score.passage, named=named)]


def _words(score: IndexedScore, direction: Direction | StrokeWord) -> HeldSign:
    at = [e for e in score.events if e.bar == direction.bar and e.onset >= direction.onset]
    owner = at[0].id if at else ""
    return HeldSign(text=direction.text, role="words", owner=owner, start=direction.onset, face="italic")


def source_spans(score: IndexedScore) -> list[HeldSign]:
    """Words of the source that belong to a place."""
    said = (d for d in score.passage.directions if d.kind in ("words", "tempo") and d.text.strip())
    return [_words(score, direction) for direction in said]


def draw_spans(draft: Draft, score: IndexedScore, spans: Iterable[HeldSign]) -> None:
    """Print signs of one kind in a row; those that would run into each other go one above the other."""
    rows: list[list[tuple[HeldSign, Ink, float, float]]] = []
    for span in spans:
        event = score.event_of.get(span.owner)
        start_here = event is not None and draft.first <= event.bar <= draft.last
        last = score.event_of.get(span.last)
        if event is None or not (start_here or _runs_in(draft, event, last)):
            continue
        text = span.text if start_here else strung(["(", span.text, ")"], "")
        em = NUMERAL if span.role != "words" else WORDS
        ink = draft.lettered(letters_plain(told(text, score.marks.language)), span.face, em, span.role, span.owner)
        # what it says is known by its English, in whatever language it is lettered
        ink.text = str(text)
        x0 = draft.left_of(event) if start_here else min((h.left for h in draft.heads.values()), default=1.0) - 0.4
        width = ink.boxes[0][2] - ink.boxes[0][0]
        x0 = max(min(x0, draft.width - width), 0.0)
        end = x0 + width
        if last is not None:
            end = max(end + 0.6, _right(draft, last) if last.bar <= draft.last else draft.width - 0.2)
        row = next((r for r in rows if _shift(r[-1][3], x0) < 0.9 and end + _shift(r[-1][3], x0) <= draft.width), None)
        if row is None:
            rows.append(row := [])
        else:
            shift = _shift(row[-1][3], x0)
            x0, end = x0 + shift, end + shift
        row.append((span, ink, x0, end))
    for row in rows:
        boxes = [(x0, -0.8 * NUMERAL, end, 0.25) for _, _, x0, end in row]
        y = min(row_base(draft, boxes, below=False), draft.roof - 0.6)
        for span, ink, x0, end in row:
            put(draft, ink, x0 - ink.boxes[0][0] + ink.x, y)
            if span.last:
                _bracket(draft, score, span, (placed(ink, ink.x, y)[2] + 0.3, end), y - 0.55)


def _shift(end: float, x: float) -> float:
    """How far right a sign at `x` must move to stand clear of one that ends at `end`."""
    return max(0.0, end + 0.5 - x)


def _bracket(draft: Draft, score: IndexedScore, span: HeldSign, ends: tuple[float, float], y: float) -> None:
    x0, x1 = ends
    ends_here = score.event_of[span.last].bar <= draft.last
    if x1 - x0 < 1.2:
        return
    path: Path = (("M", (x0, y)), ("L", (x1, y)))
    if ends_here:
        path = (*path, ("L", (x1, y + 0.8)))
    draft.add(Ink(role="barre", owner=span.owner, path=path, pen=PEN))


def _runs_in(draft: Draft, event: Event, last: Event | None) -> bool:
    """Whether a bracket begun on an earlier system holds on into this one."""
    return last is not None and event.bar < draft.first <= last.bar


def _right(draft: Draft, event: Event) -> float:
    heads = draft.heads_of(event)
    return max(head.right for head in heads) + 0.3 if heads else draft.bars[event.bar][1]


def draw_endings(draft: Draft, score: IndexedScore) -> None:
    """Brackets over the bars of first and second endings, above everything else."""
    bars = score.passage.bars
    runs = groupby(range(draft.first, draft.last + 1), key=lambda index: bars[index].ending)
    groups = [(first, max(rest, default=first)) for ending, (first, *rest) in runs if ending]
    if not groups:
        return
    boxes = [(draft.bars[a][0] + 0.2, 0.0, draft.bars[b][1] - 0.2, 2.2) for a, b in groups]
    y = row_base(draft, boxes, below=False)
    for (a, b), (x0, _, x1, _) in zip(groups, boxes, strict=True):
        begins = a == 0 or bars[a - 1].ending != bars[a].ending
        ends = b + 1 == len(bars) or bars[b + 1].ending != bars[b].ending
        path: Path = (("M", (x0, y)), ("L", (x1, y)))
        if begins:
            path = (("M", (x0, y + 2.0)), ("L", (x0, y)), *path[1:])
            ink = draft.lettered(bars[a].ending + ".", "roman", NUMERAL, "ending")
            put(draft, ink, x0 + 0.5, y + 0.45 - ink.boxes[0][1])
        if ends:
            path = (*path, ("L", (x1, y + 2.0)))
        draft.add(Ink(role="ending", path=path, pen=PEN))


def draw_number(draft: Draft, score: IndexedScore) -> None:
    """The number of a system's first bar over its clef, but for the first system's."""
    label = score.passage.bars[draft.first].label
    if not draft.first or not label:
        return
    ink = draft.lettered(label, "roman", NUMBER, "number")
    left, _, right, bottom = ink.boxes[0]
    y = draft.taken.top(0.0, right - left + 0.2, 0.0) - 0.35
    put(draft, ink, -left, y - bottom)
