"""The `pluck` axis: which finger plucks each note."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import partial

from engrave.axes import figuration, orders, plucking
from engrave.axes.cycles import AXIS, CYCLES, fits_of, letters, named, picked, pluck_setting
from engrave.axes.figuration import Formula
from engrave.axes.letters import fingers_as_written
from engrave.axes.pluck_words import order_words
from engrave.axes.plucking import Fingers
from engrave.axes.rewriting import lettered
from engrave.axes.setting import Axis, Setting, unfit
from engrave.model import TEXTURES, Note, Variation
from engrave.model.said import say
from engrave.model.texture import BLOCK, BROKEN, LAYERS, LINE, TREMOLO
from engrave.textures import kind_of
from engrave.textures.onsets import Sound
from engrave.textures.row import bass_from

HOUSE = "house default: an exact search within the rules of each texture"
_TIMES = re.compile(r"([2-6]) times (\S+)\Z")
_CHORDS = re.compile(r"chords ([2-6]) times\Z")
_TURNED, _THUMBED = ", turned at crossings", ", p on basses"


def as_given(variation: Variation) -> Variation:
    """The strokes there are, the source's letters, and those of each texture between them."""
    notes = {n.id: n for n in variation.passage.notes if not n.tied_back and not n.slurred_from}
    if all(n.stroke for n in notes.values()):
        return variation
    lettered_slurs = any(n.slurred_from and n.given.pluck and not n.tied_back for n in variation.passage.notes)
    if lettered_slurs and variation.study.slurs != "as written" and not any(n.stroke for n in notes.values()):
        return _going_on(variation, notes)
    fixed = {name: n.stroke.finger if n.stroke else n.given.pluck for name, n in notes.items()}
    return lettered(variation, {name: f for name, f in fixed.items() if f}, variation.cycle)


def _going_on(variation: Variation, notes: Mapping[str, Note]) -> Variation:
    """Letters where slurs have made holes in the alternation that the source prints: it goes on over the holes."""
    where = kind_of(variation)
    runs = {name for name in notes if name in where and where[name].kind in plucking.RUNNING}
    printed = tuple(dict.fromkeys(n.given.pluck for name, n in notes.items() if name in runs and n.given.pluck))
    pair = tuple(finger for finger in printed if finger != "p")
    fixed = {name: n.given.pluck for name, n in notes.items() if name not in runs or n.given.pluck == "p"}
    fingers = fingers_as_written(variation, {name: finger for name, finger in fixed.items() if finger})
    if len(pair) == 2:
        fingers, _, _ = plucking.along(variation, lambda: plucking.turning(pair), fingers, pair)
    return plucking.with_strokes(variation, fingers, variation.cycle)


def best(variation: Variation) -> Variation:
    """The letters of each texture, whatever the source's say."""
    return plucking.with_strokes(variation, fingers_as_written(variation, {}))


def _line(variation: Variation) -> list[Sound]:
    """The notes that a cycle plays, in order."""
    return [turn.top for run in plucking.runs(variation) for turn in run]


def started(variation: Variation, cycle: Fingers, *, worst: bool) -> Variation:
    """`cycle` from the finger that gives the line the fewest (or the most) awkward crossings."""
    found = plucking.starts(cycle, _line(variation))
    counts = [awkward for _, awkward in found]
    if len(set(counts)) == 1 and len(cycle) > 1:
        raise unfit(say("every start of the cycle gives the same number of awkward crossings"))
    at = counts.index(max(counts) if worst else min(counts))
    turned = (*cycle[at:], *cycle[:at])
    return picked(variation, lambda: plucking.turning(turned), turned)


def _turned(variation: Variation, cycle: Fingers) -> Variation:
    line = _line(variation)
    if len({s.placement.string for s in line}) < 2:
        raise unfit(say("the line stays on one string: there is no crossing to turn at"))
    return picked(variation, lambda: plucking.turning_at_crossings(cycle), ())


def _thumbed(variation: Variation, cycle: Fingers) -> Variation:
    bass = bass_from(variation)
    low = [s.placement.string >= bass for s in _line(variation)]
    if not any(low):
        raise unfit(
            say("no note of the line lies on string {string} or lower: nothing for p to take", string=bass), lies=True
        )
    if all(low):
        raise unfit(
            say("every note of the line lies on string {string} or lower: p would take them all", string=bass),
            lies=True,
        )
    return picked(variation, lambda: plucking.bass_by_thumb(cycle, bass), (), (LINE,))


def formula(text: str) -> Formula | None:
    """The steps a right-hand formula such as "p-i-m-a-m-i" or "p+a-i-m-i" spells, or None."""
    steps = [letters(step.replace("+", "-")) for step in text.split("-")]
    whole = tuple(step for step in steps if step and len(set(step)) == len(step))
    return whole if len(whole) == len(steps) <= 16 else None


def _times(times: int, cycle: Fingers) -> Setting:
    spaced = " ".join(cycle)
    return pluck_setting(
        f"{times} times {'-'.join(cycle)}",
        say("each note {n} times, {letters}", n=times, letters=spaced),
        say(
            "Each note of the line {n} times in its own length, {letters}: the plucking hand works, the other waits.",
            n=times,
            letters=spaced,
        ),
        say("All the repeats are alike; the change of note is not heard in the plucking hand."),
        change=partial(figuration.repeated, times=times, cycle=cycle),
        kind="repeat",
        fits=fits_of(cycle),
    )


def _chords(times: int) -> Setting:
    return pluck_setting(
        f"chords {times} times",
        say("each chord {n} times", n=times),
        say(
            "Each chord {n} times within its own length with the same fingers: the plucking hand works, the other "
            "waits.",
            n=times,
        ),
        say("The chords are alike and whole; the fingers are back on their strings before the next stroke."),
        change=partial(figuration.repeated, times=times, cycle=()),
        kind="repeat",
        fits=(BLOCK,),
    )


def _tremolo(cycle: Fingers) -> Setting:
    spaced = " ".join(cycle)
    return pluck_setting(
        f"tremolo {'-'.join(cycle)}",
        say("tremolo {letters}", letters=spaced),
        say(
            "Tremolo {letters}: one note of the thumb, then the fingers on one string above it.",
            letters=spaced,
        ),
        say("First with every finger placed before it plays; evenness comes before speed."),
        change=partial(figuration.tremolo, cycle=cycle),
        kind="tremolo",
        fits=(LINE, TREMOLO),
    )


def _arpeggio(steps: Formula) -> Setting:
    name = "-".join("+".join(step) for step in steps)
    spaced = " ".join("+".join(step) for step in steps)
    together = any(len(step) > 1 for step in steps)
    return pluck_setting(
        f"arpeggio {name}",
        say("chords broken {letters}", letters=spaced),
        say("Each chord broken under the formula {letters}, p on its lowest string.", letters=spaced),
        say("Thumb and fingers answer each other: neither is late, neither is louder.")
        if together
        else say("Place all the fingers of the formula on their strings, then play them off one by one."),
        change=partial(figuration.broken, formula=steps),
        kind="chord",
        fits=(BLOCK,),
    )


def _order(fingers: Fingers) -> Setting:
    spaced = " ".join(fingers)
    purpose, cue = order_words(fingers)
    return pluck_setting(
        f"order {'-'.join(fingers)}",
        say("the chords in the order {letters}", letters=spaced),
        purpose,
        cue,
        change=partial(orders.order, formula=fingers),
        kind="order",
        fits=(BROKEN,),
    )


def _turned_setting(cycle: Fingers) -> Setting:
    spaced = " ".join(cycle)
    return pluck_setting(
        "-".join(cycle) + _TURNED,
        say("{letters}, turned back at each crossing", letters=spaced),
        say(
            "The cycle {letters} turns back whenever the line changes string: the hand must think, not only run.",
            letters=spaced,
        ),
        say("Say the next finger before each change of string."),
        change=partial(_turned, cycle=cycle),
        kind="cycle",
        fits=fits_of(cycle),
    )


def _thumbed_setting(cycle: Fingers) -> Setting:
    spaced = " ".join(cycle)
    return pluck_setting(
        "-".join(cycle) + _THUMBED,
        say("{letters}, p on the basses", letters=spaced),
        say(
            "Fingers {letters} on the treble strings and the thumb on the basses, each in its own place.",
            letters=spaced,
        ),
        say("The thumb lies ready over the basses; the hand does not travel."),
        change=partial(_thumbed, cycle=cycle),
        kind="thumb",
        fits=(LINE,),
    )


def _started_setting(cycle: Fingers, *, worst: bool) -> Setting:
    spaced = " ".join(cycle)
    return pluck_setting(
        f"{'worst' if worst else 'best'} {'-'.join(cycle)}",
        say("{letters} from its hardest start", letters=spaced)
        if worst
        else say("{letters} from its easiest start", letters=spaced),
        say("The cycle {letters} from the finger that gives the most awkward crossings.", letters=spaced)
        if worst
        else say("The cycle {letters} from the finger that gives the fewest awkward crossings.", letters=spaced),
        say("At each awkward crossing the hand moves a little across the strings, the finger does not reach.")
        if worst
        else say("Feel how each crossing falls the way the hand lies."),
        change=partial(started, cycle=cycle, worst=worst),
        kind="weak" if worst else "strong",
        fits=fits_of(cycle),
    )


def parse(text: str) -> Setting | None:
    """A free cycle, and what can be done with one."""
    if match := _TIMES.match(text):
        cycle = letters(match[2])
        return _times(int(match[1]), cycle) if cycle else None
    if match := _CHORDS.match(text):
        return _chords(int(match[1]))
    word, _, rest = text.partition(" ")
    if word == "arpeggio":
        steps = formula(rest)
        return _arpeggio(steps) if steps and len({f for step in steps for f in step}) > 1 else None
    if word == "order":
        fingers = letters(rest)
        return _order(fingers) if fingers and len(set(fingers)) > 2 else None
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


_FOURS = "pima piam pmia pmai paim pami pimi pmim imam amim imap amip ipma"
_THREES_AND_SIXES = "pim pmi pimami pamima pmimam pmiami pimaim ima ami"
_ORDERS = f"{_FOURS} {_THREES_AND_SIXES}"
"""orders of broken chords in threes, fours and sixes: the bass first, last or in the middle, and none"""

SETTINGS: tuple[Setting, ...] = (
    pluck_setting("as given", say("letters as given"), "", "", change=as_given, kind="plain", fits=TEXTURES),
    pluck_setting(
        "best",
        say("the easiest letters"),
        say("The letters with no repeated finger, the fewest awkward string crossings and the thumb on the basses."),
        say("Learn these letters by heart: the hand comes back to them when the line goes fast."),
        change=best,
        kind="plain",
        credit=HOUSE,
        fits=TEXTURES,
    ),
    *CYCLES,
    _started_setting(("m", "a"), worst=False),
    _started_setting(("i", "m"), worst=True),
    _started_setting(("a", "m", "i"), worst=True),
    _turned_setting(("a", "m", "i")),
    _thumbed_setting(("i", "m")),
    _thumbed_setting(("a", "m", "i")),
    _times(2, ("i", "m")),
    _times(3, ("a", "m", "i")),
    _times(4, ("p", "a", "m", "i")),
    _chords(2),
    *(_tremolo(tuple(fingers)) for fingers in ("pami", "pima", "pimi", "pmim", "pmi", "pmai")),
    *(_arpeggio(tuple((f,) for f in fingers)) for fingers in ("pim", "pmi", "pima", "pimami")),
    *(_arpeggio(tuple((f,) for f in fingers)) for fingers in ("piam", "pmia", "pmai", "paim", "pami")),
    _arpeggio((("p",), ("i", "m", "a"))),
    _arpeggio((("p",), ("i", "m"))),
    *(_order(tuple(fingers)) for fingers in _ORDERS.split()),
    pluck_setting(
        "block",
        say("block chords"),
        say(
            "Broken chords struck together: the fretting hand places whole grips, the plucking hand all fingers at "
            "once."
        ),
        say("Every note of the chord sounds at the same instant and equally loud; then listen to the top one."),
        change=orders.blocked,
        kind="chord",
        fits=(BROKEN,),
    ),
    pluck_setting(
        "block first",
        say("block, then broken"),
        say(
            "Each chord struck together first and broken after that: the hand knows the grip before it plays its "
            "strings."
        ),
        say("The broken chord finds every finger where the block chord left it."),
        change=orders.block_first,
        kind="chord",
        fits=(BROKEN,),
    ),
    pluck_setting(
        "planted",
        say("fingers placed first"),
        say(
            "At each word \u201c{word}\u201d all the fingers of the new chord are set on their strings before it is "
            "played.",
            word=orders.PLANT,
        ),
        say("Set them together and quietly; the note before is cut off as late as possible."),
        change=orders.planted,
        kind="chord",
        fits=(BROKEN, BLOCK),
    ),
    pluck_setting(
        "melody alone",
        say("the melody alone"),
        say("The melody without its bass, as a line of its own: how it is phrased is settled here."),
        say("Sing it; then put the bass back and let it sound as it did alone."),
        change=partial(orders.alone, bass=False),
        kind="layer",
        fits=(LAYERS,),
    ),
    pluck_setting(
        "bass alone",
        say("the bass alone"),
        say("The bass without its melody, with the fingers of the fretting hand where they will be."),
        say("Each bass lasts until the next one; the thumb is as even as a finger."),
        change=partial(orders.alone, bass=True),
        kind="layer",
        fits=(LAYERS,),
    ),
)

PLUCK = Axis(
    name=AXIS,
    title=say("Plucking hand"),
    default="as given",
    settings=SETTINGS,
    parse=parse,
    grammar='fingers p i m a c joined by hyphens, such as "p-i-m-i"; "N times CYCLE"; "chords N times"; '
    '"best CYCLE"; "worst CYCLE"; '
    f'"CYCLE{_TURNED}"; "CYCLE{_THUMBED}"; "tremolo p-a-m-i"; "order p-m-i-a"; "arpeggio FORMULA", + joining fingers '
    "that play together",
)
