"""Plucking fingers on notes: along a cycle, over chords, and how changes of string fall.

Rules, all common practice: a slurred or tied note is not plucked; what sounds together takes different fingers, lower
fingers on lower strings and p on the lowest; a bass is p's; beyond four strings at once p takes, in one stroke, every
string below the upper three. A cycle runs along lines, and along a melody over a bass, where p is not free; it begins
anew where the texture changes, and everything else keeps its letters.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache

from engrave.model import PLUCKING, Stroke, Texture, Variation, replace_unchecked, with_notes
from engrave.model.texture import LAYERS, LINE
from engrave.textures import kind_of
from engrave.textures.onsets import OnsetGroup, Sound, onset_groups

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
            changed[note.id] = replace_unchecked(note, stroke=stroke_of(finger, kind) if finger else None)
    return replace(
        variation, passage=with_notes(variation.passage, changed) if changed else variation.passage, cycle=cycle
    )


@cache
def stroke_of(finger: str, kind: str) -> Stroke:
    """The stroke of a finger, made once: there are ten."""
    return Stroke(finger=finger, kind=kind)


def over(strings: int, *, line: int | None = None, finger: str = "") -> Fingers:
    """Fingers for notes on `strings` strings at once, the lowest string first.

    Where it can be, the note at index `line` takes `finger`; else the hand lies p i m a upward.
    """
    if strings == 1:
        return (finger or "i",)
    if strings > len(PLUCKING) - 1 and finger != "c":
        return ("p",) * (strings - 3) + ("i", "m", "a")
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
RUNNING = (LINE, LAYERS)
"""textures that a cycle runs along"""


def along(
    variation: Variation, new: Callable[[], Next], letters: dict[str, str], cycle: Fingers = ()
) -> tuple[dict[str, str], int, int]:
    """Fingers for every plucked note where a cycle names those of lines and of melodies over a bass.

    `new` begins the cycle; `letters` (note id → finger) are those of all other notes. Two notes over a bass are for
    both fingers of a `cycle` of two. Returns note id → finger, how many notes the cycle reached, and in how many chords
    the finger whose turn it was could not take the top note.
    """
    where = kind_of(variation)
    fingers = dict(letters)
    reached = bent = 0
    between = False
    pick = new()
    for group in onset_groups(variation.passage):
        sounds = group.plucked
        now = where.get(sounds[0].note.id) if sounds else None
        if not sounds:
            continue
        if now and now.kind not in RUNNING:
            between = True
            continue
        if between:
            pick, between = new(), False
        top = top_of(group, now)
        if top is None:
            continue
        wanted = pick(top)
        given = over(len(sounds), line=sounds.index(top), finger=wanted)
        if len(sounds) == len(set(cycle)) + 1 == 3 and "p" not in cycle:
            given = ("p", *sorted(set(cycle), key=RANK.__getitem__))
        reached += 1
        bent += given[sounds.index(top)] != wanted
        fingers.update({s.note.id: f for s, f in zip(sounds, given, strict=True)})
    return fingers, reached, bent


def top_of(group: OnsetGroup, span: Texture | None) -> Sound | None:
    """The note of an onset group that a cycle plays: its highest string. None where only the bass sounds."""
    own = [s for s in group.plucked if span is None or s.note.id not in span.basses]
    return own[-1] if own else None


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

    Natural: the finger of higher rank takes the string nearer the treble (common practice); awkward: the
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


def awkward(one: tuple[str, int], other: tuple[str, int]) -> bool:
    """Whether the change from one (finger, string) to another goes against the way the hand lies."""
    return crossings((one, other)).awkward > 0


def starts(cycle: Fingers, sounds: Iterable[Sound]) -> tuple[tuple[int, int], ...]:
    """For each place of `cycle` to start from: (place, awkward crossings along `sounds`)."""
    strings = [s.placement.string for s in sounds]
    return tuple(
        (k, crossings((cycle[(k + n) % len(cycle)], s) for n, s in enumerate(strings)).awkward)
        for k in range(len(cycle))
    )
