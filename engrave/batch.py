"""A book as a pure function of its files, to be called for one passage or for a library of them, here or on a cluster.

    printed = print_book(order, source)
    for printed in print_books([(order, source), …], jobs=2): ...

`order` and `source` are plain values that go from one machine to another; so is the answer, which is a book or says why
there is none. The same files give the same bytes wherever the work is done.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import traceback
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from engrave.model import EngraveError, Fault, Passage, Plan
from engrave.reading.limits import LIMITS, Limits, hold_to_studies

PLAN_KEYS = ("instrument", "octave", "hand", "paper", "staff", "tab", "title", "depth", "only")
"""keys of a plan that an order may set"""
MARK_KEYS = ("language",)
"""keys of a plan's marks that it may set, too"""
PLAYER_KEYS = ("level", "days")
"""keys of a plan's player that it may set, too"""
ORDER_KEYS = (*PLAN_KEYS, *MARK_KEYS, *PLAYER_KEYS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What is wanted of every passage."""

    plan: str | None = None
    """text of a plan; none: the book's own defaults, or the plan a printed book carries"""
    plan_name: str = "plan"
    """name of its file, for messages"""
    usual: str = ""
    """text of a plan for what this one does not say (`engrave.regimen.with_usual`); a printed book has said all"""
    usual_name: str = "defaults"
    """name of its file, for messages"""
    settings: tuple[tuple[str, str | bool | int | tuple[str, ...]], ...] = ()
    """(key, value) of ORDER_KEYS, which go before the plan"""
    part: str = ""
    voice: str = ""
    bars: str = ""
    """as for `engrave.reading.read`"""
    limits: Limits = LIMITS
    """bounds of what is read"""

    def __post_init__(self) -> None:
        unknown = [key for key, _ in self.settings if key not in ORDER_KEYS]
        if unknown:
            raise ValueError(f"an order sets {', '.join(ORDER_KEYS)}, not {', '.join(unknown)}")


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
    """The study book of one source. Depends on nothing but its arguments and SOURCE_DATE_EPOCH.

    What goes wrong is a fault of this book, an unexpected error of our own too: others are printed all the same.
    """
    from engrave import line  # noqa: PLC0415 (a cluster's client needs none of it)

    try:
        made = line.make(*asked(order, source))
        return Printed(name=source.name, pdf=line.press(made), variations=len(made.sheets))
    except EngraveError as error:
        return Printed(name=source.name, faults=error.faults)
    except Exception as error:
        return Printed(name=source.name, faults=(_unexpected(error),))


def _unexpected(error: Exception) -> Fault:
    """What is said of an error nobody foresaw: what it is, and where in the program."""
    if isinstance(error, MemoryError):
        return Fault(fact="there is not enough memory for this", hint="choose fewer bars with --bars")
    last = traceback.extract_tb(error.__traceback__)[-1]
    where = f"{Path(last.filename).name}:{last.lineno}"
    said = " ".join(f"{type(error).__name__}: {error}".split())[:200]
    return Fault(fact=f"unexpected error, {said} ({where})", hint="this is a bug; please report it with the passage")


def print_books(asked: Sequence[tuple[Order, Source]], *, jobs: int = 1) -> Iterator[Printed]:
    """The study books of many sources, each by its order, in so many processes; the same as `print_book` gives them.

    They come in the order they are asked for. A process that dies takes no other book with it. Whoever stops asking
    ends the processes.
    """
    if min(jobs, len(asked)) < 2:
        yield from (print_book(*one) for one in asked)
        return
    done = 0
    with suppress(BrokenProcessPool):
        for made in _in_processes(asked, min(jobs, len(asked))):
            yield made
            done += 1
    # one of them has killed its process: each has one of its own from here on, so that it is known which
    for order, source in asked[done:]:
        try:
            yield from _in_processes([(order, source)], 1)
        except BrokenProcessPool:
            fault = Fault(fact="the process that printed it was ended", hint="it may need more memory; try --jobs 1")
            yield Printed(name=source.name, faults=(fault,))


def _in_processes(asked: Sequence[tuple[Order, Source]], workers: int) -> Iterator[Printed]:
    """Books printed by so many processes. Raises BrokenProcessPool where one of those dies."""
    with _pool(workers) as pool:
        with _undisturbed():
            waiting = [pool.submit(print_book, *one) for one in asked]
        for one in waiting:
            yield one.result()


@contextmanager
def _pool(workers: int) -> Iterator[ProcessPoolExecutor]:
    """Processes started afresh, which share no thread or lock with this one, and end with the block.

    None of them imports from the current folder (PYTHONSAFEPATH), whatever lies there.
    """
    name = "PYTHONSAFEPATH"
    before = os.environ.get(name)
    os.environ[name] = "1"
    there = {child.pid for child in multiprocessing.active_children()}
    pool = ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn"), initializer=_begun)
    try:
        yield pool
    except BaseException:
        for child in multiprocessing.active_children():
            if child.pid not in there:
                child.terminate()
        raise
    finally:
        pool.shutdown(cancel_futures=True)
        if before is None:
            del os.environ[name]
        else:
            os.environ[name] = before


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Ctrl-C waits until the block has ended; processes that are started in it never hear of it."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _begun() -> None:
    """Set up one of several processes: stopping is the affair of the first, and it does not outlive that."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()

    def end_with_it() -> None:
        if parent is not None:
            parent.join()
            os._exit(1)

    threading.Thread(target=end_with_it, daemon=True).start()


def asked(
    order: Order, source: Source, printed_with: Plan | None = None, *, long: bool = False
) -> tuple[Passage, Plan]:
    """The passage of a source in the octave that is asked for, and the plan with that done: a book carries both so.

    A printed book brings both; `printed_with` is the plan of another, which is followed where the order has none.
    Raises EngraveError, also for what is too long to study unless it may be `long`.
    """
    from engrave.reading import read  # noqa: PLC0415 (as above)
    from engrave.reading.octave import as_asked  # noqa: PLC0415 (as above)

    if source.name.lower().endswith(".pdf"):
        from engrave.editions import opened  # noqa: PLC0415 (as above)

        old = opened(source.data, source.name, order.limits)
        passage, printed_with = old.passage, printed_with or old.plan
    else:
        of = {"part": order.part, "voice": order.voice, "bars": order.bars}
        passage = read(source.data, source.name, **of, limits=order.limits)
    plan = plan_of(order, printed_with)
    passage = as_asked(passage, plan.octave)
    if not long:
        hold_to_studies(passage, order.limits)
    return passage, replace(plan, octave=0)


def plan_of(order: Order, printed_with: Plan | None = None) -> Plan:
    """The order's plan, else `printed_with`, that of a printed book, under the order's settings. Raises PlanError."""
    from engrave.regimen import read_plan, terms_asked, text_asked, with_usual  # noqa: PLC0415 (as above)

    given: dict[str, Any] = dict(order.settings)
    if "title" in given:
        given["title"] = text_asked(given["title"], "--title")
    if "only" in given:
        given["only"] = terms_asked(given["only"], "--only")
    settings, marks, own = (
        {key: given[key] for key in keys if key in given} for keys in (PLAN_KEYS, MARK_KEYS, PLAYER_KEYS)
    )
    plan = read_plan(order.plan, order.plan_name) if order.plan is not None else printed_with or Plan()
    if order.usual and (order.plan is not None or printed_with is None):
        plan = with_usual(plan, order.plan or "", order.usual, order.usual_name)
    return replace(plan, **settings, marks=replace(plan.marks, **marks), player=replace(plan.player, **own))
