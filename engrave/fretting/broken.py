"""Broken chords: which tones a hand leaves down after their written end, because the chord is one shape.

Common practice: a chord played one note after the other is laid as one shape and left until the harmony changes. What
counts as such a chord is ours: four quick moments or more on three pitches or more, none a step from another and none
struck twice running, within four quarters.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from engrave.fretting.tones import Frame, Tone

QUICK = Fraction(1, 2)
"""quarters between two notes of a broken chord at most"""
FRAMES = 4
"""moments of a broken chord at least"""
LENGTH = Fraction(4)
"""quarters that a broken chord lasts at most"""
STEP = 2
"""semitones up to which two notes are a step of a melody, not of a chord"""
STRINGS = 6
"""different pitches of a broken chord at most"""


def broken_chords(tones: tuple[Tone, ...], frames: Sequence[Frame]) -> tuple[Frame, ...]:
    """The frames, each with the tones of its broken chord that had better ring on."""
    made = list(frames)
    start = 0
    for stop in range(1, len(frames) + 1):
        if stop == len(frames) or not _goes_on(tones, frames[start:stop], frames[stop]):
            for number in _of_chord(tones, frames, start, stop):
                made[number] = replace(
                    frames[number], chord=start, ringing=_left_down(tones, frames[start:number], frames[number])
                )
            start = stop
    return tuple(made)


def _pitches(tones: tuple[Tone, ...], frames: Sequence[Frame]) -> set[int]:
    return {tones[i].midi for frame in frames for i in frame.struck}


def _goes_on(tones: tuple[Tone, ...], before: Sequence[Frame], frame: Frame) -> bool:
    """Does a frame belong to the broken chord of the frames before it."""
    if frame.onset - before[-1].onset > QUICK or frame.onset - before[0].onset >= LENGTH:
        return False
    if _pitches(tones, before[-1:]) == _pitches(tones, (frame,)):
        return False
    pitches = sorted(_pitches(tones, (*before, frame)))
    return len(pitches) <= STRINGS and all(high - low > STEP for low, high in pairwise(pitches))


def _of_chord(tones: tuple[Tone, ...], frames: Sequence[Frame], start: int, stop: int) -> range:
    """The frames from `start` to `stop` if they make a chord, else none."""
    chord = stop - start >= FRAMES and len(_pitches(tones, frames[start:stop])) >= 3
    return range(start, stop if chord else start)


def _left_down(tones: tuple[Tone, ...], before: Sequence[Frame], frame: Frame) -> tuple[int, ...]:
    """The tones of a chord that are over as written and not struck again now, the latest of each pitch."""
    mine = _pitches(tones, (frame,)) | {tones[i].midi for i in frame.held}
    found: dict[int, int] = {}
    for old in reversed(before):
        for tone in old.struck:
            if tone not in frame.held and tones[tone].midi not in mine:
                found.setdefault(tones[tone].midi, tone)
    return tuple(found.values())
