"""A book as a pure function of its files, to be called for one passage or for a library of them, here or on a cluster.

    printed = print_book(order, source)

`order` and `source` are plain values that go from one machine to another; so is the answer, which is a book or says why
there is none. The same files give the same bytes wherever the work is done.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from engrave.model import EngraveError, Fault, Plan

PLAN_KEYS = ("instrument", "hand", "paper", "tab", "depth")
"""keys of a plan that an order may set"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What is wanted of every passage."""

    plan: str = ""
    """text of a plan; empty: the book's own defaults, or the plan a printed book carries"""
    settings: tuple[tuple[str, str | bool], ...] = ()
    """(key, value) of PLAN_KEYS, which go before the plan"""
    part: str = ""
    voice: str = ""
    bars: str = ""
    """as for `engrave.reading.read`"""
    limits: str = ""
    """bounds of what is read, as `engrave.reading.limits.limits_from` takes them"""

    def __post_init__(self) -> None:
        unknown = [key for key, _ in self.settings if key not in PLAN_KEYS]
        if unknown:
            raise ValueError(f"an order sets {', '.join(PLAN_KEYS)}, not {', '.join(unknown)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A passage, or a printed book."""

    name: str
    """name of the file"""
    data: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A book, or why there is none."""

    name: str
    """name of the source"""
    pdf: bytes = b""
    variations: int = 0
    faults: tuple[Fault, ...] = ()
    """empty where there is a book"""


def print_book(order: Order, source: Source) -> Printed:
    """The study book of one source. Depends on nothing but its arguments and SOURCE_DATE_EPOCH."""
    from engrave import book, reading  # noqa: PLC0415 (a cluster's client needs none of it)
    from engrave.editions import opened  # noqa: PLC0415
    from engrave.reading.limits import hold_to_studies, limits_from  # noqa: PLC0415
    from engrave.regimen import read_plan  # noqa: PLC0415

    try:
        limits = limits_from(order.limits)
        carried = Plan()
        if source.name.lower().endswith(".pdf"):
            passage, carried, _ = opened(source.data, source.name, limits)
        else:
            passage = reading.read(
                source.data, source.name, part=order.part, voice=order.voice, bars=order.bars, limits=limits
            )
        plan = read_plan(order.plan, "plan") if order.plan else carried
        hold_to_studies(passage, limits)
        settings: dict[str, Any] = dict(order.settings)
        made = book.make(passage, replace(plan, **settings))
        return Printed(name=source.name, pdf=book.press(made), variations=len(made.sheets))
    except EngraveError as error:
        return Printed(name=source.name, faults=error.faults)
