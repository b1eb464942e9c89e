"""How plucking fingers are given to notes: along a cycle, by shortest path, and over chords.

Rules, all common practice: a slurred or tied note is not plucked; what sounds together takes different fingers, lower
fingers on lower strings and p on the lowest; a lower voice is p's; more than five strings at once are swept by p, which
then takes every string below the upper four.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations

from engrave.axes.moments import Moment, Sound, melody, moments, upper_voice
from engrave.model import PLUCKING, Instrument, Stroke, Variation, altered, with_notes

RANK = {finger: rank for rank, finger in enumerate(PLUCKING)}
"""p 0, i 1, m 2, a 3, c 4: the order in which the fingers lie over the strings, from the bass"""

Fingers = tuple[str, ...]


def with_strokes(variation: Variation, fingers: dict[str, str], cycle: Fingers = ()) -> Variation:
    """`variation` plucked by `fingers` (note id → finger); every other note loses its stroke. Stroke kinds stay."""
    changed = {}
    for note in variation.passage.notes:
        finger, now = fingers.get(note.id), note.stroke
        if (now.finger if now else None) != (finger or None):
            kind = now.kind if now else note.given.stroke or "free"
            changed[note.id] = altered(note, stroke=stroke_of(finger, kind) if finger else None)
    return replace(
        variation, passage=with_notes(variation.passage, changed) if changed else variation.passage, cycle=cycle
    )


@cache
def stroke_of(finger: str, kind: str) -> Stroke:
    """The stroke of a finger, made once: there are ten."""
    return Stroke(finger=finger, kind=kind)


def bass_from(instrument: Instrument) -> int:
    """The highest bass string: the wound ones, four and lower on a guitar."""
    return min(instrument.wound & set(range(1, len(instrument.strings) + 1)), default=len(instrument.strings) + 1)


def over(strings: int, *, line: int | None = None, finger: str = "") -> Fingers:
    """Fingers for notes on `strings` strings at once, the lowest string first.

    Where it can be, the note at index `line` takes `finger`; else the hand lies p i m a upward.
    """
    if strings == 1:
        return (finger or "i",)
    if strings > len(PLUCKING):
        return ("p",) * (strings - 4) + ("i", "m", "a", "c")
    if line is not None and finger:
        below, above = line, strings - 1 - line
        rank = RANK[finger]
        if below <= rank <= len(PLUCKING) - 1 - above:
            under = (0, *range(rank - below + 1, rank)) if below else ()
            return tuple(PLUCKING[r] for r in (*under, *range(rank, rank + above + 1)))
    return tuple(PLUCKING[:strings])


Next = Callable[[Sound], str]


def along(variation: Variation, pick: Next) -> tuple[dict[str, str], int]:
    """Fingers for every plucked note where `pick` names the finger of each note of the line, in playing order.

    Returns note id → finger, and in how many chords the finger picked could not take the note of the line.
    """
    voice = upper_voice(variation.passage)
    fingers: dict[str, str] = {}
    bent = 0
    for moment in moments(variation.passage):
        sounds = moment.plucked
        if not sounds:
            continue
        top = melody(moment, voice)
        if top is None:
            given = over(len(sounds), line=0, finger="p")
        else:
            wanted = pick(top)
            given = over(len(sounds), line=sounds.index(top), finger=wanted)
            bent += given[sounds.index(top)] != wanted
        fingers.update({s.note.id: f for s, f in zip(sounds, given, strict=True)})
    return fingers, bent


def turning(cycle: Fingers) -> Next:
    """Picks the fingers of `cycle` one after another."""
    steps = _endless(cycle)
    return lambda _: next(steps)


def _endless(cycle: Fingers) -> Iterator[str]:
    while True:
        yield from cycle


def turning_at_crossings(cycle: Fingers) -> Next:
    """Picks along `cycle`, turning back to the way it came whenever the line changes string."""
    state: list[int] = []

    def pick(sound: Sound) -> str:
        string = sound.placement.string
        if not state:
            state.extend((0, 1, string))
        else:
            at, way, before = state
            way = -way if string != before else way
            state[:] = [(at + way) % len(cycle), way, string]
        return cycle[state[0]]

    return pick


def bass_by_thumb(cycle: Fingers, bass: int) -> Next:
    """Picks p for notes on string `bass` and lower, the next finger of `cycle` for the others."""
    steps = _endless(cycle)
    return lambda sound: "p" if sound.placement.string >= bass else next(steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossings:
    """Changes of string along a row of plucked notes."""

    natural: int = 0
    awkward: int = 0
    repeats: int = 0
    """notes taken by the finger that took the one before"""


def crossings(row: Iterable[tuple[str, int]]) -> Crossings:
    """Crossings in a row of (finger, string).

    Natural: the finger of higher rank takes the string nearer the treble (FACTS of common practice); awkward: the
    opposite; a repeated finger is neither.
    """
    natural = awkward = repeats = 0
    before: tuple[str, int] | None = None
    for finger, string in row:
        if before:
            risen = RANK[finger] - RANK[before[0]]
            towards_treble = before[1] - string
            repeats += not risen
            natural += risen * towards_treble > 0
            awkward += risen * towards_treble < 0
        before = (finger, string)
    return Crossings(natural=natural, awkward=awkward, repeats=repeats)


def starts(cycle: Fingers, sounds: Iterable[Sound]) -> tuple[tuple[int, int], ...]:
    """For each place of `cycle` to start from: (place, awkward crossings along `sounds`)."""
    strings = [s.placement.string for s in sounds]
    return tuple(
        (k, crossings((cycle[(k + n) % len(cycle)], s) for n, s in enumerate(strings)).awkward)
        for k in range(len(cycle))
    )


# --- the shortest path over fingers -----------------------------------------------------------------------------

REPEAT, THUMB_TWICE, THUMB_ON, AWKWARD = 4.0, 2.0, 1.0, 1.0
"""house weights: a finger used twice running, p used twice running (printed editions do it more than any other
repeat), p pushing on to the next string, an awkward crossing"""
OFF_BASS, THUMB_HIGH, RING, WRONG_VOICE = 1.2, 2.0, 0.4, 3.0
"""house weights: a finger on a bass string, p on a treble string, the ring finger, p in the line or a finger in the
bass of music in several voices"""


def shortest(variation: Variation, fixed: dict[str, str]) -> dict[str, str]:
    """The fingers with the fewest repeats and awkward crossings and p on the basses, note id → finger.

    `fixed` (note id → finger) is law. Ties go to the finger of lower rank, so the answer never varies.
    """
    voice = upper_voice(variation.passage)
    several = any(e.voice != voice and e.notes for e in variation.passage.events)
    bass = bass_from(variation.instrument)
    rows = [(m, m.plucked[-1].placement.string, _choices(m, fixed)) for m in moments(variation.passage) if m.plucked]
    # cost to the end from each choice, so that walking forward settles ties in favour of the lower finger
    ahead: list[dict[Fingers, float]] = [{} for _ in rows]
    for n in range(len(rows) - 1, -1, -1):
        moment, top, choices = rows[n]
        later = ahead[n + 1] if n + 1 < len(rows) else {}
        after = rows[n + 1][1] if later else 0
        for choice in choices:
            onward = min((_step_cost(choice, top, c, after) + rest for c, rest in later.items()), default=0.0)
            ahead[n][choice] = onward + _own_cost(moment, choice, bass, voice if several else 0)
    fingers: dict[str, str] = {}
    prior: Fingers = ()
    before = 0
    for (moment, top, choices), rest in zip(rows, ahead, strict=True):
        step = {c: rest[c] + (_step_cost(prior, before, c, top) if prior else 0.0) for c in choices}
        prior, before = min(choices, key=lambda c: round(step[c], 6)), top
        fingers.update({s.note.id: f for s, f in zip(moment.plucked, prior, strict=True)})
    return fingers


def _choices(moment: Moment, fixed: dict[str, str]) -> tuple[Fingers, ...]:
    sounds = moment.plucked
    want = [fixed.get(s.note.id, "") for s in sounds]
    pool = PLUCKING if len(sounds) > 4 or "c" in want else PLUCKING[:4]
    every = list(combinations(pool, len(sounds))) if len(sounds) <= len(PLUCKING) else [over(len(sounds))]
    kept = tuple(c for c in every if all(w in ("", f) for w, f in zip(want, c, strict=True)))
    if kept:
        return kept
    # the source's letters leave the order of the hand: they stand, and what has none takes what is left
    spare = iter([f for f in PLUCKING if f not in want] + ["p"] * len(want))
    return (tuple(w or next(spare) for w in want),)


def _own_cost(moment: Moment, choice: Fingers, bass: int, voice: int) -> float:
    """`voice` is the line's where there are several, else 0."""
    sounds = moment.plucked
    lowest = sounds[0]
    lower = voice > 0 and lowest.event.voice != voice
    return _grip_cost(choice, lowest.placement.string >= bass, several=voice > 0, lower=lower)


@cache
def _grip_cost(choice: Fingers, low: bool, *, several: bool, lower: bool) -> float:
    """What fingers cost by themselves, the lowest of them on a bass string (`low`) or in a lower voice."""
    cost = RING * ("a" in choice and len(choice) < 4) + RING * 4 * ("c" in choice)
    thumb = choice[0] == "p"
    if several:
        return cost + WRONG_VOICE * (thumb != lower and (lower or len(choice) == 1))
    if len(choice) == 1:
        return cost + OFF_BASS * (low and not thumb) + THUMB_HIGH * (thumb and not low)
    return cost + OFF_BASS * (not thumb)


@cache
def _step_cost(prior: Fingers, top: int, choice: Fingers, after: int) -> float:
    """From fingers with their highest on string `top` to fingers with theirs on string `after`."""
    cost = AWKWARD * crossings(((prior[-1], top), (choice[-1], after))).awkward
    if len(prior) > 1 and len(choice) > 1:
        return cost  # chord after chord: the hand lies as it lay
    pushes = len(prior) == len(choice) == 1 and top - after == 1
    shared = sorted(set(prior) & set(choice))
    return cost + sum((THUMB_ON if pushes else THUMB_TWICE) if f == "p" else REPEAT for f in shared)
