"""Where work is done: here, on several cores, or not at all because it was done before.

Every stage that does the same pure work on many items hands it to a bench:

    answers = bench.each(work, shared, items)          # (work(shared, item) for item in items)

`PLAIN` does just that. Another `Bench` does it in several processes, and keeps answers on a shelf, by what went into
them and by the program that made them; the answers are the same. The stages know of neither.
"""

from __future__ import annotations

import hashlib
import io
import os
import pickle
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from functools import cache
from importlib import import_module
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, Self, TypeVar

from engrave import resources
from engrave.garbage import collect_seldom
from engrave.model import Fault, PressError
from engrave.stopping import uninterrupted

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor

Shared = TypeVar("Shared")
Item = TypeVar("Item")
Answer = TypeVar("Answer")
_EPOCH = "SOURCE_DATE_EPOCH"
Progress = Callable[[str, int, int], None]
"""called with the stage (studies, plates, files, pages, books), how much of it is done, and of how much"""


class Shelf(Protocol):
    """Keeps bytes by name, for a while."""

    def get(self, key: str) -> bytes | None:
        """What was put there, or None."""
        ...

    def put(self, key: str, data: bytes) -> None:
        """Keep `data`; a shelf may forget it at any time."""
        ...


def quiet(stage: str, done: int, of: int) -> None:
    """The progress of someone who does not watch."""


class Bench:
    """A bench of `jobs` processes, with a shelf if there is one. To be used in a `with` block where jobs > 1."""

    def __init__(self, *, jobs: int = 1, shelf: Shelf | None = None, progress: Progress = quiet) -> None:
        self._jobs, self._shelf, self._progress = jobs, shelf, progress
        self._pool: ProcessPoolExecutor | None = None
        self._open = False

    def __enter__(self) -> Self:
        if self._jobs > 1:
            self._open = True
            _ahead()
        return self

    def __exit__(self, *_: object) -> None:
        if self._pool:
            # what is under way is waited for: a process must not begin when what it is to share is gone
            self._pool.shutdown(wait=True, cancel_futures=True)
        self._pool, self._open = None, False

    def each(
        self,
        work: Callable[[Shared, Item], Answer],
        shared: Shared,
        items: Sequence[Item],
        *,
        key: Callable[[Item], str] | None = None,
        stage: str = "",
    ) -> Iterator[Answer]:
        """What `work(shared, item)` gives for every item, in order, as it comes; raises what it raises.

        Args:
            work: a function of a module, which depends on nothing but its arguments.
            shared: what is the same for all items.
            items: what is different.
            key: what tells an item from others with the same `shared`; without it nothing is kept.
            stage: name of the stage, for whoever watches.
        """
        known: dict[int, Answer] = {}
        names = self._names(work, shared, [key(item) for item in items]) if self._shelf and key else []
        for index, name in enumerate(names):
            if self._shelf and (data := self._shelf.get(name)) is not None:
                # what cannot be read is made again
                with suppress(Exception):
                    known[index] = unpacked(data)
        done = len(known)
        self._progress(stage, done, len(items))
        new = self._done(work, shared, [item for index, item in enumerate(items) if index not in known])
        for index in range(len(items)):
            if index in known:
                yield known.pop(index)
                continue
            answer = next(new)
            if self._shelf and names:
                self._shelf.put(names[index], pickle.dumps(answer))
            done += 1
            self._progress(stage, done, len(items))
            yield answer

    @staticmethod
    def _names(work: Callable[..., Any], shared: object, keys: Sequence[str]) -> list[str]:
        made = f"{program()} {os.environ.get(_EPOCH)} {work.__module__}.{work.__qualname__}"
        start = hashlib.sha256(f"{made} {shared!r}".encode())
        names = []
        for key in keys:
            one = start.copy()
            one.update(f"\n{key}".encode())
            names.append(one.hexdigest())
        return names

    def _done(self, work: Callable[[Shared, Item], Answer], shared: Shared, items: Sequence[Item]) -> Iterator[Answer]:
        if not self._open or len(items) < 2:
            return (work(shared, item) for item in items)
        # four rounds for each process: what takes longer than the rest is waited for less
        size = max(1, -(-len(items) // (4 * self._jobs)))
        starts, epoch = range(0, len(items), size), os.environ.get(_EPOCH)
        return self._answered([(work, shared, items[start : start + size], epoch) for start in starts])

    def _start(self) -> None:
        # the pool is ours, to be shut down, before an interruption is heard
        with uninterrupted(), _deaf():
            self._pool = _pool(self._jobs)

    def _answered(self, lots: list[_Lot]) -> Iterator[Any]:
        """Answers of the pool. Where a process was ended from outside, the work left is given to a new pool, once."""
        from concurrent.futures.process import BrokenProcessPool  # noqa: PLC0415 (as in _pool)

        broken = -1
        answered = 0
        if self._pool is None:
            self._start()
        assert self._pool is not None
        while answered < len(lots):
            try:
                for lot in self._pool.map(_lot, lots[answered:]):
                    answered += 1
                    yield from lot
            except BrokenProcessPool:
                if broken == answered:
                    fact = "a process that worked on this was ended from outside, twice"
                    raise PressError(Fault(fact=fact, hint="is there enough memory? try fewer --jobs")) from None
                broken = answered
                self._start()


@contextmanager
def _deaf() -> Iterator[None]:
    """Hear no interruption while processes are started: what is started then hears none from its first moment on.

    An interruption of the whole group is this process's to answer.
    """
    import signal  # noqa: PLC0415 (start-up loads none of this)
    from multiprocessing import resource_tracker  # noqa: PLC0415 (as above)

    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    stops = {signal.SIGINT, signal.SIGTERM, signal.SIGHUP}
    before = signal.pthread_sigmask(signal.SIG_BLOCK, stops)
    try:
        # it makes whoever starts it hear again
        resource_tracker.ensure_running()
        signal.pthread_sigmask(signal.SIG_BLOCK, stops)
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


PLAIN = Bench()
"""does all work here and now, and keeps nothing"""


_Lot = tuple[Callable[[Any, Any], Any], Any, Sequence[Any], str | None]
"""work, what is shared, items, and the date that files carry"""


def _lot(asked: _Lot) -> list[Any]:
    work, shared, items, epoch = asked
    if epoch is not None:
        os.environ[_EPOCH] = epoch
    return [work(shared, item) for item in items]


def _context() -> Any:
    from multiprocessing import get_all_start_methods, get_context  # noqa: PLC0415 (start-up loads none of this)

    # never copies of this process, which could hold locks of threads that they do not have. Where there can be one, a
    # process without any work of its own loads the libraries once, while the passage is still being read here, and
    # they are copies of that: with two of them that saves a second of processor time, about a seventh of a short book
    context: Any = get_context("forkserver" if "forkserver" in get_all_start_methods() else "spawn")
    if context.get_start_method() == "forkserver":
        context.set_forkserver_preload(["engrave.loaded"])
    return context


def _ahead() -> None:
    """Let the process that the others are copies of load its libraries, without waiting for it."""
    with uninterrupted(), _deaf():
        if _context().get_start_method() == "forkserver":
            from multiprocessing import forkserver  # noqa: PLC0415 (as above)

            forkserver.ensure_running()


def _pool(jobs: int) -> ProcessPoolExecutor:
    from concurrent.futures import ProcessPoolExecutor  # noqa: PLC0415 (as above)

    pool = ProcessPoolExecutor(jobs, mp_context=_context(), initializer=_begin)
    for _ in range(jobs):
        pool.submit(_ready)
    return pool


def _begin() -> None:
    """A process of the pool: leaves interruptions to the one that started it, and ends when that one does."""
    import signal  # noqa: PLC0415
    import threading  # noqa: PLC0415
    from multiprocessing import parent_process  # noqa: PLC0415
    from multiprocessing.connection import wait  # noqa: PLC0415

    collect_seldom()
    for kind in (signal.SIGINT, signal.SIGTERM):
        signal.signal(kind, signal.SIG_IGN)
    parent = parent_process()
    if parent is not None:

        def follow() -> None:
            wait([parent.sentinel])
            os._exit(1)

        threading.Thread(target=follow, daemon=True).start()


def _ready() -> None:
    import_module("engrave.loaded")


def digest(value: object) -> str:
    """What tells a value of ours from others, in any process."""
    return hashlib.sha256(repr(value).encode()).hexdigest()


@cache
def program() -> str:
    """A digest of this program and of the libraries whose work is kept: another version keeps other answers."""
    found = hashlib.sha256(sys.version.encode())
    for library in ("music21", "verovio", "weasyprint", "pydyf", "numpy", "highspy", "fontTools"):
        with suppress(PackageNotFoundError):
            found.update(f"{library} {version(library)}".encode())
    here = Path(__file__).resolve().parent
    for place in (here, resources.folder("shared"), resources.folder("templates")):
        for file in sorted(place.rglob("*")):
            if file.suffix in {".py", ".toml", ".html", ".css", ".txt", ".conf", ".tab"}:
                found.update(f"{file.relative_to(place)}\n".encode())
                found.update(file.read_bytes())
    return found.hexdigest()


class _Unpickler(pickle.Unpickler):
    """Makes nothing but our own values and fractions, so that a file someone else wrote can do no harm."""

    def find_class(self, module: str, name: str) -> Any:
        """A class of ours that is a plain value. Raises UnpicklingError for anything else."""
        if (module, name) == ("fractions", "Fraction"):
            return super().find_class(module, name)
        if module.startswith("engrave.") and "." not in name:
            found = super().find_class(module, name)
            if isinstance(found, type) and hasattr(found, "__dataclass_fields__"):
                return found
        raise pickle.UnpicklingError(f"{module}.{name} is not one of our values")


def unpacked(data: bytes) -> Any:
    """The value in `data`, which `pickle.dumps` made. Raises whatever a damaged or foreign file makes it raise."""
    return _Unpickler(io.BytesIO(data)).load()
