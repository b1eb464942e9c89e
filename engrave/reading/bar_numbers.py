"""Bars by their printed numbers: "5-8", "5", "0-4", "12a-12c"."""

from __future__ import annotations

import re
from collections.abc import Sequence

from engrave.model import Fault, Place, ReadError
from engrave.model.errors import one_line

_RANGE = re.compile(r"\s*([^\s–-]+)\s*(?:[–-]\s*([^\s–-]+))?\s*\Z")


def bar_range(labels: Sequence[str], asked: str, name: str) -> tuple[int, int]:
    """Indices of the first and last bar that `asked` names, among bars printed as `labels`.

    A number that stands twice means its first place, and the first place after that for the end.

    Raises:
        ReadError: not a range, a number that is not printed, or an end before the start.
    """
    match = _RANGE.match(asked)
    if not match:
        raise _no_range(labels, asked, name)
    first, last = match[1], match[2] or match[1]
    start = _find(labels, first, 0)
    missing = [label for label, found in ((first, start), (last, _find(labels, last, 0))) if found is None]
    if missing:
        if not any(sign.isdigit() for sign in asked) or re.fullmatch(r"\s*\w+\s*[:;/,.]+\s*\w+\s*", asked):
            raise _no_range(labels, asked, name)
        there = _there(labels)
        faults = [
            Fault(fact=f"bar {one_line(label, 30)!r} is not in the piece", hint=there, place=Place(file=name))
            for label in dict.fromkeys(missing)
        ]
        raise ReadError(*faults)
    assert start is not None
    stop = _find(labels, last, start)
    if stop is None:
        raise ReadError.at(name, f"bars {first}-{last} end before they begin", f"write {last}-{first}")
    return start, stop


def _no_range(labels: Sequence[str], asked: str, name: str) -> ReadError:
    hint = f"write bars as 5-8, or 5 for one bar; {_there(labels)}"
    return ReadError.at(name, f"bars {one_line(asked, 60)!r} are not a range", hint)


def _there(labels: Sequence[str]) -> str:
    if not labels:
        return "the piece has no bars"
    return (
        f"the piece has bars {labels[0]} to {labels[-1]}" if len(labels) > 1 else f"the piece has bar {labels[0]} only"
    )


def span(first: str, last: str) -> str:
    """How a range of bars is written."""
    return first if first == last else f"{first}-{last}"


def _find(labels: Sequence[str], wanted: str, start: int) -> int | None:
    folded = wanted.casefold()
    plain = folded.lstrip("0") or "0"
    return next((index for index in range(start, len(labels)) if labels[index].casefold() in (folded, plain)), None)
