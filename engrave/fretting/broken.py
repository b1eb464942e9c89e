"""Broken chords: which tones a hand leaves down after their written end, because the chord is one shape.

Common practice: a chord played one note after the other is laid as one shape and left until the harmony changes. What
counts as such a chord is ours: four quick onsets or more on three pitches or more, none a step from another (but for a
minor seventh under the octave of a note below) and none struck twice running, within four quarters. In a tremolo, where
a note comes three times or oftener, it counts once, and the bass before it rings on to the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from engrave.fretting.tones import Tone, ToneGroup

QUICK = Fraction(1, 2)
"""quarters between two notes of a broken chord at most"""
GROUPS = 4
"""onsets of a broken chord at least"""
LINE = 6
"""onsets at least off the beat amid a line that goes on by steps on both sides: fewer are leaps of a melody"""
LENGTH = Fraction(4)
"""quarters that a broken chord lasts at most"""
STEP = 2
"""semitones up to which two notes are a step of a melody, not of a chord"""
OCTAVE = 12
STRINGS = 6
"""different pitches of a broken chord at most"""


def broken_chords(tones: tuple[Tone, ...], groups: Sequence[ToneGroup]) -> tuple[ToneGroup, ...]:
    """The onsets, each with the tones of its broken chord that had better ring on."""
    made = list(groups)
    again, start = _again(tones, groups), 0
    for stop in range(1, len(groups) + 1):
        if stop == len(groups) or not _goes_on(tones, groups[start:stop], groups[stop], again=again[stop]):
            for number in _of_chord(tones, groups, start, stop, again):
                made[number] = replace(
                    groups[number], chord=start, ringing=_left_down(tones, groups[start:number], groups[number])
                )
            start = stop
    for number, group in enumerate(made):
        if group.chord is None and (bass := _bass(tones, groups, again, number)):
            made[number] = replace(group, ringing=bass)
    return tuple(made)


def _bass(tones: tuple[Tone, ...], groups: Sequence[ToneGroup], again: Sequence[bool], number: int) -> tuple[int, ...]:
    """The tones that ring on over the tremolo to which an onset belongs, or which it ends."""
    last = number if again[number] else number - 1
    if last < 0 or not again[last]:
        return ()
    first = last
    while again[first]:
        first -= 1
    return _left_down(tones, groups[max(first - 1, 0) : first], groups[number])


def _pitches(tones: tuple[Tone, ...], groups: Sequence[ToneGroup]) -> set[int]:
    return {tones[i].midi for group in groups for i in group.struck}


def _again(tones: tuple[Tone, ...], groups: Sequence[ToneGroup]) -> tuple[bool, ...]:
    """Which onsets strike again what is struck three times running or oftener."""
    heard = [_pitches(tones, (group,)) for group in groups]
    same = [False, *(one == other for one, other in pairwise(heard)), False]
    return tuple(same[at] and (same[at - 1] or same[at + 1]) for at in range(len(heard)))


def _goes_on(tones: tuple[Tone, ...], before: Sequence[ToneGroup], group: ToneGroup, *, again: bool) -> bool:
    """Does an onset belong to the broken chord of the onsets before it; `again`: as a note of its tremolo."""
    if group.onset - before[-1].onset > QUICK or group.onset - before[0].onset >= LENGTH:
        return False
    if not again and _pitches(tones, before[-1:]) == _pitches(tones, (group,)):
        return False
    pitches = sorted(_pitches(tones, (*before, group)))
    return len(pitches) <= STRINGS and all(
        high - low > STEP or (high - low == STEP and high - OCTAVE in pitches) for low, high in pairwise(pitches)
    )


def _of_chord(
    tones: tuple[Tone, ...], groups: Sequence[ToneGroup], start: int, stop: int, again: Sequence[bool]
) -> range:
    """The onsets from `start` to `stop` if they make a chord, else none."""
    amid = not groups[start].beat and _steps(tones, groups, start) and _steps(tones, groups, stop)
    changes = stop - start - sum(again[start:stop])
    chord = changes >= (LINE if amid else GROUPS) and len(_pitches(tones, groups[start:stop])) >= 3
    return range(start, stop if chord else start)


def _steps(tones: tuple[Tone, ...], groups: Sequence[ToneGroup], at: int) -> bool:
    """Does a line go by quick steps into an onset."""
    if not 0 < at < len(groups) or groups[at].onset - groups[at - 1].onset > QUICK:
        return False
    before, here = (_pitches(tones, groups[i : i + 1]) for i in (at - 1, at))
    return any(0 < abs(a - b) <= STEP for a in before for b in here)


def _left_down(tones: tuple[Tone, ...], before: Sequence[ToneGroup], group: ToneGroup) -> tuple[int, ...]:
    """The tones of a chord that are over as written and not struck again now, the latest of each pitch."""
    mine = _pitches(tones, (group,)) | {tones[i].midi for i in group.held}
    found: dict[int, int] = {}
    for old in reversed(before):
        for tone in old.struck:
            if tone not in group.held and tones[tone].midi not in mine:
                found.setdefault(tones[tone].midi, tone)
    return tuple(found.values())
