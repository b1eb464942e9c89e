"""The `slurs` axis: which notes the fretting hand sounds by itself.

A note can be slurred to the one before it in its voice where both lie on one string, nothing else sounds on that string
between, the first still sounds, and the fingers allow it (engrave.fretting.can_slur). Slurs of the source stay, unless
the setting is "none". What is slurred is plucked no more.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from engrave.axes.mending import playable
from engrave.axes.moments import moments
from engrave.axes.setting import COMMON, Axis, Change, Setting, decline, unchanged
from engrave.model import Declined, Event, Note, Passage, Placement, Value, Variation, with_notes

AXIS = "slurs"
_PAIR = re.compile(r"([0-4])-([0-4])\Z")
HALF = Fraction(1, 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Two neighbouring notes the hand could slur."""

    before: Note
    note: Note

    @property
    def pull(self) -> bool:
        """Whether it falls: a pull-off, else a hammer-on."""
        return self._place(self.before).fret > self._place(self.note).fret

    @property
    def pair(self) -> tuple[int, int]:
        """Fingers, first to second; 0 is the open string."""
        return self._place(self.before).finger, self._place(self.note).finger

    @property
    def acting(self) -> int:
        """The finger that makes the second note sound."""
        return self.pair[0] if self.pull else self.pair[1]

    @staticmethod
    def _place(note: Note) -> Placement:
        assert note.placement is not None
        return note.placement


Choose = Callable[[tuple[Link, ...]], list[Link]]
"""which of the possible links, in playing order, to slur"""


def links(variation: Variation) -> tuple[Link, ...]:
    """Every pair of neighbouring notes that the fretting hand could slur, in playing order."""
    passage = variation.passage
    between = _busy(passage)
    found: list[Link] = []
    before: dict[int, Event] = {}
    for event in passage.events:
        prior = before.get(event.voice)
        before[event.voice] = event
        if prior is None or len(event.notes) != 1 or not (prior.end == event.onset or event.grace or prior.grace):
            continue
        note = event.notes[0]
        if note.tied_back or note.slide or note.placement is None:
            continue
        string = note.placement.string
        for other in prior.notes:
            if other.placement and other.placement.string == string and not (other.muted or note.muted):
                free = between(string, prior.onset, event.onset)
                if free and playable(variation, other, note):
                    found.append(Link(before=other, note=note))
    return tuple(found)


def _busy(passage: Passage) -> Callable[[int, Fraction, Fraction], bool]:
    """Whether a string is left alone between two times, ends not counted."""
    starts: dict[int, list[Fraction]] = {}
    for moment in moments(passage):
        for sound in moment.sounds:
            starts.setdefault(sound.placement.string, []).append(moment.onset)

    def alone(string: int, start: Fraction, end: Fraction) -> bool:
        times = starts.get(string, [])
        return bisect_right(times, start) == bisect_left(times, end)

    return alone


def slurred(variation: Variation, chosen: list[Link]) -> Variation:
    """`variation` with these links slurred besides those it has."""
    changed = {
        link.note.id: replace(link.note, slurred_from=link.before.id, stroke=None, slide=False) for link in chosen
    }
    return replace(variation, passage=with_notes(variation.passage, changed))


def _slurs(choose: Choose, empty: str) -> Change:
    def change(variation: Variation) -> Variation | Declined:
        chosen = choose(tuple(link for link in links(variation) if not link.note.slurred_from))
        return slurred(variation, chosen) if chosen else decline(empty)

    return change


def none(variation: Variation) -> Variation:
    """Every note plucked."""
    changed = {n.id: replace(n, slurred_from="", slide=False) for n in variation.passage.notes if n.slurred_from}
    return replace(variation, passage=with_notes(variation.passage, changed)) if changed else variation


def _where(wanted: Callable[[Link], bool]) -> Choose:
    return lambda possible: [link for link in possible if wanted(link)]


def _twos(possible: tuple[Link, ...]) -> list[Link]:
    """One stroke, one slur: no slur starts from a slurred note."""
    return _runs(possible, 2, lambda _: True)


def _threes(possible: tuple[Link, ...]) -> list[Link]:
    return _whole_runs(possible, lambda _: True)


def _up_and_down(possible: tuple[Link, ...]) -> list[Link]:
    return _whole_runs(possible, lambda run: run[0].pull is not run[1].pull)


def _runs(possible: tuple[Link, ...], length: int, wanted: Callable[[Link], bool]) -> list[Link]:
    chosen: list[Link] = []
    taken: dict[str, int] = {}
    for link in possible:
        so_far = taken.get(link.before.id, 1)
        if wanted(link) and so_far < length:
            chosen.append(link)
            taken[link.note.id] = so_far + 1
    return chosen


def _whole_runs(possible: tuple[Link, ...], wanted: Callable[[tuple[Link, Link]], bool]) -> list[Link]:
    """Groups of three notes, two links each, that share no note."""
    chosen: list[Link] = []
    used: set[str] = set()
    by_start = {link.before.id: link for link in possible}
    for first in possible:
        second = by_start.get(first.note.id)
        if second is None or not wanted((first, second)):
            continue
        ids = {first.before.id, first.note.id, second.note.id}
        if not ids & used:
            chosen += [first, second]
            used |= ids
    return chosen


def open_before(variation: Variation) -> Variation | Declined:
    """Pull-offs to the open string, each fretted note giving its first half to the open string, plucked."""
    pulls = [link for link in links(variation) if link.pull and not link.pair[1]]
    split = {link.before.id: link for link in pulls if not link.before.slurred_from and not link.before.tied_back}
    made: list[Event] = []
    slurs: list[Link] = []
    taken = {e.id for e in variation.passage.events} | {n.id for n in variation.passage.notes}
    for event in variation.passage.events:
        link = split.get(event.notes[0].id) if len(event.notes) == 1 else None
        halved = _halved(event) if link and not event.grace else None
        if link is None or halved is None:
            made.append(event)
            continue
        slurs.append(link)
        string = link.note.placement
        assert string is not None
        extra = replace(
            link.note,
            id=_fresh(f"{event.notes[0].id}-open", taken),
            tied_on=False,
            stroke=None,
            slurred_from="",
            placement=replace(string, position=event.notes[0].placement.position if event.notes[0].placement else 1),
        )
        made.append(replace(halved, id=_fresh(f"{event.id}-open", taken), notes=(extra,)))
        made.append(replace(halved, onset=event.onset + halved.duration, marks=()))
    if not slurs:
        return decline("no fretted note falls to the open string under it: there is nothing to pull off")
    return slurred(replace(variation, passage=replace(variation.passage, events=tuple(made))), slurs)


def _fresh(name: str, taken: set[str]) -> str:
    while name in taken:
        name += "+"
    taken.add(name)
    return name


def _halved(event: Event) -> Event | None:
    if event.value.kind >= 128:
        return None
    kind = event.value.kind * 2 or 1
    return replace(event, value=Value(kind=kind, dots=event.value.dots), duration=event.duration / 2)


def _setting(name: str, label: str, purpose: str, cue: str, *, change: Change, kind: str = "slur") -> Setting:
    return Setting(axis=AXIS, name=name, label=label, purpose=purpose, cue=cue, source=COMMON, kind=kind, apply=change)


NO_PULL = (
    "no two neighbouring notes on one string fall to a lower fret with a lower finger waiting: nothing to pull off"
)
NO_HAMMER = "no two neighbouring notes on one string rise to a higher fret and finger: nothing to hammer on"
NO_SLUR = "no two neighbouring notes on one string can be slurred by the fingers on them"


def _finger(finger: int) -> Setting:
    return _setting(
        f"by {finger}",
        f"slurs by finger {finger}",
        f"Every slur that finger {finger} can make, up or down; the rest of the line is plucked.",
        "The finger falls or pulls with its own weight; the others neither help nor stiffen.",
        change=_slurs(
            lambda possible: [link for link in possible if link.acting == finger],
            f"finger {finger} finds no two neighbouring notes on one string that it could slur",
        ),
    )


def _pair(first: int, second: int) -> Setting:
    up = second > first and second > 0
    if not second:
        how, cue = (
            f"pull-offs from finger {first} to the open string",
            "The open string speaks as loudly as the plucked note.",
        )
    elif up:
        how = f"hammer-ons from {'the open string' if not first else f'finger {first}'} to finger {second}"
        cue = "Finger by finger, straight down behind the fret: speed of the finger makes the sound, not force."
    else:
        how, cue = (
            f"pull-offs from finger {first} to finger {second}",
            f"Finger {second} is down before finger {first} leaves.",
        )
    return _setting(
        f"{first}-{second}",
        how,
        f"{how[0].upper()}{how[1:]} wherever the line has them.",
        cue,
        change=_slurs(
            lambda possible: [link for link in possible if link.pair == (first, second)],
            f"no two neighbouring notes on one string go from {_on(first)} to {_on(second)}",
        ),
    )


def _on(finger: int) -> str:
    return f"finger {finger}" if finger else "the open string"


def parse(text: str) -> Setting | None:
    """A pair of fingers, 0 for the open string."""
    match = _PAIR.match(text)
    return _pair(int(match[1]), int(match[2])) if match and match[1] != match[2] else None


SETTINGS: tuple[Setting, ...] = (
    _setting("as written", "slurs as written", "", "", change=unchanged, kind="plain"),
    _setting(
        "none",
        "no slurs",
        "Every note plucked, those too that the line slurs: the same phrase made by the plucking hand alone.",
        "It should sound as joined as with slurs.",
        change=none,
        kind="plain",
    ),
    _setting(
        "to open",
        "pull-offs to the open string",
        "Each fretted note is plucked and pulled off to the open string after it: the finger leaves by plucking.",
        "Pull a little sideways, towards the palm, and hear the open string as clearly as the plucked note.",
        change=_slurs(
            _where(lambda link: link.pull and not link.pair[1]),
            "no fretted note falls to the open string under it: there is nothing to pull off",
        ),
    ),
    _setting(
        "open before",
        "open string, fretted note, pull-off",
        "The open string is plucked before each fretted note, then the note, pulled off to the open string again.",
        "The finger comes down exactly in the middle: listen for even halves.",
        change=open_before,
    ),
    _setting(
        "pull-offs",
        "every pull-off",
        "Every note that can be pulled off to is slurred: descents by the fretting hand.",
        "The lower finger is down before the upper one leaves.",
        change=_slurs(_where(lambda link: link.pull), NO_PULL),
    ),
    _setting(
        "hammer-ons",
        "every hammer-on",
        "Every note that can be hammered on is slurred: ascents by the fretting hand.",
        "Fast and light: the finger's speed makes the sound, and it stays down.",
        change=_slurs(_where(lambda link: not link.pull), NO_HAMMER),
    ),
    _setting(
        "twos",
        "slurs in twos",
        "One stroke and one slur wherever two notes allow it, up or down.",
        "Two equal notes: the slurred one is neither softer nor earlier.",
        change=_slurs(_twos, NO_SLUR),
    ),
    _setting(
        "threes",
        "slurs in threes",
        "One stroke for three notes wherever three on a string allow it.",
        "The third note is as loud as the first.",
        change=_slurs(_threes, "no three neighbouring notes on one string can be slurred by the fingers on them"),
    ),
    _setting(
        "up and down",
        "up and down in one stroke",
        "A hammer-on and a pull-off, in either order, from one stroke.",
        "The finger that hammers stays loose, ready to pull.",
        change=_slurs(
            _up_and_down,
            "no three neighbouring notes on one string go up and back, or down and back, under the fingers on them",
        ),
    ),
    _setting(
        "left hand alone",
        "every slur there is",
        "Every note that can be slurred is: the fretting hand makes the line, the plucking hand only starts it.",
        "Keep the rhythm: slurs must not run away.",
        change=_slurs(list, NO_SLUR),
    ),
    *(_finger(finger) for finger in range(1, 5)),
    *(_pair(a, b) for low in range(1, 4) for high in range(low + 1, 5) for a, b in ((low, high), (high, low))),
)

SLURS = Axis(
    name=AXIS,
    title="Slurs",
    default="as written",
    settings=SETTINGS,
    parse=parse,
    grammar='two fretting fingers such as "2-1", 0 for the open string',
)
