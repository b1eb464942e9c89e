"""What is left when figures are taken out: line, chords broken freely, block chord, or melody with bass.

An exact shortest path: each onset says how badly it fits each of the four; a change from one to another costs too, so
that one odd onset does not make a stretch of its own. The figures are ours, set so that the
plain textures of any method come out by name.
"""

from __future__ import annotations

from collections.abc import Sequence

from engrave.model.texture import BLOCK, BROKEN, LAYERS, LINE
from engrave.textures.row import Onset

LEAP = 8
"""semitones from a bass to the melody beside it, at least: more than a fifth"""
THIRD = 3
"""semitones of a leap in a chord, at least: a minor third"""
CHANGE = 2.0
_NO = 3.0
"""a chord in a line"""
_COSTS: dict[str, dict[str, float]] = {
    "step": {LINE: 0.0, BROKEN: 0.8, BLOCK: 1.0, LAYERS: 0.15},
    "leap": {LINE: 0.35, BROKEN: 0.0, BLOCK: 1.0, LAYERS: 0.3},
    "low step": {LINE: 0.0, BROKEN: 0.8, BLOCK: 0.6, LAYERS: 0.3},
    "bass alone": {LINE: 1.5, BROKEN: 0.1, BLOCK: 0.3, LAYERS: 0.0},
    "bass and melody": {LINE: _NO, BROKEN: 0.4, BLOCK: 0.5, LAYERS: 0.0},
    "two together": {LINE: _NO, BROKEN: 1.0, BLOCK: 0.0, LAYERS: 0.4},
    "chord": {LINE: _NO, BROKEN: 2.0, BLOCK: 0.0, LAYERS: 0.5},
    "full chord": {LINE: _NO, BROKEN: 2.0, BLOCK: 0.0, LAYERS: 0.8},
}
_KINDS = (LINE, LAYERS, BROKEN, BLOCK)
"""the first of equals is taken"""


def sorted_out(row: Sequence[Onset]) -> tuple[str, ...]:
    """The texture of each onset: line, broken chord, block chord, or melody and bass."""
    if not row:
        return ()
    costs = [_COSTS[_evidence(row, n)] for n in range(len(row))]
    best: dict[str, tuple[float, tuple[str, ...]]] = {kind: (costs[0][kind], (kind,)) for kind in _KINDS}
    for cost in costs[1:]:
        best = {
            kind: min(
                ((before + CHANGE * (old != kind) + cost[kind], (*path, kind)) for old, (before, path) in best.items()),
                key=lambda found: round(found[0], 9),
            )
            for kind in _KINDS
        }
    return min(best.values(), key=lambda found: round(found[0], 9))[1]


def _evidence(row: Sequence[Onset], n: int) -> str:
    """What an onset looks like, a key of _COSTS."""
    onset = row[n]
    if len(onset.places) > 2:
        return "full chord" if len(onset.places) > STRINGS_OF_FINGERS else "chord"
    if not onset.single:
        wide = onset.top.note.pitch.midi - onset.low.note.pitch.midi >= LEAP
        return "bass and melody" if wide and onset.bass else "two together"
    if onset.bass and _apart(row, n):
        return "bass alone"
    if _leaps(row, n):
        return "leap"
    return "low step" if onset.bass else "step"


def _leaps(row: Sequence[Onset], n: int) -> bool:
    """Whether a single note leaves the notes beside it, basses aside, by a third or more and on another string."""
    near = []
    for step in (-1, 1):
        m = n + step
        while 0 <= m < len(row) and row[m].single and row[m].bass and not row[n].bass and _apart(row, m):
            m += step
        if 0 <= m < len(row):
            near.append(row[m].top)
    own = row[n].low
    return bool(near) and all(
        abs(s.note.pitch.midi - own.note.pitch.midi) >= THIRD and s.placement.string != own.placement.string
        for s in near
    )


def _apart(row: Sequence[Onset], n: int) -> bool:
    """Whether a single low note lies a leap under the melody just before or after it, and none is nearer."""
    near = [row[m].top for m in (n - 1, n + 1) if 0 <= m < len(row)]
    gaps = [top.note.pitch.midi - row[n].low.note.pitch.midi for top in near]
    return bool(gaps) and max(gaps) >= LEAP and all(gap >= LEAP or gap == 0 for gap in gaps)


def basses(row: Sequence[Onset]) -> frozenset[str]:
    """Ids of the bass of a melody with bass: as written out, or the lowest of a chord and low notes nearer to it."""
    found: set[str] = set()
    melody: int | None = None
    bass: int | None = None
    for onset in row:
        low, top = onset.low.note.pitch.midi, onset.top.note.pitch.midi
        if onset.written:
            found.update(s.note.id for s in onset.sounds if onset.bass and s.event.voice == onset.low.event.voice)
        elif not onset.single:
            deep = onset.low.placement.string >= LOWEST_OF_FINGERS and top - low >= LEAP
            if onset.bass or deep or len(onset.places) > STRINGS_OF_FINGERS:
                found.add(onset.low.note.id)
                found.update(s.note.id for s in onset.sounds if s.placement.string == onset.low.placement.string)
                bass = low
            melody = top
        elif onset.bass and (melody is None or _nearer(low, bass, melody)):
            found.update(s.note.id for s in onset.sounds)
            bass = low
        else:
            melody = top
    return frozenset(found)


STRINGS_OF_FINGERS = 3
"""strings that i m a take"""
LOWEST_OF_FINGERS = 3
"""the lowest string of the trebles: above it no note is the thumb's"""
_LEAN = 5
"""semitones by which a note on a bass string counts as nearer to the bass"""


def _nearer(midi: int, bass: int | None, melody: int) -> bool:
    if bass is None:
        return melody - midi >= LEAP
    return abs(midi - bass) - _LEAN <= abs(melody - midi)
