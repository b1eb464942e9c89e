"""The `stroke` axis: rest stroke (apoyando) or free stroke (tirando).

A rest stroke ends on the next string, so that string must be free: neither plucked at the same time nor still
sounding a note of its own. Fingers come to rest on the next lower string, the thumb on the next higher one, which must
not be struck next either: there the thumb would lie in the finger's way. What is broken rings on while its figure
lasts, whatever its written length, and a bass until the next one (common practice).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from itertools import pairwise, zip_longest

from engrave.axes.plucking import stroke_of, top_of
from engrave.axes.setting import LEAST, Axis, Setting, no_pattern, noted, unchanged, unfit
from engrave.model import TEXTURES, Direction, Note, Texture, Variation, replace_unchecked, with_notes
from engrave.model.said import say, say_count
from engrave.model.texture import BLOCK, BROKEN, LAYERS, LINE, TREMOLO
from engrave.model.wording import bars_text
from engrave.textures import kind_of, stretches
from engrave.textures.onsets import OnsetGroup, Sound, onset_groups, sounding_end

AXIS = "stroke"

Wanted = Callable[[OnsetGroup, Sound, Texture | None, int], bool]
"""whether a plucked note of a texture, on that beat of its bar (from 0), should be a rest stroke, if it can be"""


def resting(sound: Sound, strings: int) -> int | None:
    """The string the stroke would come to rest on, None beyond the outer strings."""
    thumb = sound.note.stroke is not None and sound.note.stroke.finger == "p"
    string = sound.placement.string + (-1 if thumb else 1)
    return string if 1 <= string <= strings else None


def ringing_end(variation: Variation) -> dict[str, Fraction]:
    """Id of each note → when it stops to ring, in quarters: its written end, or later where its texture rings on."""
    ends = sounding_end(variation.passage)
    onset = {n.id: e.onset for e in variation.passage.events for n in e.notes}
    for span in stretches(variation):
        if span.kind in (BROKEN, TREMOLO):
            starts = [min((onset[name] for name in f if name in onset), default=None) for f in span.figures]
            for number, figure in enumerate(span.figures):
                here = [name for name in figure if name in ends]
                after = next((at for at in starts[number + 1 :] if at is not None), None)
                until = max((ends[name] for name in here), default=Fraction(0)) if after is None else after
                ends |= {name: max(ends[name], until) for name in here}
        elif span.kind == LAYERS:
            lows = [name for figure in span.figures for name in figure if name in span.basses and name in onset]
            for one, other in pairwise(lows):
                ends[one] = max(ends[one], onset[other])
    return ends


def free_strings(variation: Variation) -> Callable[[OnsetGroup, int], bool]:
    """Whether a string is neither plucked in an onset group nor still sounding another note then.

    A note of a line that has had its time is over; what counts there is written length.
    """
    ends = ringing_end(variation)
    graces = {(m.onset, s.placement.string) for m in onset_groups(variation.passage) if m.grace for s in m.sounds}
    starts: dict[int, list[Fraction]] = {}
    latest: dict[int, list[Fraction]] = {}
    for group in onset_groups(variation.passage):
        for sound in group.sounds:
            string, end = sound.placement.string, ends[sound.note.id]
            starts.setdefault(string, []).append(group.onset)
            # a string that is struck again has stopped what it sounded
            latest.setdefault(string, []).append(end)

    def free(group: OnsetGroup, string: int) -> bool:
        begun = bisect_right(starts.get(string, []), group.onset)
        return not (begun and latest[string][begun - 1] > group.onset) and not (
            group.grace and (group.onset, string) in graces
        )

    return free


@dataclass(frozen=True, slots=True, kw_only=True)
class _Words:
    """What is printed over the music from where on it holds."""

    all: str
    """where every note that should be a rest stroke can be one"""
    some: str
    """where not all of them can"""
    throughout: bool = False
    """it speaks of every note, not only of those that should be rest strokes"""


def rest_where(variation: Variation, wanted: Wanted, words: _Words) -> Variation:
    """Rest strokes where `wanted` and possible, free ones elsewhere; `words` are printed over the music."""
    free, where = free_strings(variation), kind_of(variation)
    changed: dict[str, Note] = {}
    rests = plucked = 0
    kinds: dict[int, list[str]] = {}
    others: set[int] = set()
    groups = onset_groups(variation.passage)
    for group, after in zip_longest(groups, groups[1:]):
        coming = {s.placement.string for s in after.sounds} if after else set()
        bar = variation.passage.bars[group.bar]
        beat = int((group.onset - bar.onset + bar.offset) // bar.metre.beat)
        for sound in group.plucked:
            note = sound.note
            if note.stroke is None:
                continue
            plucked += 1
            kind = "free"
            if wanted(group, sound, where.get(note.id), beat):
                string = resting(sound, len(variation.instrument.strings))
                # a thumb that lies where the next note is to sound would be in its way
                busy = note.stroke.finger == "p" and string in coming
                if string is not None and not busy and free(group, string):
                    kind, rests = "rest", rests + 1
                kinds.setdefault(sound.event.bar, []).append(kind)
            else:
                others.add(sound.event.bar)
            if kind != note.stroke.kind:
                changed[note.id] = replace_unchecked(note, stroke=stroke_of(note.stroke.finger, kind))
    if not rests:
        reason = say("no note can be a rest stroke: the string to come to rest on is missing, or needed for a note")
        raise unfit(reason, lies=True)
    if rests < LEAST * plucked:
        reason = say(
            "only {n} of {notes} notes can be rest strokes: the strings beside the others ring on",
            n=rests,
            notes=plucked,
        )
        raise unfit(reason)
    bars = {bar for bar, here in kinds.items() if "free" in here}
    made = replace(variation, passage=with_notes(variation.passage, changed))
    # one rule for the whole page: words that change from bar to bar are not read
    here = words.some if bars or (words.throughout and others & kinds.keys()) else words.all
    printed = dict.fromkeys(kinds, here) | dict.fromkeys(others - kinds.keys() if words.throughout else (), _NONE)
    made = _saying(made, printed)
    if bars:
        text = say_count(
            # for the translator: {bars} is "bar 3" or "bars 1–4"
            "{n} note stays a free stroke ({bars}): the string to come to rest on is missing, or needed for a note",
            "{n} notes stay free strokes ({bars}): the string to come to rest on is missing, or needed for a note",
            sum(here.count("free") for here in kinds.values()),
            bars=bars_text([bar.label for bar in variation.passage.bars], bars),
        )
        made = noted(made, text)
    return made


def _saying(variation: Variation, texts: Mapping[int, str]) -> Variation:
    """`variation` with a word on its strokes at each bar from which another is true: `texts` by bar."""
    passage = variation.passage
    here: list[Direction] = []
    for bar in sorted(texts):
        if texts[bar] != (here[-1].text if here else _NONE):
            here.append(Direction(kind="strokes", text=texts[bar], bar=bar, onset=passage.bars[bar].onset))
    others = tuple(d for d in passage.directions if d.kind != "strokes")
    if not here and len(others) == len(passage.directions):
        return variation
    return replace(variation, passage=replace_unchecked(passage, directions=(*others, *here)))


_NONE = say("free stroke")
_LINE = _Words(
    all=say("rest stroke"),
    some=say("rest stroke where the next string is free"),
    throughout=True,
)
_REST_FREE = _Words(
    all=say("a beat of rest stroke, a beat of free stroke, in turn"),
    some=say("a beat of rest stroke, a beat of free stroke, in turn; rest stroke only where the next string is free"),
)
_FREE_REST = _Words(
    all=say("a beat of free stroke, a beat of rest stroke, in turn"),
    some=say("a beat of free stroke, a beat of rest stroke, in turn; rest stroke only where the next string is free"),
)
_MELODY = _Words(
    all=say("melody rest stroke, the others free"),
    some=say("melody rest stroke where the next string is free, the others free"),
)
_BASS = _Words(
    all=say("bass rest stroke, the others free"),
    some=say("bass rest stroke where the next string is free, the others free"),
)


def _free(variation: Variation) -> Variation:
    changed = {
        n.id: replace_unchecked(n, stroke=stroke_of(n.stroke.finger, "free"))
        for n in variation.passage.notes
        if n.stroke and n.stroke.kind != "free"
    }
    made = replace(variation, passage=with_notes(variation.passage, changed)) if changed else variation
    return _saying(made, {})


def _in_lines(group: OnsetGroup, sound: Sound, span: Texture | None, _beat: int) -> bool:
    """Every note of a line that sounds alone."""
    return group.plucked == (sound,) and (span is None or span.kind == LINE)


def _on_even_beats(group: OnsetGroup, sound: Sound, span: Texture | None, beat: int) -> bool:
    return not beat % 2 and _in_lines(group, sound, span, beat)


def _on_odd_beats(group: OnsetGroup, sound: Sound, span: Texture | None, beat: int) -> bool:
    return bool(beat % 2) and _in_lines(group, sound, span, beat)


def _melody(group: OnsetGroup, sound: Sound, span: Texture | None, _beat: int) -> bool:
    """The melody over a bass, and lines beside it."""
    sung = span is None or span.kind in (LAYERS, LINE)
    return sung and sound is top_of(group, span) and sound is group.plucked[-1]


def _bass(_group: OnsetGroup, sound: Sound, span: Texture | None, _beat: int) -> bool:
    """The bass under a melody or of a broken chord."""
    thumb = sound.note.stroke is not None and sound.note.stroke.finger == "p"
    return thumb and span is not None and sound.note.id in span.basses


_setting = partial(Setting, AXIS, kind="stroke")


SETTINGS: tuple[Setting, ...] = (
    _setting("as given", say("strokes as given"), "", "", change=unchanged, kind="plain", fits=TEXTURES),
    _setting(
        "free",
        say("free stroke"),
        say("Free stroke throughout: the finger clears the next string and the sound stays full."),
        say("The fingertip goes into the hand, not up and away from the string."),
        change=_free,
        fits=TEXTURES,
    ),
    _setting(
        "rest",
        say("rest stroke"),
        say("Rest stroke on the line: the finger comes to rest on the next string, with weight and a round sound."),
        say("Lean, release, land: the finger is loose the moment it rests."),
        change=partial(rest_where, wanted=_in_lines, words=_LINE),
        fits=(LINE,),
    ),
    _setting(
        "rest, then free",
        say("rest and free stroke by beats"),
        say("Rest stroke for one beat, free stroke for the next: the two should come out alike."),
        say("With eyes shut you should not be able to tell which beat is which."),
        change=partial(rest_where, wanted=_on_even_beats, words=_REST_FREE),
        fits=(LINE,),
    ),
    _setting(
        "free, then rest",
        say("free and rest stroke by beats"),
        say("Free stroke for one beat, rest stroke for the next: the change must cost no time."),
        say("The hand keeps its place; only the fingertip's path changes."),
        change=partial(rest_where, wanted=_on_odd_beats, words=_FREE_REST),
        fits=(LINE,),
    ),
    _setting(
        "rest on top",
        say("rest stroke on the melody"),
        say("Rest stroke on the melody, free stroke under it: the melody sings without being pushed."),
        say("The melody is rounder than what lies under it, not just louder."),
        change=partial(rest_where, wanted=_melody, words=_MELODY),
        fits=(LAYERS,),
    ),
    _setting(
        "rest on bass",
        say("rest stroke on the bass"),
        say("Rest stroke of the thumb on the bass, free stroke above it: the bass carries without a push of the arm."),
        say("The thumb falls through its string onto the next and waits there; the fingers do not feel it."),
        change=partial(rest_where, wanted=_bass, words=_BASS),
        fits=(LAYERS, BROKEN, BLOCK),
    ),
)

STROKE = Axis(name=AXIS, title=say("Stroke"), default="as given", settings=SETTINGS, parse=no_pattern, grammar="")
