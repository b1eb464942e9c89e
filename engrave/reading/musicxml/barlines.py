"""Bars as the source prints them: repeats, endings, bar lines."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree.ElementTree import Element

from engrave.model.errors import one_line
from engrave.model.said import say
from engrave.reading.musicxml.directions import JUMPS
from engrave.reading.musicxml.timed_notes import Walked
from engrave.reading.numbers import whole
from engrave.reading.source_bars import SourceBar
from engrave.reading.tally import Tally

_LINES = {
    "light-light": "double",
    "light-heavy": "final",
    "heavy-heavy": "final",
    "heavy-light": "double",
    "heavy": "final",
    "dashed": "dashed",
    "dotted": "dotted",
    "none": "invisible",
}


def framed(bars: Sequence[Walked], first: int, tally: Tally) -> tuple[SourceBar, ...]:
    """Each bar without its notes; `first` is the index in the piece of the first of them."""
    made: list[SourceBar] = []
    ending = ""
    for index, bar in enumerate(bars):
        lines = bar.element.findall("barline")
        start = any(_repeat(line) == "forward" for line in lines)
        times = max((_times(line) for line in lines if _repeat(line) == "backward"), default=0)
        closes = False
        for volta in (found for line in lines for found in line.findall("ending")):
            if volta.get("type") == "start":
                ending = one_line(volta.get("number") or volta.text or "1", 20)
            else:
                closes = True
        made.append(
            SourceBar(
                label=bar.label,
                events=(),
                metre=bar.metre,
                key=bar.key,
                implicit=bar.element.get("implicit") == "yes",
                first=first + index == 0,
                repeat_start=start,
                repeat_end=times,
                ending=ending,
                barline=_right(bar, lines, tally),
                unmetred=bar.unmetred,
            )
        )
        ending = "" if closes else ending
    return tuple(made)


def _repeat(line: Element) -> str:
    repeat = line.find("repeat")
    return repeat.get("direction", "") if repeat is not None else ""


def _times(line: Element) -> int:
    repeat = line.find("repeat")
    return (whole(repeat.get("times"), 2, 99) or 2) if repeat is not None else 0


def _right(bar: Walked, lines: Sequence[Element], tally: Tally) -> str:
    style = "single"
    for line in lines:
        if line.find("fermata") is not None:
            tally.add(say("left out: a fermata on a bar line"), bar.label)
        if line.find("segno") is not None or line.find("coda") is not None:
            tally.add(JUMPS, bar.label)
        place = line.get("location", "right")
        if place == "right":
            style = _LINES.get((line.findtext("bar-style") or "").strip(), "single")
        elif place == "middle":
            tally.add(say("left out: a bar line inside a bar"), bar.label)
    return style
