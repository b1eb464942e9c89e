"""Figures that show by their strings: tremolo, and broken chords.

Tremolo (common practice): a note three or more times running on one string after each bass. Broken chord (common
practice): neighbouring notes on different strings, at least three of them, each string at one fret while the figure
lasts, so that all can ring. How many of them make a stretch is ours.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from engrave.textures.row import Onset

REPEATS = 3
"""times that tremolo strikes its note after the bass, at least"""
STRINGS = 3
"""strings a broken chord lies on, at least"""


Cuts = tuple[int, ...]
"""some figures one after another, by index into a row: figure n is row[cuts[n]:cuts[n + 1]]"""


def tremolos(row: Sequence[Onset]) -> tuple[Cuts, ...]:
    """Stretches of tremolo: two figures or more, or one that is all there is."""
    runs: list[Cuts] = []
    at = 0
    while at < len(row):
        cuts = [at]
        while (stop := _tremolo_figure(row, cuts[-1])) > cuts[-1]:
            cuts.append(stop)
        if len(cuts) > 2 or (len(cuts) == 2 and at == 0 and cuts[-1] == len(row)):
            lead = _lead(row, cuts[0], runs[-1][-1] if runs else 0)
            runs.append((lead, *cuts) if lead < cuts[0] else tuple(cuts))
            at = cuts[-1]
        else:
            at += 1
    return tuple(runs)


def _tremolo_figure(row: Sequence[Onset], at: int) -> int:
    """Index behind the figure that begins at `at`; `at` where none does."""
    if at + REPEATS >= len(row) or not row[at + 1].single:
        return at
    head, place = row[at], row[at + 1].places
    string = next(iter(place))
    if head.low.placement.string <= string or string in head.places:
        return at
    stop = at + 1
    # beyond a bar of one note it is a repeated note over a bass, not a figure
    while stop < len(row) and row[stop].places == place and row[stop].bar - head.bar <= 1:
        stop += 1
    return stop if stop - at > REPEATS else at


def _lead(row: Sequence[Onset], at: int, floor: int) -> int:
    """Where repeated notes before the first bass begin: an upbeat of the same tremolo."""
    start = at
    while start > floor and row[start - 1].single and row[start - 1].places == row[at - 1].places:
        start -= 1
    return start if 2 <= at - start <= REPEATS else at


def broken_chords(row: Sequence[Onset], bar_onsets: int) -> tuple[Cuts, ...]:
    """Stretches of broken chords: two figures or more, or one of `bar_onsets` or more, or one that is all there is."""
    runs: list[Cuts] = []
    for start, stop in _crossing(row):
        for cuts in _sound(row, _cut(row, start, stop)):
            whole = cuts[0] == 0 and cuts[-1] == len(row)
            long = cuts[-1] - cuts[0]
            enough = long >= 2 * STRINGS and (len(cuts) > 2 or long >= bar_onsets)
            if enough or (whole and long > STRINGS):
                runs.append(tuple(cuts))
    return tuple(runs)


def _crossing(row: Sequence[Onset]) -> list[tuple[int, int]]:
    """Longest stretches in which each onset leaves the strings of the one before it."""
    found: list[tuple[int, int]] = []
    start = 0
    for index in range(1, len(row) + 1):
        if index == len(row) or not _leaves(row[index - 1], row[index]):
            if index - start >= STRINGS:
                found.append((start, index))
            start = index
    return found


def _leaves(one: Onset, other: Onset) -> bool:
    if len(one.places) > STRINGS or len(other.places) > STRINGS:
        return False
    if not one.single and not other.single:
        return False
    # a bass that returns begins a new figure, over which the string left last may be stopped anew
    if other.bass and other.low.placement.string > one.low.placement.string:
        return True
    return not one.places.keys() & other.places.keys()


def _cut(row: Sequence[Onset], start: int, stop: int) -> list[int]:
    """Where figures begin in row[start:stop]: where it turns back from its lowest string, and the end."""
    low = [onset.low.placement.string for onset in row[start:stop]]
    basses = any(onset.bass for onset in row[start:stop])
    deepest = max(low)
    cuts = [start]
    for n in range(1, stop - start):
        last = n + 1 == len(low)
        turns = low[n] > low[n - 1] and (not _back(row[cuts[-1] : start + n + 1]) if last else low[n] > low[n + 1])
        if turns and (row[start + n].bass if basses else low[n] == deepest):
            cuts.append(start + n)
    cuts.append(stop)
    return _paired(row, cuts)


def _back(figure: Sequence[Onset]) -> bool:
    """Whether a figure ends with one of its notes over its bass: the way back of p i m a m i."""
    *before, last = figure
    deepest = max(before, key=lambda onset: onset.low.placement.string)
    return last.single and last.places != deepest.places and any(last.places == onset.places for onset in before)


def _paired(row: Sequence[Onset], cuts: list[int]) -> list[int]:
    """Figures of two notes joined with the next where one hand holds both: p i p m is one figure."""
    short = sum(b - a < STRINGS for a, b in pairwise(cuts))
    if 2 * short <= len(cuts) - 1:
        return cuts
    kept = [cuts[0]]
    index = 1
    while index < len(cuts):
        if index + 1 < len(cuts) and _holds(row[kept[-1] : cuts[index + 1]]) >= STRINGS + 1:
            index += 1
        kept.append(cuts[index])
        index += 1
    return kept


def _sound(row: Sequence[Onset], cuts: list[int]) -> list[list[int]]:
    """The cuts of those figures that are broken chords, those that follow each other together."""
    found: list[list[int]] = []
    for a, b in pairwise(cuts):
        # over one bass, where it is written out: a bass that goes on is a part of its own
        if b - a < STRINGS or _holds(row[a:b]) < STRINGS or any(o.written and o.bass for o in row[a + 1 : b]):
            continue
        if found and found[-1][-1] == a:
            found[-1].append(b)
        else:
            found.append([a, b])
    return found


def _holds(figure: Sequence[Onset]) -> int:
    """How many strings a figure lies on, 0 where one of them but the highest is stopped at two frets."""
    frets: dict[int, set[int]] = {}
    for onset in figure:
        for string, fret in onset.places.items():
            frets.setdefault(string, set()).add(fret)
    moved = [string for string, stops in frets.items() if len(stops) > 1]
    return 0 if any(string != min(frets) for string in moved) else len(frets)
