"""A book as a pure function of its files, to be called for one passage or for a library of them, here or on a cluster.

    printed = print_book(order, source)

`order` and `source` are plain values that go from one machine to another; so is the answer, which is a book or says why
there is none. The same files give the same bytes wherever the work is done.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from engrave.model import EngraveError, Fault, Passage, Plan
from engrave.reading.limits import LIMITS, Limits, hold_to_studies
from engrave.workshop import PLAIN, Bench

PLAN_KEYS = ("instrument", "octave", "hand", "paper", "tab", "depth")
"""keys of a plan that an order may set"""
PLAYER_KEYS = ("level", "days")
"""keys of a plan's player that it may set, too"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What is wanted of every passage."""

    plan: str | None = None
    """text of a plan; none: the book's own defaults, or the plan a printed book carries"""
    plan_name: str = "plan"
    """name of its file, for messages"""
    settings: tuple[tuple[str, str | bool | int], ...] = ()
    """(key, value) of PLAN_KEYS and PLAYER_KEYS, which go before the plan"""
    part: str = ""
    voice: str = ""
    bars: str = ""
    """as for `engrave.reading.read`"""
    limits: Limits = LIMITS
    """bounds of what is read"""

    def __post_init__(self) -> None:
        unknown = [key for key, _ in self.settings if key not in (*PLAN_KEYS, *PLAYER_KEYS)]
        if unknown:
            raise ValueError(f"an order sets {', '.join((*PLAN_KEYS, *PLAYER_KEYS))}, not {', '.join(unknown)}")


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
    from engrave import book  # noqa: PLC0415 (a cluster's client needs none of it)

    try:
        passage, plan = asked(order, source)
        hold_to_studies(passage, order.limits)
        made = book.make(passage, plan)
        return Printed(name=source.name, pdf=book.press(made), variations=len(made.sheets))
    except EngraveError as error:
        return Printed(name=source.name, faults=error.faults)


def asked(order: Order, source: Source, *, bench: Bench = PLAIN) -> tuple[Passage, Plan]:
    """The passage and the plan of an order for one source; a printed book brings both. Raises EngraveError."""
    if source.name.lower().endswith(".pdf"):
        from engrave.editions import opened  # noqa: PLC0415 (as above)

        passage, carried, _ = opened(source.data, source.name, order.limits, bench=bench)
        return in_octave(passage, plan_of(order, carried))
    return in_octave(passage_of(order, source, bench=bench), plan_of(order))


def in_octave(passage: Passage, plan: Plan) -> tuple[Passage, Plan]:
    """The passage in the octave the plan asks for, and the plan with that done: a book carries both as they are now."""
    from engrave.reading.octave import as_asked  # noqa: PLC0415 (as above)

    return as_asked(passage, plan.octave), replace(plan, octave=0)


def passage_of(order: Order, source: Source, *, bench: Bench = PLAIN) -> Passage:
    """The passage of a source that is no printed book. Raises ReadError."""
    from engrave import book  # noqa: PLC0415 (as above)

    which = {"part": order.part, "voice": order.voice, "bars": order.bars}
    return book.heard(source.data, source.name, **which, limits=order.limits, bench=bench)


def plan_of(order: Order, carried: Plan | None = None) -> Plan:
    """The order's plan, else the one carried, with the order's own settings on top. Raises PlanError."""
    from engrave.regimen import read_plan  # noqa: PLC0415 (as above)

    settings: dict[str, Any] = {key: value for key, value in order.settings if key in PLAN_KEYS}
    own: dict[str, Any] = {key: value for key, value in order.settings if key in PLAYER_KEYS}
    plan = read_plan(order.plan, order.plan_name) if order.plan is not None else carried or Plan()
    return replace(plan, **settings, player=replace(plan.player, **own))
