"""Which bars share a line: a total fit over the whole passage, so that every line has about the same colour.

Widths are estimates in staff spaces: what each onset group of a bar needs for head, digit and accidental, or for its
duration, whichever is more.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from itertools import pairwise

from engrave.model import Bar, Event, Passage

HEAD = 1.25
DIGIT = 1.35
FLAG = 0.9
"""room that a short rest needs besides, at the least: the flag of the note before it, and the next one's digit"""
SIGN = 1.0
"""room one accidental takes"""
EASE = 1.1
"""width of a line over what its bars need, where it is neither crowded nor thin"""
TIGHT = 0.92
"""width of a line over what its bars need, where it is as crowded as may be"""
MARGIN = 1.6
"""room at the bar lines"""
_SHORT = 8
"""values from which notes have flags"""
_SIXTEENTH = 2.7
"""width of a sixteenth set comfortably"""


def bar_widths(passage: Passage, shown: Mapping[str, int]) -> tuple[list[float], list[float]]:
    """Comfortable width of each bar in spaces, and what its heads, digits and signs need side by side.

    `shown` are the accidentals that are printed (see mei).
    """
    by_bar: list[list[Event]] = [[] for _ in passage.bars]
    for event in passage.events:
        by_bar[event.bar].append(event)
    wide, least = [], []
    for i, (bar, events) in enumerate(zip(passage.bars, by_bar, strict=True)):
        signs = _signs_before(passage.bars[i - 1], bar) if i else 0.0
        comfortable, needed = _bar_width(bar, events, shown)
        wide.append(comfortable + signs)
        least.append(needed + signs)
    return wide, least


def _signs_before(before: Bar, bar: Bar) -> float:
    """Room for the signs between two bars."""
    width = 3.0 * (before.metre != bar.metre) + 2.0 * bar.repeat_start
    if before.key.fifths != bar.key.fifths:
        width += 1.0 + max(abs(before.key.fifths), abs(bar.key.fifths))
    return width


def _bar_width(bar: Bar, events: list[Event], shown: Mapping[str, int]) -> tuple[float, float]:
    # keyed by numerator and denominator: the hash of a Fraction takes longer than all else here
    groups: dict[tuple[int, int], tuple[Fraction, float]] = {}
    graces = flags = 0.0
    for event in events:
        if event.space or event.bar_rest:
            continue
        signs = sum(note.id in shown for note in event.notes)
        tight = sum(b.pitch.height - a.pitch.height <= 2 for a, b in pairwise(event.notes))
        need = HEAD + SIGN * min(signs, 3) + (DIGIT * (1 + min(tight, 1)) if event.notes else 0.0)
        flags += FLAG * (not event.notes and event.value.kind >= _SHORT)
        if event.grace:
            graces += 0.8 * need
            continue
        key = event.onset.as_integer_ratio()
        before = groups[key][1] if key in groups else 0.0
        groups[key] = event.onset, max(before, need + 0.35 * event.value.dots)
    total = MARGIN + graces + 1.2 * bool(bar.repeat_end)
    least = total + flags + sum(need for _, need in groups.values())
    placed = sorted(groups.values(), key=lambda group: float(group[0]))
    for (at, need), (after, _) in pairwise([*placed, (bar.end, 0.0)]):
        total += max(need, _SIXTEENTH * float(4 * (after - at)) ** 0.5)
    return max(total, 8.0), least


def line_breaks(widths: list[float], *, room: float, first: float) -> list[int]:
    """Indices of the bars that start a new line (never 0): the split with the least unevenness.

    `room` is the width of a line without clef and key, `first` that of the first line. A line that is fuller than
    comfortable costs more than one that is emptier; the last line may be short.
    """
    count = len(widths)
    best: list[tuple[float, int]] = [(0.0, 0)] + [(float("inf"), 0)] * count
    sums = [0.0]
    for width in widths:
        sums.append(sums[-1] + width)
    for end in range(1, count + 1):
        for start in range(end - 1, -1, -1):
            space = first if start == 0 else room
            natural = sums[end] - sums[start]
            if natural * TIGHT > space and start < end - 1:
                break
            cost = best[start][0] + _cost(space / natural, last=end == count)
            if cost < best[end][0]:
                best[end] = (cost, start)
    breaks: list[int] = []
    at = best[count][1]
    while at:
        breaks.append(at)
        at = best[at][1]
    return breaks[::-1]


def _cost(stretch: float, *, last: bool) -> float:
    """How far a line is from comfortable; `stretch` is its width over what its bars need."""
    if stretch < TIGHT:
        return 50 * (TIGHT - stretch) + 5
    if last and stretch > 1.5:
        return 0.3 + 0.4 * min(stretch - 1.5, 3.0)
    return 1.5 * (stretch - EASE) ** 2 + 0.02


def last_width(widths: list[float], breaks: list[int], *, room: float, first: float) -> float:
    """How wide to set the music of the last line, so that it is spaced like the lines before it; `room` at most."""
    start = breaks[-1] if breaks else 0
    natural = sum(widths[start:])
    space = room if breaks else first
    before = [sum(widths[a:b]) for a, b in pairwise([0, *breaks])]
    usual = sum((first if i == 0 else room) / w for i, w in enumerate(before)) / len(before) if before else EASE + 0.2
    wanted = natural * max(usual, EASE)
    return space if wanted * 1.3 >= space else wanted
