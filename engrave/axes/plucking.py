"""Plucking fingers on notes: along a cycle, over chords, and how changes of string fall.

Rules, all common practice: a slurred or tied note is not plucked; what sounds together takes different fingers, lower
fingers on lower strings and p on the lowest; a bass is p's; beyond four strings at once p takes, in one stroke, every
string below the upper three. A cycle runs along lines, and along a melody over a bass, where p is not free; it begins
anew where the texture changes, and everything else keeps its letters.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, replace
from functools import cache
from itertools import cycle as endless
from itertools import pairwise

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


Next = Callable[[Sound, Sound | None, str], str]
"""the finger for a note; then come the note after it, if there is one, and the finger that the note before it got"""
RUNNING = (LINE, LAYERS)
"""textures that a cycle runs along"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """What is plucked at once, as a cycle meets it."""

    sounds: tuple[Sound, ...]
    """from the lowest string up"""
    top: Sound
    """the note that takes the finger"""
    chord: bool
    """whether other notes than a bass are plucked with it"""

    @property
    def stops(self) -> tuple[tuple[int, int], ...]:
        """String and fret of each note."""
        return tuple((s.placement.string, s.placement.fret) for s in self.sounds)


def runs(variation: Variation, kinds: Collection[str] = RUNNING) -> tuple[tuple[Turn, ...], ...]:
    """What a cycle meets, in order: it begins anew after a stretch of other textures than `kinds`."""
    where = kind_of(variation)
    found: list[list[Turn]] = [[]]
    for group in onset_groups(variation.passage):
        now = where.get(group.plucked[0].note.id) if group.plucked else None
        top = top_of(group, now)
        if now and now.kind not in kinds:
            found.append([])
        elif top is not None:
            own = [s for s in group.plucked if now is None or s.note.id not in now.basses]
            found[-1].append(Turn(sounds=group.plucked, top=top, chord=len(own) > 1))
    return tuple(tuple(run) for run in found if run)


def along(
    variation: Variation,
    new: Callable[[], Next],
    letters: dict[str, str],
    cycle: Fingers = (),
    kinds: Collection[str] = RUNNING,
) -> tuple[dict[str, str], int, int]:
    """Fingers for every plucked note where a cycle names those of `kinds`: lines and melodies over a bass.

    `new` begins the cycle; `letters` (note id → finger) are those of all other notes. Two notes over a bass are for
    both fingers of a `cycle` of two, and a chord that is struck again keeps its fingers. Returns note id → finger, how
    many notes the cycle reached, and in how many chords the finger whose turn it was could not take the top note.
    """
    fingers = dict(letters)
    reached = bent = 0
    for run in runs(variation, kinds):
        pick, took, otherwise = new(), "", False
        before: dict[tuple[int, int], str] = {}
        for turn, coming in zip(run, (*run[1:], None), strict=True):
            at, count = turn.sounds.index(turn.top), len(turn.sounds)
            if turn.chord and set(turn.stops) <= before.keys():
                given = tuple(before[stop] for stop in turn.stops)
            else:
                wanted = pick(turn.top, coming.top if coming else None, took)
                given = over(count, line=at, finger=wanted)
                if count == len(set(cycle)) + 1 == 3 and "p" not in cycle:
                    given = ("p", *sorted(set(cycle), key=RANK.__getitem__))
                took = given[at]
                otherwise = took != wanted
            reached += 1
            bent += otherwise
            before = dict(zip(turn.stops, given, strict=True))
            fingers.update({s.note.id: f for s, f in zip(turn.sounds, given, strict=True)})
    return fingers, reached, bent


def top_of(group: OnsetGroup, span: Texture | None) -> Sound | None:
    """The note of an onset group that a cycle plays: its highest string. None where only the bass sounds."""
    own = [s for s in group.plucked if span is None or s.note.id not in span.basses]
    return own[-1] if own else None


def turning(cycle: Fingers) -> Next:
    """Picks the fingers of `cycle` one after another.

    Where a hand took another finger, the cycle goes on from that one. Where a thumb in turn would lie nearer the treble
    than the finger before or after it, it plays twice running, or leaves its turn out (common practice).
    """
    at, asked, lay = -1, "", 0
    thumbed = "p" in cycle and len(set(cycle)) > 1

    def pick(here: Sound, coming: Sound | None, took: str) -> str:
        nonlocal at, asked, lay
        at = _after(cycle, at, took) if took != asked else at
        string, after = here.placement.string, coming.placement.string if coming else 0
        first, second, third = (cycle[(at + n) % len(cycle)] for n in (1, 2, 3))
        step = 1
        if thumbed and first != "p":
            under = took == "p" and lay < string
            soon = second == "p" and third == first and 0 < after < string and not (took != "p" and lay > string)
            step = 0 if under or soon else 1
        elif thumbed and took and took != "p" and lay > string and second not in ("p", took):
            step = 2
        at, lay = at + step, string
        asked = cycle[at % len(cycle)] if step else "p"
        return asked

    return pick


def steady(cycle: Fingers) -> Next:
    """Picks the fingers of `cycle` one after another, whatever the strings; every other note begins it anew."""
    fingers, last = iter(cycle), (0, 0)

    def pick(here: Sound, _coming: Sound | None, _took: str) -> str:
        nonlocal fingers, last
        now = here.placement.string, here.placement.fret
        if now != last:
            fingers, last = endless(cycle), now
        return next(fingers)

    return pick


def _after(cycle: Fingers, at: int, took: str) -> int:
    """The place in `cycle` of the finger that played where the one at `at` should have; one back where it is none."""
    return next((n for n in range(at, at + len(cycle)) if cycle[n % len(cycle)] == took), at - 1)


def turning_at_crossings(cycle: Fingers) -> Next:
    """Picks along `cycle`, turning back to the way it came whenever the line changes string."""
    at, way, before = -1, 1, 0

    def pick(sound: Sound, _: Sound | None, __: str) -> str:
        nonlocal at, way, before
        string = sound.placement.string
        way = -way if before and string != before else way
        at, before = (at + way) % len(cycle), string
        return cycle[at]

    return pick


def bass_by_thumb(cycle: Fingers, bass: int) -> Next:
    """Picks p for notes on string `bass` and lower, the next finger of `cycle` for the others."""
    steps = endless(cycle)
    return lambda sound, _, __: "p" if sound.placement.string >= bass else next(steps)


def over_fingers(row: Iterable[tuple[str, int]]) -> int:
    """In how many steps of a row of (finger, string) the thumb lies nearer the treble than the finger beside it."""
    found = 0
    for one, other in pairwise(row):
        thumb, finger = (one, other) if one[0] == "p" else (other, one)
        found += thumb[0] == "p" != finger[0] and finger[1] > thumb[1]
    return found


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
    steps = [(RANK[other[0]] - RANK[one[0]], one[1] - other[1]) for one, other in pairwise(row)]
    return Crossings(
        natural=sum(risen * towards_treble > 0 for risen, towards_treble in steps),
        awkward=sum(risen * towards_treble < 0 for risen, towards_treble in steps),
        repeats=sum(not risen for risen, _ in steps),
    )


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
