"""The `accent` axis: which notes are a little louder, after everything else is decided."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import partial

from engrave.axes.setting import LEAST, Axis, Setting, unchanged, unfit
from engrave.model import MARKS, PLUCKING, Direction, Event, Variation, replace_unchecked
from engrave.model.said import say
from engrave.model.texture import BLOCK, BROKEN, LAYERS, LINE, TREMOLO
from engrave.textures import kind_of, leading, stretches
from engrave.textures.onsets import Sound, onset_groups, upper_voice, voices_sounding

AXIS = "accent"
_EVERY = re.compile(r"every ([2-9]|1[0-6])(?: from ([1-9]|1[0-6]))?\Z")

Choose = Callable[[Variation, tuple[Sound, ...]], list[Sound]]
"""the sounds of the line to accent, out of its plucked notes in order"""


def accented(variation: Variation, events: set[str]) -> Variation:
    """`variation` with accents on the events of these ids and on no other."""

    def marked(event: Event) -> Event:
        if (event.id in events) == ("accent" in event.marks):
            return event
        marks = tuple(m for m in MARKS if (event.id in events if m == "accent" else m in event.marks))
        return replace_unchecked(event, marks=marks)

    passage = variation.passage
    return replace(variation, passage=replace_unchecked(passage, events=tuple([marked(e) for e in passage.events])))


MOST = Fraction(2, 3)
"""part of the line's notes beyond which accents bring out nothing (house figure)"""


def _accents(variation: Variation, choose: Choose, empty: str) -> Variation:
    line = leading(variation)
    if not line:
        raise unfit(say("no note is plucked: nothing to accent"))
    chosen = choose(variation, line)
    if not chosen:
        raise unfit(empty)
    if len(chosen) == len(line):
        raise unfit(say("it would accent every note, which is the same as none"))
    if len(chosen) > MOST * len(line):
        raise unfit(say("it would accent {n} of {notes} notes: too many to stand out", n=len(chosen), notes=len(line)))
    return accented(variation, {s.event.id for s in chosen})


def _beats(variation: Variation, line: tuple[Sound, ...], *, between: bool) -> list[Sound]:
    """What falls on a beat, or between two: the half of a simple beat, the last third of a compound one."""

    def meant(event: Event) -> bool:
        bar = variation.passage.bars[event.bar]
        beat = bar.metre.beat
        off = beat / 2 if beat.numerator != 3 else beat * 2 / 3
        return not event.grace and (event.onset - bar.onset + bar.offset) % beat == (off if between else 0)

    return [s for s in line if meant(s.event)]


def _first_finger(variation: Variation, line: tuple[Sound, ...]) -> list[Sound]:
    if len(variation.cycle) < 2:
        raise unfit(say("the plucking fingers follow no cycle: there is no first finger to accent"))
    return [s for s in line if s.note.stroke and s.note.stroke.finger == variation.cycle[0]]


_SWELLS = ("crescendo", "decrescendo")


def _swell(variation: Variation, word: str) -> Variation:
    passage = variation.passage
    here = Direction(kind="words", text=word, bar=0, onset=passage.bars[0].onset)
    others = tuple(d for d in passage.directions if (d.kind, d.text) not in (("words", w) for w in _SWELLS))
    return replace(variation, passage=replace_unchecked(passage, directions=(*others, here)))


Layer = Callable[[Variation], frozenset[str]]
"""ids of the notes to bring out"""


MANY_SHARED = 4
"""a layer of which more than one onset in so many is shared with others is brought out by words (house figure)"""


def _melody(variation: Variation) -> frozenset[str]:
    """The melody over a bass; where two voices are written, the top notes of the upper one, however low they lie."""
    where = kind_of(variation)
    passage = variation.passage
    sounding = voices_sounding(passage)
    upper = upper_voice(passage)
    led = {s.note.id for s in leading(variation)}
    led |= {
        sound.note.id
        for group in onset_groups(passage)
        for sound in [s for s in group.plucked if s.event.voice == upper][-1:]
        if len(sounding[group.bar]) > 1
    }
    return frozenset(name for name in led if name in where and where[name].kind == LAYERS)


def _brought_out(
    variation: Variation, layer: Layer, words: str, empty: str, *, least: Fraction = Fraction(0)
) -> Variation:
    """Accents on what belongs to a layer, or `words` instead where accents would not show it.

    An accent stands for all that is struck at once: a layer marked only where it is alone would sound the other way
    round. And where most of what is struck has an accent, none of it stands out. Words for less than `least` of the
    notes are not worth a page.
    """
    wanted = layer(variation)
    events: set[str] = set()
    shared: list[Event] = []
    groups = plucked = brought = marked = 0
    for group in onset_groups(variation.passage):
        groups += bool(group.plucked)
        plucked += len(group.plucked)
        brought += sum(s.note.id in wanted for s in group.plucked)
        marked += any(s.note.id in wanted for s in group.plucked)
        for event in dict.fromkeys(s.event for s in group.plucked):
            inside = [n.id in wanted for n in event.notes if not n.tied_back and not n.slurred_from]
            if all(inside):
                events.add(event.id)
            elif any(inside):
                shared.append(event)
    if not events and not shared:
        raise unfit(empty)
    if brought == plucked:
        raise unfit(say("it would accent every note, which is the same as none"))
    if MANY_SHARED * len(shared) <= len(events) and marked <= MOST * groups:
        return accented(variation, events)
    if brought < least * plucked:
        raise unfit(say("it would bring out {n} of {notes} notes: too few", n=brought, notes=plucked))
    passage = variation.passage
    first = next(e for e in passage.events if e.id in events or e in shared)
    here = Direction(kind="words", text=words, bar=first.bar, onset=first.onset)
    return replace(variation, passage=replace_unchecked(passage, directions=(*passage.directions, here)))


def _of_finger(variation: Variation, finger: str) -> frozenset[str]:
    where = kind_of(variation)
    plucked = {n.id for n in variation.passage.notes if n.stroke and n.stroke.finger == finger}
    return frozenset(name for name in plucked if name in where and where[name].kind in (BROKEN, TREMOLO))


def _basses(variation: Variation) -> frozenset[str]:
    found = {name for span in stretches(variation) if span.kind != TREMOLO for name in span.basses}
    for span in stretches(variation):
        if span.kind == BLOCK:
            inside = {name for figure in span.figures for name in figure}
            found |= {
                m.sounds[0].note.id
                for m in onset_groups(variation.passage)
                if len(m.plucked) > 1 and m.sounds[0].note.id in inside
            }
    return frozenset(found)


def _tops(variation: Variation) -> frozenset[str]:
    """The highest note of each chord, and of each figure of a broken one."""
    found: set[str] = set()
    for span in stretches(variation):
        for figure in span.figures if span.kind in (BLOCK, BROKEN) else ():
            inside = [m for m in onset_groups(variation.passage) if m.plucked and m.sounds[0].note.id in figure]
            high = [m.plucked[-1] for m in inside]
            if span.kind == BLOCK:
                found |= {s.note.id for m, s in zip(inside, high, strict=True) if len(m.plucked) > 1}
            elif high:
                top = min(s.placement.string for s in high)
                found.add(next(s.note.id for s in high if s.placement.string == top))
    return frozenset(found)


_setting = partial(Setting, AXIS, kind="accent")


_ONE = {
    "p": say("One finger, the thumb, is a little louder than the others, which keep their own quiet level."),
    "i": say("One finger, the index finger, is a little louder than the others, which keep their own quiet level."),
    "m": say("One finger, the middle finger, is a little louder than the others, which keep their own quiet level."),
    "a": say("One finger, the ring finger, is a little louder than the others, which keep their own quiet level."),
    "c": say("One finger, the little finger, is a little louder than the others, which keep their own quiet level."),
}


def _finger(finger: str) -> Setting:
    return _setting(
        f"finger {finger}",
        say("{finger} brought out", finger=finger),
        _ONE[finger],
        say("The accent comes from that finger alone; the hand does not lean towards it."),
        change=partial(
            _brought_out,
            layer=partial(_of_finger, finger=finger),
            words=say("bring out {finger}", finger=finger),
            empty=say("{finger} plucks no note", finger=finger),
            least=LEAST,
        ),
        fits=(BROKEN, TREMOLO),
    )


def _counted(n: int, start: int = 1) -> Setting:
    name = f"every {n}" + (f" from {start}" if start > 1 else "")
    label = say("accent on one note in {n}", n=n)
    purpose = say("An accent on one note in {n}, whatever finger or string it falls on.", n=n)
    if start > 1:
        label = say("accent on one note in {n}, from note {start} on", n=n, start=start)
        purpose = say(
            "An accent on one note in {n}, from note {start} on, whatever finger or string it falls on.",
            n=n,
            start=start,
        )
    elif n in _OFTEN:
        label, purpose = _OFTEN[n]
    return _setting(
        name,
        label,
        purpose,
        say("The accent comes from a quicker finger, not from a stiffer hand."),
        change=partial(
            _accents,
            choose=lambda _, line: list(line[start - 1 :: n]),
            empty=say("the line has fewer than {n} plucked notes", n=start),
        ),
        fits=(LINE, LAYERS),
    )


_OFTEN = {
    2: (
        say("accent on every second note"),
        say("An accent on every second note, whatever finger or string it falls on."),
    ),
    3: (
        say("accent on every third note"),
        say("An accent on every third note, whatever finger or string it falls on."),
    ),
    4: (
        say("accent on every fourth note"),
        say("An accent on every fourth note, whatever finger or string it falls on."),
    ),
}


def parse(text: str) -> Setting | None:
    """Accents by counting, "every 5" or "every 3 from 2"."""
    match = _EVERY.match(text)
    if not match:
        return None
    n, start = int(match[1]), int(match[2] or 1)
    return _counted(n, start) if start <= n else None


SETTINGS: tuple[Setting, ...] = (
    _setting("as written", say("accents as written"), "", "", change=unchanged, kind="plain"),
    _setting(
        "none",
        say("no accents"),
        say("The whole line without an accent, so that evenness is all there is to hear."),
        say("No note stands out, whatever finger or string it falls on."),
        change=lambda variation: accented(variation, set()),
        kind="plain",
    ),
    _setting(
        "fretted notes",
        say("accent on the fretted notes"),
        say("A light accent on each fretted note: the moving line stands out from the open strings around it."),
        say("The fretted notes alone should make a melody; the open ones stay in the background."),
        change=partial(
            _accents,
            choose=lambda _, line: [s for s in line if s.placement.fret],
            empty=say("no plucked note of the line is fretted: there is nothing to bring out"),
        ),
        fits=(LINE, LAYERS),
    ),
    _setting(
        "open notes",
        say("accent on the open strings"),
        say("The open strings lead and the fretted notes follow, which turns the usual balance round."),
        say("The fretted notes stay clear though they are soft."),
        change=partial(
            _accents,
            choose=lambda _, line: [s for s in line if not s.placement.fret],
            empty=say("no plucked note of the line is open: there is nothing to bring out"),
        ),
        fits=(LINE, LAYERS),
    ),
    _setting(
        "beats",
        say("accent on the beats"),
        say("An accent on each beat, so that the pulse is in the hand and not only in the foot."),
        say("The first note of each beat is a little fuller; the others do not hurry to it."),
        change=partial(
            _accents, choose=partial(_beats, between=False), empty=say("no plucked note of the line falls on a beat")
        ),
    ),
    _setting(
        "against the metre",
        say("accent between the beats"),
        say("An accent between the beats, on the notes that are usually weak."),
        say("Count the beat aloud; it must not move to the accents."),
        change=partial(
            _accents,
            choose=partial(_beats, between=True),
            empty=say("no plucked note of the line falls between the beats"),
        ),
    ),
    *(_counted(n) for n in (2, 3, 4)),
    _setting(
        "first finger",
        say("accent on the first finger of the cycle"),
        say("An accent each time the cycle begins again: that finger leads, the others follow lightly."),
        say("Only one finger is loud; the rest keep their own quiet level."),
        change=partial(
            _accents, choose=_first_finger, empty=say("the first finger of the cycle plucks no note of the line")
        ),
        fits=(LINE, LAYERS),
    ),
    *(_finger(finger) for finger in PLUCKING[:4]),
    _setting(
        "top notes",
        say("the top notes brought out"),
        say("The highest note of each chord sings; what lies under it goes with it more softly."),
        say("Lean the hand a little towards the finger on top; it plays no harder, the others play less."),
        change=partial(
            _brought_out,
            layer=_tops,
            words=say("bring out the top notes"),
            empty=say("there is no chord with a top note"),
        ),
        fits=(BLOCK, BROKEN),
    ),
    _setting(
        "bass",
        say("the bass brought out"),
        say("The bass leads: each of its notes is full and lasts, and the rest lies on top of it."),
        say("The thumb plays from its own weight; the fingers stay light."),
        change=partial(
            _brought_out, layer=_basses, words=say("bring out the bass"), empty=say("there is no bass under the line")
        ),
        fits=(BLOCK, BROKEN, LAYERS),
    ),
    _setting(
        "melody",
        say("the melody brought out"),
        say("The melody stands out from the bass by its tone, on every note alike."),
        say("Hear the melody as one singer; a bass under it does not make a note of it louder."),
        change=partial(_brought_out, layer=_melody, words=say("bring out the melody"), empty=say("there is no melody")),
        fits=(LAYERS,),
    ),
    _setting(
        "crescendo",
        say("from soft to loud"),
        say("The line grows from soft to loud in one slope, with no step where the string or the finger changes."),
        say("Save the loudest for the end; the tone stays round all the way."),
        change=partial(_swell, word="crescendo"),
    ),
    _setting(
        "decrescendo",
        say("from loud to soft"),
        say("The line fades from loud to soft in one slope, each note as clear as the first."),
        say("Soft notes need as exact a finger as loud ones: keep the fingertip firm."),
        change=partial(_swell, word="decrescendo"),
    ),
)

ACCENT = Axis(
    name=AXIS,
    title=say("Accents"),
    default="as written",
    settings=SETTINGS,
    parse=parse,
    grammar='"every N" or "every N from K", such as "every 3 from 2"',
)
