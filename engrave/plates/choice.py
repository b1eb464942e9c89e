"""Which marks are worth printing, by the reader's settings: a page with everything on it hides what matters."""

from __future__ import annotations

from itertools import groupby

from engrave.model import Variation
from engrave.plates.over_staff import HeldSign
from engrave.plates.score import IndexedScore
from engrave.plates.string_circles import Govern, string_runs


def digits_wanted(score: IndexedScore) -> frozenset[str]:
    """Ids of the notes whose fretting digit is printed. A tied or repeated note's finger is down already."""
    chosen: set[str] = set()
    again = _repeated(score) if score.marks.digits == "all" else frozenset()
    position: int | None = None
    for event in score.events:
        stopped = [n.placement.position for n in event.notes if n.placement is not None and n.placement.fret > 0]
        moves = bool(stopped) and min(stopped) != position
        position = min(stopped) if stopped else position
        for note in event.notes:
            if note.placement is None or note.tied_back or note.muted or note.id in again:
                continue
            if score.marks.digits == "all" or (score.marks.digits == "moves" and moves and note.placement.fret > 0):
                chosen.add(note.id)
    return frozenset(chosen)


def _repeated(score: IndexedScore) -> frozenset[str]:
    """Ids of the notes struck again at once within a beat, as in a tremolo: only the first of them has a digit."""
    found: set[str] = set()
    last: tuple[int, ...] = ()
    for _, events in groupby(sorted(score.events, key=lambda e: e.onset), key=lambda e: e.onset):
        struck = [(event, note) for event in events for note in event.notes]
        if not struck:
            continue
        (event, note), where = struck[0], struck[0][1].placement
        now: tuple[int, ...] = ()
        if len(struck) == 1 and where is not None and not event.grace:
            bar = score.passage.bars[event.bar]
            beat = int((event.onset - bar.onset + bar.offset) // bar.metre.beat)
            now = event.bar, beat, where.string, where.fret, where.finger
            if now == last:
                found.add(note.id)
        last = now
    return frozenset(found)


def letters_wanted(score: IndexedScore, variation: Variation) -> tuple[frozenset[str], list[HeldSign]]:
    """Ids of the events whose letters are printed, and the word that stands for the rest."""
    plucked = [e for e in score.events if any(n.stroke is not None for n in e.notes)]
    if score.marks.letters == "none":
        return frozenset(), []
    count = max(len(variation.cycle), 1)
    if score.marks.letters == "first" and variation.cycle and len(plucked) > count:
        after = plucked[count]
        sim = HeldSign(text="sim.", role="words", owner=after.id, start=after.onset, face="italic")
        return frozenset(e.id for e in plucked[:count]), [sim]
    return frozenset(e.id for e in plucked), []


def strings_wanted(score: IndexedScore, variation: Variation) -> list[Govern]:
    """The string circles to print; a study of strings has them in the first position too."""
    if score.marks.strings == "never":
        return []
    if score.marks.strings == "changes":
        return string_runs(score, fully=variation.study.strings != "as written")
    return [
        Govern(string=note.placement.string, stretches=[[note.id]])
        for note in score.notes.values()
        if note.placement is not None and not note.tied_back
    ]
