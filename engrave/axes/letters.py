"""Letters of the line as written: which plucking finger plays each note, texture by texture.

Rules, common practice: a line is strict alternation of one pair, and only the finger that begins is chosen, so that
most changes of string go the way the hand lies; in a broken chord each finger is bound to its string while the chord
lasts, p below and i m a above it; tremolo is p a m i on every figure; a chord takes a m i from its top note down, p its
lowest, and beyond four strings the thumb sweeps the rest; basses are p's, and a melody over them alternates between
them. A slurred note takes no letter and the alternation goes on as if it were not there. A repeated chord keeps its
fingers. The little finger plays only where it is asked for. Letters that the source prints are law.

Within these rules an exact search over the whole line chooses; its weights are ours.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import cycle as endless
from itertools import islice, pairwise, product

from engrave.axes.plucking import RANK, Fingers, awkward, over
from engrave.model import PLUCKING, Texture, Variation
from engrave.model.texture import BLOCK, BROKEN, LAYERS, LINE, TREMOLO
from engrave.textures import kind_of
from engrave.textures.onsets import OnsetGroup, Sound, onset_groups
from engrave.textures.row import bass_from

AGAIN, HANDED_OVER, AFTER_THUMB, AWKWARD = 1000.0, 4.0, 1.0, 1.0
"""house weights: one finger twice running in a line (never, but for the source's letters); across a change of texture
or in a melody; the same with the thumb between; an awkward change of string"""
RING, OFF_HOME, TOP, OTHER_HAND = 2.5, 0.3, 0.2, 2.0
"""house weights: the ring finger on a melody's single note; each string between a finger of a chord and its own string
(i ③ m ② a ①); a chord whose top note is not a's; a repeated chord with other fingers"""
STRUCK = 1.5
"""house weight: a note by a finger that has just played within a chord, though not on top of it"""
LOW_FINGER, HIGH_THUMB, FREE_RING, THUMB_AGAIN, THUMB_ON = 1.2, 2.0, 0.4, 2.0, 1.0
"""house weights where chords are broken freely, or notes lie between melody and bass: a finger on a bass string, p on a
treble, the ring finger, p twice running, and p pushing on to the next string"""
HOME = {3: "i", 2: "m", 1: "a"}
"""string → the finger that lies over it; common practice"""
_AROUND = ("a", "m", "i")


@dataclass(frozen=True, slots=True, kw_only=True)
class Letter:
    """A plucking finger and why it plays."""

    finger: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """One onset group as the search meets it."""

    group: OnsetGroup
    span: Texture | None
    strings: tuple[int, ...]
    """of its plucked notes, the lowest first"""
    choices: tuple[tuple[Fingers, float, str], ...]
    """fingers from the lowest string up, what they cost by themselves, and why"""

    bound: bool = False
    """each finger has its string"""
    free: bool = False
    """any finger may play"""

    @property
    def kind(self) -> str:
        return self.span.kind if self.span else LINE


def letters(variation: Variation, fixed: dict[str, str]) -> dict[str, Letter]:
    """The finger of every plucked note, note id → finger with the reason; `fixed` (note id → finger) is law.

    Ties go to the finger of lower rank, so the answer never varies.
    """
    row = tuple(_places(variation, fixed))
    # cost to the end from each choice and the finger that played last before it
    ahead: list[dict[tuple[Fingers, str], float]] = []
    for n in range(len(row) - 1, -1, -1):
        later = ahead[-1] if ahead else {}
        here: dict[tuple[Fingers, str], float] = {}
        for choice, own, _ in row[n].choices:
            # what comes after depends on the finger that has played last by then, mostly the choice's own
            onward: dict[str, float] = {}
            for last in ("", "i", "m", "a", "c"):
                now = _last(choice, last)
                if now not in onward:
                    onward[now] = (
                        min(
                            [
                                _step(row[n], choice, now, row[n + 1], c) + later[c, now]
                                for c, _, _ in row[n + 1].choices
                            ]
                        )
                        if later
                        else 0.0
                    )
                here[choice, last] = own + onward[now]
        ahead.append(here)
    ahead.reverse()
    found: dict[str, Letter] = {}
    before: _Place | None = None
    prior: Fingers = ()
    last = ""
    for place, rest in zip(row, ahead, strict=True):
        step = {c: rest[c, last] + (_step(before, prior, last, place, c) if before else 0) for c, _, _ in place.choices}
        prior = min(step, key=lambda c: (round(step[c], 6), [RANK[f] for f in c]))
        why = next(why for c, _, why in place.choices if c == prior)
        last = _last(prior, last)
        for sound, finger in zip(place.group.plucked, prior, strict=True):
            law = sound.note.id in fixed
            found[sound.note.id] = Letter(finger=finger, why="printed in the source" if law else _thumb(finger) or why)
        before = place
    return found


def fingers_as_written(variation: Variation, fixed: dict[str, str]) -> dict[str, str]:
    """The finger of every plucked note alone, as `letters` has them."""
    return {name: letter.finger for name, letter in letters(variation, fixed).items()}


def _thumb(finger: str) -> str:
    return "a bass is the thumb's" if finger == "p" else ""


def _last(choice: Fingers, before: str) -> str:
    """The finger other than p that played last, its highest."""
    return choice[-1] if choice[-1] != "p" else before


def _step(one: _Place, prior: Fingers, last: str, other: _Place, choice: Fingers) -> float:
    """From one onset group to the next; `last` is the finger other than p that played last up to and with `one`."""
    if one.bound and other.bound:
        return 0.0
    finger = choice[-1]
    if one.free and other.free and finger == "p" == prior[-1]:
        return THUMB_ON if one.strings[-1] - other.strings[-1] == 1 else THUMB_AGAIN
    if finger == "p" or not last:
        return 0.0
    chords = len(prior) > 1 and len(choice) > 1
    if one.kind == other.kind == BLOCK and chords:
        return OTHER_HAND * (one.strings == other.strings and prior != choice)
    thumb_between = prior[-1] == "p"
    cost = 0.0
    if finger == last and not (len(prior) > 2 and len(choice) > 2):
        within = one.span == other.span and other.kind == LINE
        cost = AFTER_THUMB if thumb_between else AGAIN if within else HANDED_OVER
    if len(choice) == 1 < len(prior) and finger != last and finger in prior:
        # on its own string it is in its place
        cost += STRUCK / 2 if one.strings[prior.index(finger)] == other.strings[0] else STRUCK
    if len(choice) == 1 and not thumb_between and finger != last:
        cost += AWKWARD * awkward((last, one.strings[-1]), (finger, other.strings[-1]))
    return cost


def _places(variation: Variation, fixed: dict[str, str]) -> Iterator[_Place]:
    where = kind_of(variation)
    bound = _bound(variation, where)
    bass = bass_from(variation)
    low_lines = _low_lines(variation, where, bass)
    inner = _inner(variation, where)
    for group in onset_groups(variation.passage):
        if not group.plucked:
            continue
        strings = tuple(s.placement.string for s in group.plucked)
        first = group.plucked[0].note.id
        span = where.get(first) or where.get(group.plucked[-1].note.id)
        own = [bound.get(s.note.id, "") for s in group.plucked]
        if all(own):
            kind = span.kind if span else BROKEN
            why = "p a m i on every figure" if kind == TREMOLO else "bound to its string while the chord lasts"
            options: tuple[tuple[Fingers, float, str], ...] = ((tuple(own), 0.0, why),)
        else:
            options = _options(variation, span, group, bass=bass, low_lines=low_lines, inner=inner)
        yield _Place(
            group=group,
            span=span,
            strings=strings,
            choices=_lawful(group, options, fixed),
            bound=all(own),
            free=len(options) == 4 and not all(own),
        )


def _lawful(
    group: OnsetGroup, options: tuple[tuple[Fingers, float, str], ...], fixed: dict[str, str]
) -> tuple[tuple[Fingers, float, str], ...]:
    """The options that the source's letters allow; where they allow none, those letters with others around them."""
    want = tuple(fixed.get(s.note.id, "") for s in group.plucked)
    if not any(want):
        return options
    kept = tuple(o for o in options if all(w in ("", f) for w, f in zip(want, o[0], strict=True)))
    if kept:
        return kept
    if len(want) == 1:
        return ((want, 0.0, ""),)
    free = [f for f in PLUCKING[:4] if f not in want]
    ordered = _between(want, free)
    if ordered:
        return ((ordered, 0.0, "the hand lies so around the source's letters"),)
    # the source's letters leave the order of the hand: they stand, and what has none takes what is left
    spare = iter([*free, *("p",) * len(want)])
    return ((tuple(w or next(spare) for w in want), 0.0, "what the source's letters leave"),)


def _between(want: Fingers, free: Sequence[str]) -> Fingers:
    """`want` with its gaps filled so that fingers rise towards the treble; () where they cannot."""
    ways = product(*([finger] if finger else free for finger in want))
    return next((way for way in ways if all(RANK[a] < RANK[b] or a == b == "p" for a, b in pairwise(way))), ())


def _low_lines(variation: Variation, where: dict[str, Texture], bass: int) -> frozenset[Texture]:
    """Lines that lie on the bass strings, where the player has the thumb play those."""
    if variation.habits.bass_line != "p":
        return frozenset()
    high = {s.note.id for m in onset_groups(variation.passage) for s in m.plucked if s.placement.string < bass}
    lines = {span for span in where.values() if span.kind == LINE}
    return frozenset(span for span in lines if not any(name in high for figure in span.figures for name in figure))


def _inner(variation: Variation, where: dict[str, Texture]) -> frozenset[str]:
    """Single notes of a melody with bass where, from one bass to the next, fingers are wanted on three strings or more.

    There the melody does not alternate: a takes it, or whoever is free, while i and m play what lies between.
    """
    stretches: list[list[OnsetGroup]] = []
    for group in onset_groups(variation.passage):
        span = where.get(group.plucked[0].note.id) if group.plucked else None
        if span is not None and span.kind == LAYERS:
            if not stretches or group.plucked[0].note.id in span.basses:
                stretches.append([])
            stretches[-1].append(group)
    found: set[str] = set()
    for row in stretches:
        basses = where[row[-1].plucked[0].note.id].basses
        strings = {s.placement.string for m in row for s in m.plucked if s.note.id not in basses}
        if len(strings) >= max(2, 3 - (len(row[0].plucked) > 1)):
            found.update(m.plucked[0].note.id for m in row if len(m.plucked) == 1)
    return frozenset(found)


def _options(
    variation: Variation,
    span: Texture | None,
    group: OnsetGroup,
    *,
    bass: int,
    low_lines: frozenset[Texture],
    inner: frozenset[str],
) -> tuple[tuple[Fingers, float, str], ...]:
    """The fingers an onset group may have outside figures."""
    strings = tuple(s.placement.string for s in group.plucked)
    kind = span.kind if span else LINE
    pair = variation.habits.pair.split("-")
    if len(strings) == 1:
        if span in low_lines or (span and group.plucked[0].note.id in span.basses):
            return ((("p",), 0.0, "a bass is the thumb's"),)
        if kind == BLOCK and strings[0] >= bass:
            return ((("p",), 0.0, "a bass is the thumb's"),)
        turn = "in turn, begun so that most changes of string lie well"
        if kind == BROKEN or (span and group.plucked[0].note.id in inner):
            low = strings[0] >= bass
            return (
                (("p",), 0.0 if low else HIGH_THUMB, "the thumb is nearest"),
                *(((f,), LOW_FINGER * low + FREE_RING * (f == "a"), "the finger is free and lies well") for f in "ima"),
            )
        options = tuple(((finger,), 0.0, turn) for finger in pair)
        if kind == LAYERS and "a" not in pair:
            options = (*options, (("a",), RING, "i and m are wanted on both sides"))
        return options
    low = span is not None and kind in (LAYERS, BROKEN) and group.plucked[0].note.id in span.basses
    return _grips(strings, low or strings[0] >= bass, variation.habits.little)


@cache
def _grips(strings: tuple[int, ...], low: bool, little: bool) -> tuple[tuple[Fingers, float, str], ...]:
    """The ways to pluck a chord on these strings, the lowest first; `low` where its lowest is the thumb's."""
    why = "a m i from the top note down"
    count = len(strings)
    if count > 4 or (count == 4 and not low):
        fingers = "imac" if little and count > 4 else "ima"
        return (((*("p",) * (count - len(fingers)), *fingers), 0.0, why),)
    over = count - low
    if over == 1:
        return tuple(((*("p",) * low, f), RING * (f == "a"), "in turn over the bass") for f in "ima")
    if over == 2 and not low:
        return ((("i", "m"), 0.0, "two together are i m"), (("m", "a"), 1.0, "i has just played"))
    choices = (("i", "m", "a"),) if over == 3 else (("i", "m"), ("m", "a"), ("i", "a"))
    found = []
    for above in choices:
        apart = [abs(RANK[f] - RANK[HOME.get(s, "i")]) for f, s in zip(above, strings[-over:], strict=True)]
        found.append(((*("p",) * low, *above), OFF_HOME * sum(apart) + TOP * (above[-1] != "a"), why))
    return tuple(found)


def _bound(variation: Variation, where: dict[str, Texture]) -> dict[str, str]:
    """Note id → finger in broken chords and tremolo, where string and place in the figure settle it."""
    struck = {s.note.id: m for m in onset_groups(variation.passage) for s in m.plucked}
    plucked = {s.note.id: s for m in onset_groups(variation.passage) for s in m.plucked}
    bass = bass_from(variation)
    fingers: dict[str, str] = {}
    for span in dict.fromkeys(where.values()):
        hand: dict[int, str] = {}
        for figure in span.figures:
            strings = [(name, plucked[name].placement.string) for name in figure if name in plucked]
            if span.kind == BROKEN:
                lying = sorted({s for _, s in strings})
                # what no hand holds as one chord is plucked by whoever is free
                if not set(lying) <= set(hand) and not _held(strings, plucked):
                    continue
                hand = _hand(lying, hand, bass)
                fingers |= {name: hand[string] for name, string in strings}
                for group in _skipped({name: string for name, string in strings if hand[string] == "p"}, struck):
                    fingers |= dict(zip([s.note.id for s in group.plucked], over(len(group.plucked)), strict=True))
            elif span.kind == TREMOLO:
                fingers |= _tremolo(strings)
    return fingers


def _skipped(thumbed: dict[str, int], struck: dict[str, OnsetGroup]) -> list[OnsetGroup]:
    """Chords in which the thumb (note id → its string) would sweep over a silent string, though four fingers do."""
    rows: dict[int, list[int]] = {}
    groups: dict[int, OnsetGroup] = {}
    for name, string in thumbed.items():
        if len(struck[name].plucked) < len(PLUCKING):
            rows.setdefault(id(struck[name]), []).append(string)
            groups[id(struck[name])] = struck[name]
    return [groups[key] for key, row in rows.items() if max(row) - min(row) >= len(row)]


def _held(figure: Sequence[tuple[str, int]], plucked: dict[str, Sound]) -> bool:
    """Whether a figure lies on three strings or more, each but the highest at one fret."""
    frets: dict[int, set[int]] = {}
    for name, string in figure:
        frets.setdefault(string, set()).add(plucked[name].placement.fret)
    return len(frets) > 2 and all(len(stops) == 1 for string, stops in frets.items() if string != min(frets))


def _hand(strings: Sequence[int], before: dict[int, str], bass: int) -> dict[int, str]:
    """String → finger for a broken chord on these strings, the highest first; a hand that lies so already stays."""
    if before and set(strings) <= set(before):
        return before
    low = strings[-1] >= bass and len(strings) > 1
    upper = list(strings[:-1] if low else strings)[:3]
    held = [before.get(s, "") for s in upper]
    if len(upper) == 1:
        above = [held[0] if held[0] not in ("", "p") else HOME.get(upper[0], "i") if low else "p"]
        above = above if upper[0] < bass or low else ["p"]
    elif len(upper) == 2:
        kept = all(f in _AROUND for f in held) and held[0] != held[1]
        above = held if kept else ["m", "i"] if upper[1] - upper[0] == 1 else ["a", "i"]
    else:
        above = ["a", "m", "i"]
    return {s: above[n] if n < len(above) else "p" for n, s in enumerate(strings)}


def _tremolo(figure: Sequence[tuple[str, int]]) -> dict[str, str]:
    """P on the bass and a m i, as often as they go, on the string above it."""
    if not figure:
        return {}
    string = min(s for _, s in figure)
    repeated = [name for name, s in figure if s == string]
    lower = [name for name, s in figure if s != string]
    around = list(islice(endless(_AROUND), len(repeated)))
    if not lower:
        # an upbeat ends as a whole figure does
        around = list(islice(endless(reversed(_AROUND)), len(repeated)))[::-1]
    return dict(zip(repeated, around, strict=True)) | dict.fromkeys(lower, "p")
