"""The `pluck` axis: which finger plucks each note."""

from __future__ import annotations

import re

from engrave.axes import plucking, textures
from engrave.axes.cycles import AXIS, CYCLES, letters, named, picked, setting
from engrave.axes.moments import stream
from engrave.axes.plucking import Fingers
from engrave.axes.setting import Axis, Change, Setting, decline
from engrave.axes.textures import Formula
from engrave.model import Declined, Variation

HOUSE = "house default: shortest path over the plucking fingers"
_TIMES = re.compile(r"([2-6]) times (\S+)\Z")
_TURNED, _THUMBED = ", turned at crossings", ", p on basses"


def as_given(variation: Variation) -> Variation | Declined:
    """The strokes there are, the source's letters, and the shortest path between them."""
    notes = {n.id: n for n in variation.passage.notes if not n.tied_back and not n.slurred_from}
    if all(n.stroke for n in notes.values()):
        return variation
    fixed = {name: n.stroke.finger if n.stroke else n.given.pluck for name, n in notes.items()}
    fingers = plucking.shortest(variation, {name: f for name, f in fixed.items() if f})
    return plucking.with_strokes(variation, fingers, variation.cycle)


def best(variation: Variation) -> Variation | Declined:
    """The shortest path, whatever the source's letters say."""
    return plucking.with_strokes(variation, plucking.shortest(variation, {}))


def started(cycle: Fingers, *, worst: bool) -> Change:
    """`cycle` from the finger that gives the line the fewest (or the most) awkward crossings."""

    def change(variation: Variation) -> Variation | Declined:
        found = plucking.starts(cycle, stream(variation))
        counts = [awkward for _, awkward in found]
        if len(set(counts)) == 1 and len(cycle) > 1:
            return decline("every start of the cycle gives the same number of awkward crossings")
        at = counts.index(max(counts) if worst else min(counts))
        turned = (*cycle[at:], *cycle[:at])
        return picked(variation, plucking.turning(turned), turned)

    return change


def _turned(cycle: Fingers) -> Change:
    def change(variation: Variation) -> Variation | Declined:
        line = stream(variation)
        if len({s.placement.string for s in line}) < 2:
            return decline("the line stays on one string: there is no crossing to turn at")
        return picked(variation, plucking.turning_at_crossings(cycle), ())

    return change


def _thumbed(cycle: Fingers) -> Change:
    def change(variation: Variation) -> Variation | Declined:
        bass = plucking.bass_from(variation.instrument)
        low = [s.placement.string >= bass for s in stream(variation)]
        if not any(low):
            return decline(f"no note of the line lies on string {bass} or lower: nothing for p to take")
        if all(low):
            return decline(f"every note of the line lies on string {bass} or lower: p would take them all")
        return picked(variation, plucking.bass_by_thumb(cycle, bass), ())

    return change


def formula(text: str) -> Formula | None:
    """The steps a right-hand formula such as "p-i-m-a-m-i" or "p+a-i-m-i" spells, or None."""
    steps = [letters(step.replace("+", "-")) for step in text.split("-")]
    whole = tuple(step for step in steps if step and len(set(step)) == len(step))
    return whole if len(whole) == len(steps) <= 16 else None


def _times(times: int, cycle: Fingers) -> Setting:
    spaced = " ".join(cycle)
    return setting(
        f"{times} times {'-'.join(cycle)}",
        f"each note {times} times, {spaced}",
        f"Each note {times} times within its own length, plucked {spaced}: the plucking hand works, the other waits.",
        "All the repeats are alike; the change of note is not heard in the plucking hand.",
        change=textures.repeated(times, cycle),
        kind="repeat",
    )


def _tremolo(cycle: Fingers) -> Setting:
    spaced = " ".join(cycle)
    return setting(
        f"tremolo {'-'.join(cycle)}",
        f"tremolo {spaced}",
        f"Tremolo {spaced}: the thumb plays the line, the fingers repeat an open string above it.",
        "First slowly with every finger placed before it plays; evenness comes before speed.",
        change=textures.tremolo(cycle),
        kind="tremolo",
    )


def _arpeggio(steps: Formula) -> Setting:
    name = "-".join("+".join(step) for step in steps)
    spaced = " ".join("+".join(step) for step in steps)
    return setting(
        f"arpeggio {name}",
        f"chords broken {spaced}",
        f"Each chord broken under the formula {spaced}, p on its lowest string.",
        "Place all the fingers of the formula on their strings, then play them off one by one.",
        change=textures.broken(steps),
        kind="chord",
    )


def _turned_setting(cycle: Fingers) -> Setting:
    spaced = " ".join(cycle)
    return setting(
        "-".join(cycle) + _TURNED,
        f"{spaced}, turned back at each crossing",
        f"The cycle {spaced} turns back whenever the line changes string: the hand must think, not only run.",
        "Say the next finger before each change of string.",
        change=_turned(cycle),
        kind="cycle",
    )


def _thumbed_setting(cycle: Fingers) -> Setting:
    spaced = " ".join(cycle)
    return setting(
        "-".join(cycle) + _THUMBED,
        f"{spaced}, p on the basses",
        f"Fingers {spaced} on the treble strings and the thumb on the basses, each in its own place.",
        "The thumb lies ready over the basses; the hand does not travel.",
        change=_thumbed(cycle),
        kind="thumb",
    )


def _started_setting(cycle: Fingers, *, worst: bool) -> Setting:
    spaced = " ".join(cycle)
    return setting(
        f"{'worst' if worst else 'best'} {'-'.join(cycle)}",
        f"{spaced} from its {'hardest' if worst else 'easiest'} start",
        f"The cycle {spaced} from the finger that gives the {'most' if worst else 'fewest'} awkward crossings.",
        "At each awkward crossing the hand moves a little across the strings, the finger does not reach."
        if worst
        else "Feel how each crossing falls the way the hand lies.",
        change=started(cycle, worst=worst),
        kind="weak" if worst else "strong",
    )


def parse(text: str) -> Setting | None:
    """A free cycle, and what can be done with one."""
    if match := _TIMES.match(text):
        cycle = letters(match[2])
        return _times(int(match[1]), cycle) if cycle else None
    word, _, rest = text.partition(" ")
    if word == "arpeggio":
        steps = formula(rest)
        return _arpeggio(steps) if steps and len({f for step in steps for f in step}) > 1 else None
    if word in ("tremolo", "best", "worst"):
        cycle = letters(rest)
        if not cycle or len(cycle) < 2:
            return None
        if word == "tremolo":
            return _tremolo(cycle) if cycle[0] == "p" and "p" not in cycle[1:] else None
        return _started_setting(cycle, worst=word == "worst")
    for suffix, make in ((_TURNED, _turned_setting), (_THUMBED, _thumbed_setting)):
        if text.endswith(suffix):
            cycle = letters(text.removesuffix(suffix))
            return make(cycle) if cycle and len(cycle) > 1 else None
    cycle = letters(text)
    return named(cycle) if cycle else None


SETTINGS: tuple[Setting, ...] = (
    setting("as given", "letters as given", "", "", change=as_given, kind="plain"),
    setting(
        "best",
        "the easiest letters",
        "The letters with no repeated finger, the fewest awkward string crossings and the thumb on the basses.",
        "Learn these letters by heart: the hand comes back to them when the line goes fast.",
        change=best,
        kind="plain",
        source=HOUSE,
    ),
    *CYCLES,
    _started_setting(("i", "m"), worst=False),
    _started_setting(("i", "m"), worst=True),
    _started_setting(("a", "m", "i"), worst=True),
    _turned_setting(("a", "m", "i")),
    _thumbed_setting(("i", "m")),
    _thumbed_setting(("a", "m", "i")),
    _times(2, ("i", "m")),
    _times(3, ("a", "m", "i")),
    _times(4, ("p", "a", "m", "i")),
    _tremolo(("p", "a", "m", "i")),
    _tremolo(("p", "i", "m", "a")),
    *(_arpeggio(tuple((f,) for f in fingers)) for fingers in ("pim", "pmi", "pima", "pami", "pimami")),
    setting(
        "block",
        "block chords",
        "Broken chords struck together: the fretting hand places whole grips, the plucking hand all fingers at once.",
        "Every note of the chord sounds at the same instant and equally loud; then listen to the top one.",
        change=textures.blocked,
        kind="chord",
    ),
)

PLUCK = Axis(
    name=AXIS,
    title="Plucking hand",
    default="as given",
    settings=SETTINGS,
    parse=parse,
    grammar='fingers p i m a c joined by hyphens, such as "p-i-m-i"; "N times CYCLE"; "best CYCLE"; "worst CYCLE"; '
    f'"CYCLE{_TURNED}"; "CYCLE{_THUMBED}"; "tremolo p-a-m-i"; "arpeggio FORMULA", + joining fingers that play together',
)
