"""Bars too long for a line, parted at a beat: the parts follow each other with no bar line between them.

Common practice for cadenzas and for variations with many notes to the bar. A part is a Bar of its own for everything
that draws; the first keeps the number, the others print it in brackets.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import accumulate, pairwise

from engrave.model import Bar, Event, Passage


def parted(passage: Passage, widths: Sequence[float], limit: float) -> tuple[Passage, tuple[int, ...]]:
    """`passage` with every bar wider than `limit` (of its `widths`, in spaces) in parts, where its notes allow it.

    Also the index in `passage` of the bar each new bar is or is part of.
    """
    bars: list[Bar] = []
    origin: list[int] = []
    for index, (bar, width) in enumerate(zip(passage.bars, widths, strict=True)):
        parts = [bar]
        if width > limit:
            parts = _parts(bar, [event for event in passage.events if event.bar == index], width / limit)
        bars += parts
        origin += [index] * len(parts)
    if len(bars) == len(passage.bars):
        return passage, tuple(origin)
    where = {bar.onset: k for k, bar in enumerate(bars)}
    starts = sorted(where)

    def home(onset: Fraction, index: int) -> int:
        return where[max((s for s in starts if s <= onset and origin[where[s]] == index), default=starts[0])]

    return (
        replace(
            passage,
            bars=tuple(bars),
            events=tuple(replace(e, bar=home(e.onset, e.bar)) for e in passage.events),
            directions=tuple(replace(d, bar=home(d.onset, d.bar)) for d in passage.directions),
        ),
        tuple(origin),
    )


def _parts(bar: Bar, events: Sequence[Event], times: float) -> list[Bar]:
    """The bar in as few parts as bring it under the limit, `times` which it is now, cut as evenly as beats allow."""
    groups = bar.metre.groups
    rounds = int((bar.offset + bar.length) / sum(groups)) + 1
    beats = [bar.onset - bar.offset + at for at in accumulate(groups * rounds)]
    beats += [a + (b - a) / 2 for a, b in pairwise([bar.onset, *beats])]
    free = [at for at in sorted(set(beats)) if bar.onset < at < bar.end and not _straddled(at, events)]
    count = int(times) + 1
    wanted = [bar.onset + bar.length * k / count for k in range(1, count)]
    cuts = sorted({min(free, key=lambda at: (abs(at - goal), at)) for goal in wanted} if free else ())
    edges = [bar.onset, *cuts, bar.end]
    last = len(edges) - 2
    return [
        replace(
            bar,
            label=bar.label if k == 0 else f"({bar.label})",
            onset=start,
            length=end - start,
            offset=bar.offset + start - bar.onset,
            repeat_start=bar.repeat_start and k == 0,
            repeat_end=bar.repeat_end if k == last else 0,
            barline=bar.barline if k == last else "invisible",
        )
        for k, (start, end) in enumerate(pairwise(edges))
    ]


def _straddled(at: Fraction, events: Sequence[Event]) -> bool:
    """Whether a cut would go through a note, a rest or a tuplet."""
    spans: dict[int, list[Fraction]] = {}
    for event in events:
        if event.onset < at < event.end:
            return True
        for tuplet in event.tuplets:
            spans.setdefault(tuplet.id, []).extend((event.onset, event.end))
    return any(min(ends) < at < max(ends) for ends in spans.values())
