"""The `stroke` axis: rest stroke (apoyando) or free stroke (tirando).

A rest stroke ends on the next string, so that string must be free: neither plucked at the same moment nor still
sounding a note of its own. Fingers come to rest on the next lower string, the thumb on the next higher one.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from engrave.axes.moments import Moment, Sound, melody, moments, sounding_end, upper_voice
from engrave.axes.plucking import stroke_of
from engrave.axes.setting import COMMON, Axis, Change, Setting, decline, no_pattern, noted, place_of, unchanged
from engrave.model import Declined, Note, Variation, altered, with_notes

AXIS = "stroke"

Wanted = Callable[[Variation, Moment, Sound], bool]
"""whether a plucked note should be a rest stroke, if it can be"""


def resting(sound: Sound, strings: int) -> int | None:
    """The string the stroke would come to rest on, None beyond the outer strings."""
    thumb = sound.note.stroke is not None and sound.note.stroke.finger == "p"
    string = sound.placement.string + (-1 if thumb else 1)
    return string if 1 <= string <= strings else None


def free_strings(variation: Variation) -> Callable[[Moment, int], bool]:
    """Whether a string is neither plucked at a moment nor still sounding another voice's or chord's note then.

    A note of the line that has had its time is over; what counts is written length, not how long the string rings.
    """
    ends = sounding_end(variation.passage)
    graces = {(m.onset, s.placement.string) for m in moments(variation.passage) if m.grace for s in m.sounds}
    starts: dict[int, list[Fraction]] = {}
    latest: dict[int, list[Fraction]] = {}
    for moment in moments(variation.passage):
        for sound in moment.sounds:
            string, end = sound.placement.string, ends[sound.note.id]
            so_far = latest.setdefault(string, [])
            starts.setdefault(string, []).append(moment.onset)
            so_far.append(max(end, so_far[-1]) if so_far else end)

    def free(moment: Moment, string: int) -> bool:
        begun = bisect_right(starts.get(string, []), moment.onset)
        return not (begun and latest[string][begun - 1] > moment.onset) and not (
            moment.grace and (moment.onset, string) in graces
        )

    return free


def rest_where(wanted: Wanted, strict: bool = False) -> Change:
    """Rest strokes where `wanted` and possible, free ones elsewhere; `strict` declines at the first that cannot be."""

    def change(variation: Variation) -> Variation | Declined:
        free = free_strings(variation)
        changed: dict[str, Note] = {}
        bent = rests = 0
        for moment in moments(variation.passage):
            for sound in moment.plucked:
                note = sound.note
                if note.stroke is None:
                    continue
                kind = "free"
                if wanted(variation, moment, sound):
                    string = resting(sound, len(variation.instrument.strings))
                    if string is not None and free(moment, string):
                        kind, rests = "rest", rests + 1
                    elif strict:
                        what = f"string {string} still sounds" if string else "there is no string to come to rest on"
                        return decline(
                            f"{note.pitch} cannot be a rest stroke: {what}", place_of(variation.passage, sound.event)
                        )
                    else:
                        bent += 1
                if kind != note.stroke.kind:
                    changed[note.id] = altered(note, stroke=stroke_of(note.stroke.finger, kind))
        if not rests:
            return decline("no note can be a rest stroke: the string to come to rest on is missing or still sounds")
        made = replace(variation, passage=with_notes(variation.passage, changed))
        if bent:
            stay = "1 note stays a free stroke" if bent == 1 else f"{bent} notes stay free strokes"
            made = noted(made, f"{stay}: the string to come to rest on is missing or still sounds")
        return made

    return change


def _free(variation: Variation) -> Variation:
    changed = {
        n.id: altered(n, stroke=stroke_of(n.stroke.finger, "free"))
        for n in variation.passage.notes
        if n.stroke and n.stroke.kind != "free"
    }
    return replace(variation, passage=with_notes(variation.passage, changed)) if changed else variation


def _alone(_: Variation, moment: Moment, sound: Sound) -> bool:
    return moment.plucked == (sound,)


def _top(variation: Variation, moment: Moment, sound: Sound) -> bool:
    return sound is melody(moment, upper_voice(variation.passage)) and sound is moment.plucked[-1]


def _by_beat(first_rest: bool) -> Wanted:
    def wanted(variation: Variation, moment: Moment, sound: Sound) -> bool:
        bar = variation.passage.bars[moment.bar]
        beat = int((moment.onset - bar.onset + bar.offset) // bar.metre.beat)
        return (
            len(moment.plucked) == 1
            and (beat % 2 == 0) is first_rest
            and sound.event.voice == upper_voice(variation.passage)
        )

    return wanted


def _setting(name: str, label: str, purpose: str, cue: str, *, change: Change, kind: str = "stroke") -> Setting:
    return Setting(axis=AXIS, name=name, label=label, purpose=purpose, cue=cue, source=COMMON, kind=kind, apply=change)


SETTINGS: tuple[Setting, ...] = (
    _setting("as given", "strokes as given", "", "", change=unchanged, kind="plain"),
    _setting(
        "free",
        "free stroke",
        "Free stroke throughout: the finger clears the next string and the sound stays full.",
        "The fingertip goes into the hand, not up and away from the string.",
        change=_free,
    ),
    _setting(
        "rest",
        "rest stroke",
        "Rest stroke throughout: the finger comes to rest on the next string, with weight and a round sound.",
        "Lean, release, land: the finger is loose the moment it rests.",
        change=rest_where(_alone),
    ),
    _setting(
        "rest, then free",
        "rest and free stroke by beats",
        "Rest stroke for one beat, free stroke for the next: the two should come out alike.",
        "With eyes shut you should not be able to tell which beat is which.",
        change=rest_where(_by_beat(True)),
    ),
    _setting(
        "free, then rest",
        "free and rest stroke by beats",
        "Free stroke for one beat, rest stroke for the next: the change must cost no time.",
        "The hand keeps its place; only the fingertip's path changes.",
        change=rest_where(_by_beat(False)),
    ),
    _setting(
        "rest on top",
        "rest stroke on the top notes",
        "Rest stroke on the top notes only, so that the melody sings above the rest.",
        "The melody is rounder than what lies under it, not just louder.",
        change=rest_where(_top, strict=True),
    ),
)

STROKE = Axis(name=AXIS, title="Stroke", default="as given", settings=SETTINGS, parse=no_pattern, grammar="")
