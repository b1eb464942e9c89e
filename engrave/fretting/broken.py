"""Broken chords: which tones a hand leaves down after their written end, because the chord is one shape.

Common practice: a chord played one note after the other is laid as one shape and left until the harmony changes. What
counts as such a chord is ours: four quick moments or more on three pitches or more, none a step from another (but for a
minor seventh under the octave of a note below) and none struck twice running, within four quarters. In a tremolo, where
a note comes three times or oftener, it counts once, and the bass before it rings on to the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from engrave.fretting.tones import Moment, Tone

QUICK = Fraction(1, 2)
"""quarters between two notes of a broken chord at most"""
MOMENTS = 4
"""moments of a broken chord at least"""
LINE = 6
"""moments at least off the beat amid a line that goes on by steps on both sides: fewer are leaps of a melody"""
LENGTH = Fraction(4)
"""quarters that a broken chord lasts at most"""
STEP = 2
"""semitones up to which two notes are a step of a melody, not of a chord"""
OCTAVE = 12
STRINGS = 6
"""different pitches of a broken chord at most"""


def broken_chords(tones: tuple[Tone, ...], moments: Sequence[Moment]) -> tuple[Moment, ...]:
    """The moments, each with the tones of its broken chord that had better ring on."""
    made = list(moments)
    again, start = _again(tones, moments), 0
    for stop in range(1, len(moments) + 1):
        if stop == len(moments) or not _goes_on(tones, moments[start:stop], moments[stop], again=again[stop]):
            for number in _of_chord(tones, moments, start, stop, again):
                made[number] = replace(
                    moments[number], chord=start, ringing=_left_down(tones, moments[start:number], moments[number])
                )
            start = stop
    for number, moment in enumerate(made):
        if moment.chord is None and (bass := _bass(tones, moments, again, number)):
            made[number] = replace(moment, ringing=bass)
    return tuple(made)


def _bass(tones: tuple[Tone, ...], moments: Sequence[Moment], again: Sequence[bool], number: int) -> tuple[int, ...]:
    """The tones that ring on over the tremolo to which a moment belongs, or which it ends."""
    last = number if again[number] else number - 1
    if last < 0 or not again[last]:
        return ()
    first = last
    while again[first]:
        first -= 1
    return _left_down(tones, moments[max(first - 1, 0) : first], moments[number])


def _pitches(tones: tuple[Tone, ...], moments: Sequence[Moment]) -> set[int]:
    return {tones[i].midi for moment in moments for i in moment.struck}


def _again(tones: tuple[Tone, ...], moments: Sequence[Moment]) -> tuple[bool, ...]:
    """Which moments strike again what is struck three times running or oftener."""
    heard = [_pitches(tones, (moment,)) for moment in moments]
    same = [False, *(one == other for one, other in pairwise(heard)), False]
    return tuple(same[at] and (same[at - 1] or same[at + 1]) for at in range(len(heard)))


def _goes_on(tones: tuple[Tone, ...], before: Sequence[Moment], moment: Moment, *, again: bool) -> bool:
    """Does a moment belong to the broken chord of the moments before it; `again`: as a note of its tremolo."""
    if moment.onset - before[-1].onset > QUICK or moment.onset - before[0].onset >= LENGTH:
        return False
    if not again and _pitches(tones, before[-1:]) == _pitches(tones, (moment,)):
        return False
    pitches = sorted(_pitches(tones, (*before, moment)))
    return len(pitches) <= STRINGS and all(
        high - low > STEP or (high - low == STEP and high - OCTAVE in pitches) for low, high in pairwise(pitches)
    )


def _of_chord(
    tones: tuple[Tone, ...], moments: Sequence[Moment], start: int, stop: int, again: Sequence[bool]
) -> range:
    """The moments from `start` to `stop` if they make a chord, else none."""
    amid = not moments[start].beat and _steps(tones, moments, start) and _steps(tones, moments, stop)
    changes = stop - start - sum(again[start:stop])
    chord = changes >= (LINE if amid else MOMENTS) and len(_pitches(tones, moments[start:stop])) >= 3
    return range(start, stop if chord else start)


def _steps(tones: tuple[Tone, ...], moments: Sequence[Moment], at: int) -> bool:
    """Does a line go by quick steps into a moment."""
    if not 0 < at < len(moments) or moments[at].onset - moments[at - 1].onset > QUICK:
        return False
    before, here = (_pitches(tones, moments[i : i + 1]) for i in (at - 1, at))
    return any(0 < abs(a - b) <= STEP for a in before for b in here)


def _left_down(tones: tuple[Tone, ...], before: Sequence[Moment], moment: Moment) -> tuple[int, ...]:
    """The tones of a chord that are over as written and not struck again now, the latest of each pitch."""
    mine = _pitches(tones, (moment,)) | {tones[i].midi for i in moment.held}
    found: dict[int, int] = {}
    for old in reversed(before):
        for tone in old.struck:
            if tone not in moment.held and tones[tone].midi not in mine:
                found.setdefault(tones[tone].midi, tone)
    return tuple(found.values())
