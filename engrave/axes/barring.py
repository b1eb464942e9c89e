"""Maps of time and the bars they lead to."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace
from fractions import Fraction

from engrave.axes.retiming import TimeMap
from engrave.model import Bar, Passage
from engrave.model.said import say


def piecewise(points: list[tuple[Fraction, Fraction]]) -> TimeMap:
    """The time map that is straight between these (old, new) times, which rise, and goes on at a slope of one."""
    olds = [old for old, _ in points]
    # most times that are asked for are points: found by two whole numbers, they spare the search and the sum
    exact = {old.as_integer_ratio(): new for old, new in points}

    def move(time: Fraction) -> Fraction:
        found = exact.get(time.as_integer_ratio())
        if found is not None:
            return found
        index = bisect_right(olds, time) - 1
        if index < 0:
            return points[0][1] + time - points[0][0]
        old, new = points[index]
        if index + 1 == len(points):
            return new + time - old
        next_old, next_new = points[index + 1]
        return new + (time - old) * (next_new - new) / (next_old - old)

    return move


def rebarred(passage: Passage, total: Fraction, pickup: Fraction) -> tuple[Bar, ...]:
    """Bars of the passage's own metre for `total` quarters; the first is `pickup` quarters long (0: a full one)."""
    model, last = passage.bars[0], passage.bars[-1]
    length = model.metre.length
    made: list[Bar] = []
    at = Fraction(0)
    number = 0 if pickup else 1
    if not pickup and model.label.isdigit():
        number = int(model.label)
    while at < total:
        size = pickup if pickup and not made else length
        made.append(
            Bar(label=str(number), onset=at, length=size, metre=model.metre, key=model.key, offset=length - size)
        )
        at += size
        number += 1
    made[0] = replace(made[0], repeat_start=model.repeat_start)
    made[-1] = replace(made[-1], barline=last.barline, repeat_end=last.repeat_end)
    return tuple(made)


def one_metre(passage: Passage) -> str:
    """Why the bars of a passage cannot be drawn anew, or "" if they can."""
    if len({bar.metre for bar in passage.bars}) > 1:
        return say("the metre changes in the passage: its bars cannot be drawn anew")
    if len({bar.key for bar in passage.bars}) > 1:
        return say("the key changes in the passage: its bars cannot be drawn anew")
    if repeats_inside(passage):
        return say("repeats inside the passage tie it to its bars: they cannot be drawn anew")
    return ""


def repeats_inside(passage: Passage) -> bool:
    """Whether a repeat begins or ends between the bars, or a bar belongs to an ending."""
    inner = [*(b.repeat_end for b in passage.bars[:-1]), *(b.repeat_start for b in passage.bars[1:])]
    return any(inner) or any(bar.ending for bar in passage.bars)
