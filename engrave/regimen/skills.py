"""Technique broken into skills: the smallest things the hands do that can be wanted, counted and covered.

Each skill has a kind, its parts, and words for the coverage table. `count` finds how often each occurs in one time
through a variation. Skills are counted from the music as it will be played, never from the name of a setting, but for
the ways of working that cannot be seen in the notes (`work`).

Conventions: treble strings are the plain ones, bass strings the wound ones; the leading stroke of a group is the one
on the highest string; reach in mm along the neck.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, pairwise

from engrave.model import PLUCKING, Placement, Variation
from engrave.model.said import say
from engrave.regimen.skill_words import LABELS, PARTICULARS
from engrave.regimen.terms import Term
from engrave.textures.onsets import OnsetGroup, Sound, onset_groups, sounding_end

GROUPS = {
    "pair": say("Plucking fingers in turn"),
    "again": say("One plucking finger twice running"),
    "chord": say("Strokes together"),
    "crossing": say("String crossings"),
    "accent": say("Accents"),
    "string": say("Strings"),
    "finger": say("Fretting fingers"),
    "fingers": say("Fretting fingers in turn"),
    "slur": say("Slurs"),
    "let go": say("Letting go"),
    "reach": say("Reach"),
    "shift": say("Changes of position"),
    "place": say("Places on the neck"),
    "barre": say("Barre"),
    "tremolo": say("Tremolo"),
    "order": say("The order of tremolo"),
    "rhythm": say("Rhythm"),
    "work": say("Ways of working"),
    "asked": say("What comes first"),
}
"""kind of skill → heading in the coverage table, in its order"""
_PLACES = {kind: place for place, kind in enumerate(GROUPS)}
_Key = tuple[str, tuple[str, ...]]
"""kind and parts of a skill"""


@dataclass(frozen=True, slots=True, order=True)
class Skill:
    """One smallest thing the hands do."""

    kind: str
    """a key of GROUPS"""
    parts: tuple[str, ...]

    @property
    def label(self) -> str:
        """The skill in words, without its particulars."""
        return LABELS[self.kind](*self.parts)

    @property
    def where(self) -> str:
        """Its particulars in words, e.g. "treble strings, free stroke"; empty where it has none."""
        return PARTICULARS[self.kind](*self.parts) if self.kind in PARTICULARS else ""

    @property
    def place(self) -> tuple[int, tuple[str, ...]]:
        """Where it stands in the coverage table."""
        return (_PLACES[self.kind], self.parts)


def count(variation: Variation) -> Mapping[Skill, int]:
    """How often each skill occurs in one time through, in a fixed order."""
    # plain pairs, all at once: half of what it takes to count skills group by group
    found = Counter(_keys(variation))
    return {Skill(*key): found[key] for key in sorted(found, key=lambda key: (_PLACES[key[0]], key[1]))}


def _keys(variation: Variation) -> Iterator[_Key]:
    """Every skill that occurs, as often as it does."""
    row = onset_groups(variation.passage)
    for group in row:
        yield from _in_group(group, variation)
    until, ends = Fraction(0), sounding_end(variation.passage)
    for before, after in pairwise(row):
        yield from _plucked(before, after, variation)
        yield from _timed(before, after)
        until = max([until, *(ends[s.note.id] for s in before.sounds)])
        if after.onset > until and not (before.grace or after.grace):
            # a bass that sounds on under a rest leaves no silence
            yield ("rhythm", ("a rest between notes",))
    # an open string between two fretted notes does not part the fingers that stop them
    fretted = [group for group in row if group.stopped]
    for before, after in pairwise(fretted):
        yield from _stopped(before, after, variation)
    for group in fretted:
        yield from _held(group, variation)
    yield from _slurred(row)
    yield from _let_go(row)
    yield from _tremolo(row)
    yield from _order(row)


def _in_group(group: OnsetGroup, variation: Variation) -> Iterator[_Key]:
    strokes = [s.note.stroke.finger for s in group.sounds if s.note.stroke]
    if len(strokes) > 1:
        yield ("chord", (" ".join(sorted(strokes, key=PLUCKING.index)),))
    for sound in group.sounds:
        place = sound.placement
        if place.finger:
            yield ("finger", (str(place.finger), _side(sound, variation)))
            yield ("place", (_height(place.fret),))
        if place.barre:
            yield ("barre", (place.barre,))
        if sound.note.stroke:
            yield ("string", (str(place.string),))
            if "accent" in sound.event.marks or "marcato" in sound.event.marks:
                yield ("accent", (sound.note.stroke.finger,))


def _side(sound: Sound, variation: Variation) -> str:
    return "bass" if sound.placement.string in variation.instrument.wound else "treble"


def _height(fret: int) -> str:
    return "frets 1 to 4" if fret <= 4 else "frets 5 to 8" if fret <= 8 else "fret 9 and above"


def _leading(group: OnsetGroup) -> Sound | None:
    plucked = [s for s in group.sounds if s.note.stroke]
    return plucked[-1] if plucked else None


def _chordal(group: OnsetGroup) -> bool:
    """Whether several fingers pluck together, the thumb not counted."""
    return sum(s.note.stroke is not None and s.note.stroke.finger != "p" for s in group.plucked) > 1


def _plucked(before: OnsetGroup, after: OnsetGroup, variation: Variation) -> Iterator[_Key]:
    """From one leading stroke to the next: the pair of fingers and the string crossing."""
    one, other = _leading(before), _leading(after)
    if one is None or other is None or one.note.stroke is None or other.note.stroke is None:
        return
    first, second, kind = one.note.stroke.finger, other.note.stroke.finger, other.note.stroke.kind
    sides = {_side(one, variation), _side(other, variation)}
    where = f"{sides.pop()} strings" if len(sides) == 1 else "between bass and treble"
    if _chordal(before) or _chordal(after):
        # in a chord every finger plucks, whatever it did before: none follows another
        return
    yield ("pair", (first, second, where, kind)) if first != second else ("again", (first, where, kind))
    step = one.placement.string - other.placement.string
    if step and first != second:
        rises = PLUCKING.index(second) > PLUCKING.index(first)
        natural = "natural" if rises == (step > 0) else "awkward"
        wide = "next string" if abs(step) == 1 else "strings skipped"
        yield ("crossing", (natural, "treble" if step > 0 else "bass", wide))


def _stopped(before: OnsetGroup, after: OnsetGroup, variation: Variation) -> Iterator[_Key]:
    """From the fretted notes of one group to those of the next: fingers, reach in one position, change of position."""
    there, here = _fretted(before), _fretted(after)
    pairs = [(a, b) for a in there for b in here if a.finger != b.finger]
    if pairs:
        a, b = pairs[-1]
        yield ("fingers", (str(a.finger), str(b.finger)))
    for a, b in pairs:
        if a.position == b.position:
            yield _reach(a, b, variation)
    step = here[-1].position - there[-1].position
    if step:
        yield ("shift", ("step" if abs(step) <= 2 else "leap", "higher" if step > 0 else "lower"))


def _held(group: OnsetGroup, variation: Variation) -> Iterator[_Key]:
    """Reach between the fingers of one group."""
    for a, b in combinations(_fretted(group), 2):
        if a.finger != b.finger:
            yield _reach(a, b, variation)


def _fretted(group: OnsetGroup) -> list[Placement]:
    return [s.placement for s in group.stopped]


def _reach(a: Placement, b: Placement, variation: Variation) -> _Key:
    low, high = sorted((str(a.finger), str(b.finger)))
    mm, comfort = variation.reach(a, b)
    return ("reach", (low, high, "beyond comfort" if mm > comfort else "within comfort"))


def _timed(before: OnsetGroup, after: OnsetGroup) -> Iterator[_Key]:
    """How one length follows another."""
    one = max((s.event.duration for s in before.sounds), default=0)
    other = max((s.event.duration for s in after.sounds), default=0)
    if before.grace or after.grace or not one or not other:
        yield ("rhythm", ("grace note",))
        return
    if one == other:
        inside = any(s.event.tuplets for s in after.sounds)
        yield ("rhythm", ("even notes in a tuplet" if inside else "even notes",))
    else:
        yield ("rhythm", ("long then short" if one > other else "short then long",))


def _slurred(row: tuple[OnsetGroup, ...]) -> Iterator[_Key]:
    finger = {s.note.id: s.placement.finger for group in row for s in group.sounds}
    for group in row:
        for sound in group.sounds:
            if sound.note.slurred_from in finger:
                yield ("slur", (str(finger[sound.note.slurred_from]), str(sound.placement.finger)))


def _let_go(row: tuple[OnsetGroup, ...]) -> Iterator[_Key]:
    """A fretted note whose string is plucked open next time it sounds."""
    stopped: dict[int, int] = {}
    for group in row:
        for sound in group.sounds:
            string = sound.placement.string
            if sound.placement.finger:
                stopped[string] = sound.placement.finger
            elif (finger := stopped.pop(string, 0)) and sound.plucked:
                yield ("let go", (str(finger),))


def _tremolo(row: tuple[OnsetGroup, ...]) -> Iterator[_Key]:
    """A stroke of the thumb, then other fingers in turn on one other string, three or more at one pitch."""
    order: list[str] = []
    place: Placement | None = None
    for group in (*row, None):
        sound = group.plucked[0] if group and group.plucked else None
        finger = sound.note.stroke.finger if sound and sound.note.stroke else ""
        if order and finger not in ("", "p", order[-1]) and sound and place in (None, sound.placement):
            order.append(finger)
            place = sound.placement
            continue
        if len(order) > _TREMOLO:
            yield ("tremolo", (" ".join(order[: _TREMOLO + 1]),))
        order, place = ["p"] if finger == "p" else [], None


def _order(row: tuple[OnsetGroup, ...]) -> Iterator[_Key]:
    """The strokes p a m i, one after the other, that are no tremolo: the same order over other notes."""
    lone = [group.plucked[0] if len(group.plucked) == 1 else None for group in row]
    for at in range(len(lone) - _TREMOLO):
        four = lone[at : at + _TREMOLO + 1]
        if any(sound is None for sound in four):
            continue
        fingers = tuple(s.note.stroke.finger for s in four if s and s.note.stroke)
        places = {s.placement for s in four[1:] if s}
        if fingers == _IN_ORDER and len(places) > 1:
            yield ("order", (" ".join(fingers),))


_IN_ORDER = ("p", "a", "m", "i")
_TREMOLO = 3
"""strokes of the fingers after the thumb that make a tremolo (common practice: p a m i)"""


def fits(term: Term, skill: Skill) -> bool:
    """Whether a skill belongs to what a player calls strong, weak or a goal."""
    kind, parts = term.kind, term.parts
    if kind == "plucking finger":
        return (skill.kind == "pair" and parts[0] in skill.parts[:2]) or (
            skill.kind in ("again", "accent") and skill.parts[0] == parts[0]
        )
    if kind == "plucking pair":
        return skill.kind == "pair" and set(skill.parts[:2]) == set(parts)
    if kind == "finger":
        return (skill.kind in ("finger", "let go") and skill.parts[0] == parts[0]) or (
            skill.kind in ("fingers", "slur") and parts[0] in skill.parts
        )
    if kind == "fingers":
        return skill.kind in ("fingers", "slur") and set(skill.parts) == set(parts)
    if kind in ("slur", "string"):
        return skill.kind == kind and skill.parts == parts
    return _TECHNIQUES[parts[0]](skill)


_Test = Callable[[Skill], bool]


def _kinds(*kinds: str) -> _Test:
    return lambda skill: skill.kind in kinds


def _stroke(kind: str) -> _Test:
    return lambda skill: skill.kind in ("pair", "again") and skill.parts[-1] == kind


def _side_of(side: str) -> _Test:
    return lambda skill: (
        (skill.kind in ("pair", "again") and skill.parts[-2] == f"{side} strings")
        or (skill.kind == "finger" and skill.parts[1] == side)
    )


_TECHNIQUES: dict[str, _Test] = {
    "slurs": _kinds("slur"),
    "pull-offs": lambda skill: skill.kind == "slur" and skill.parts[0] > skill.parts[1],
    "hammer-ons": lambda skill: skill.kind == "slur" and skill.parts[0] < skill.parts[1],
    "plucking": _kinds("pair", "crossing"),
    "rest stroke": _stroke("rest"),
    "free stroke": _stroke("free"),
    "accents": _kinds("accent"),
    "string crossing": _kinds("crossing"),
    "awkward crossings": lambda skill: skill.kind == "crossing" and skill.parts[0] == "awkward",
    "chords": _kinds("chord"),
    "fretting": _kinds("finger", "fingers"),
    "letting go": _kinds("let go"),
    "stretches": lambda skill: skill.kind == "reach" and skill.parts[-1] == "beyond comfort",
    "shifts": _kinds("shift"),
    "barre": _kinds("barre"),
    "high positions": lambda skill: skill.kind == "place" and skill.parts[0] == "fret 9 and above",
    "bass strings": _side_of("bass"),
    "treble strings": _side_of("treble"),
    "rhythm": _kinds("rhythm"),
    "tremolo": _kinds("tremolo", "order"),
}
