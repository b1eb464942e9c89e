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
from collections.abc import Callable, Iterable, Iterator, Sized
from contextlib import contextmanager, suppress
from functools import cache, lru_cache
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, Self, TypeVar

from engrave import resources
from engrave.garbage import collect_seldom
from engrave.model import Fault, PressError
from engrave.stopping import uninterrupted

if TYPE_CHECKING:
    from concurrent.futures import Future, ProcessPoolExecutor

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
        self._lots: list[_Lot] = []
        """what processes have not yet answered, or not yet been asked about"""
        self._lock: Any = None
        """held by whoever gives lots to processes or takes one"""
        self._starting: Future[None] | None = None
        """done when the processes are there, or cannot be started"""

    def __enter__(self) -> Self:
        if self._jobs > 1:
            import threading  # noqa: PLC0415 (start-up loads none of this)

            self._lock = threading.Lock()
            self._open = True
            _ahead()
        return self

    def __exit__(self, *_: object) -> None:
        with uninterrupted():
            if self._starting:
                # waits for them; whoever asked for an answer has been told what went wrong
                self._starting.exception()
            if self._pool:
                # what is under way is waited for: a process must not begin when what it is to share is gone
                self._pool.shutdown(wait=True, cancel_futures=True)
            self._pool, self._starting, self._open, self._lots = None, None, False, []

    def each(
        self,
        work: Callable[[Shared, Item], Answer],
        shared: Shared,
        items: Iterable[Item],
        *,
        key: Callable[[Item], str] | None = None,
        stage: str = "",
        count: int | None = None,
        who: str = "any",
    ) -> Iterator[Answer]:
        """What `work(shared, item)` gives for every item, in order, as it comes; raises what it raises.

        Where there are several processes they begin at once, whether an answer is asked for yet or not; without them
        nothing is done before it is asked for. Until they are there, this one does what it is asked for.

        Args:
            work: a function of a module, which depends on nothing but its arguments.
            shared: what is the same for all items.
            items: what is different. Where they are made on the way, the first is worked on while the next is made.
            key: what tells an item from others with the same `shared`; without it nothing is kept.
            stage: name of the stage, for whoever watches.
            count: how many items there are, where they are made on the way.
            who: where there are several processes, who does it. "any": the others, but for a single item, which is done
                here. "others": they, even that. "this": this one, while the others are at something else.
        """
        return self._given(_Singly(work), shared, items, key=key, stage=stage, count=count, who=who)

    def together(
        self,
        work: Callable[[Shared, list[Item]], list[Answer]],
        shared: Shared,
        items: Iterable[Item],
        *,
        most: int,
        key: Callable[[Item], str] | None = None,
        stage: str = "",
        count: int | None = None,
        after: int = 0,
    ) -> Iterator[Answer]:
        """The same where `work` answers up to `most` items at once, and each as it would answer it by itself.

        It is given those that are not on the shelf, whatever stands between them. `after` is how much of the stage is
        done already.
        """
        return self._given(work, shared, items, key=key, stage=stage, count=count, most=most, after=after)

    def _given(
        self,
        work: Callable[[Any, list[Any]], list[Any]],
        shared: object,
        items: Iterable[Any],
        *,
        key: Callable[[Any], str] | None,
        stage: str,
        count: int | None,
        who: str = "any",
        most: int = 0,
        after: int = 0,
    ) -> Iterator[Any]:
        size = len(items) if isinstance(items, Sized) else None
        tally = _Tally(self._progress, stage, count if size is None else size, after)
        named = self._named(work, shared, items, key)
        if not self._open or who == "this" or (who == "any" and size is not None and size < 2):
            return self._here(work, shared, named, tally, most or 1)
        # four rounds for each process: what takes longer than the rest is waited for less
        lot = most or (1 if size is None else max(1, -(-size // (4 * self._jobs))))
        return self._answered(self._begun(work, shared, named, lot, only=who == "others"), tally)

    def _named(
        self, work: Callable[..., Any], shared: object, items: Iterable[Item], key: Callable[[Item], str] | None
    ) -> Iterator[tuple[Item, str]]:
        """Each item with the name of its answer on the shelf; without a name where nothing is kept."""
        if not self._shelf or not key:
            yield from ((item, "") for item in items)
            return
        made = f"{program()} {os.environ.get(_EPOCH)} {_name(work)}"
        start = hashlib.sha256(f"{made} {shared!r}".encode())
        for item in items:
            one = start.copy()
            one.update(f"\n{key(item)}".encode())
            yield item, one.hexdigest()

    def _kept(self, name: str) -> tuple[Any, ...]:
        """The answer of that name on the shelf, if it is there and can be read."""
        if self._shelf and name and (data := self._shelf.get(name)) is not None:
            # what cannot be read is made again
            with suppress(Exception):
                return (unpacked(data),)
        return ()

    def _keep(self, name: str, answer: Answer) -> Answer:
        if self._shelf and name:
            self._shelf.put(name, pickle.dumps(answer))
        return answer

    def _here(
        self,
        work: Callable[[Any, list[Any]], list[Any]],
        shared: object,
        named: Iterable[tuple[Any, str]],
        tally: _Tally,
        most: int,
    ) -> Iterator[Any]:
        """Answers worked out here, each when it is asked for, with up to `most` that are not on the shelf at once."""
        tally.begin()
        for lot in self._lots_of(named, most):
            asked = [item for item, _, kept in lot if not kept]
            made = iter(_worked(work, shared, asked) if asked else ())
            for _, name, kept in lot:
                yield tally.more(kept[0] if kept else self._keep(name, next(made)))

    def _lots_of(self, named: Iterable[tuple[Any, str]], most: int) -> Iterator[list[tuple[Any, str, tuple[Any, ...]]]]:
        """Items with what is on the shelf, so many together that `most` are not; what is there need not wait."""
        lot, missing = [], 0
        for item, name in named:
            kept = self._kept(name)
            lot.append((item, name, kept))
            missing += not kept
            if missing in (0, most):
                yield lot
                lot, missing = [], 0
        if lot:
            yield lot

    def _begun(
        self, work: Callable[..., Any], shared: object, named: Iterable[tuple[Any, str]], size: int, *, only: bool
    ) -> list[_Lot | tuple[Any]]:
        """For each item the lot that it is in, which the processes are at, or the answer that there is.

        `only`: nobody but they may do it.
        """
        places: list[_Lot | tuple[Any]] = []
        lot = None
        packed = pickle.dumps(shared)
        for item, name in named:
            if kept := self._kept(name):
                places.append((kept[0],))
                continue
            lot = lot or _Lot(work, packed, os.environ.get(_EPOCH), only=only)
            places.append(lot)
            lot.items.append(item)
            lot.names.append(name)
            if len(lot.items) == size:
                self._hand(lot)
                lot = None
        if lot:
            self._hand(lot)
        return places

    def _hand(self, lot: _Lot) -> None:
        """Give a new lot to the processes, as soon as they are there."""
        with self._lock:
            self._lots.append(lot)
            if self._pool:
                self._give(lot)
        if not self._starting:
            self._start()

    def _give(self, lot: _Lot) -> None:
        # where the processes have ended, whoever asks for the answer finds that out
        assert self._pool is not None
        lot.future = None
        with suppress(_broken()):
            lot.future = self._pool.submit(_done, lot.work, lot.shared, lot.items, lot.epoch)

    def _start(self) -> None:
        """Begin to start processes, which may take until their libraries are loaded."""
        import threading  # noqa: PLC0415 (start-up loads none of this)
        from concurrent.futures import Future  # noqa: PLC0415 (as above)

        started: Future[None] = Future()
        self._starting = started

        def start() -> None:
            try:
                with _deaf():
                    pool = _pool(self._jobs)
                with self._lock:
                    self._pool = pool
                    for lot in self._lots:
                        if lot.lost:
                            self._give(lot)
            except BaseException as problem:  # whoever waits for the processes is told
                started.set_exception(problem)
            else:
                started.set_result(None)

        # processes that are there are ours, to be shut down, before an interruption is heard
        with uninterrupted():
            threading.Thread(target=start, daemon=True).start()

    def _taken(self, lot: _Lot) -> bool:
        """Whether there are no processes yet that could do this lot: then nobody but us will."""
        with self._lock:
            lot.ours = not (self._pool or lot.only)
            return lot.ours

    def _answered(self, places: list[_Lot | tuple[Any]], tally: _Tally) -> Iterator[Any]:
        """Answers of the processes and of the shelf, in order; each is kept on the shelf and let go."""
        tally.begin()
        places.reverse()
        lot: _Lot | None = None
        answers: Iterator[tuple[str, Any]] = iter(())
        while places:
            place = places.pop()
            if not isinstance(place, _Lot):
                yield tally.more(place[0])
                continue
            if place is not lot:
                # a lot is full before the next is begun
                lot, answers = place, zip(place.names, self._answer(place), strict=True)
            name, answer = next(answers)
            yield tally.more(self._keep(name, answer))

    def _answer(self, lot: _Lot) -> list[Any]:
        """Answers to a lot. Where a process was ended from outside, all that is left goes to a new pool, once."""
        try:
            if self._taken(lot):
                return _worked(lot.work, _shared(lot.shared), lot.items)
            for again in (True, False):
                assert self._starting is not None
                self._starting.result()
                if not lot.lost:
                    assert lot.future is not None
                    with suppress(_broken()):
                        return lot.future.result()
                if again:
                    self._start()
        finally:
            with self._lock:
                self._lots.remove(lot)
        fact = "a process that worked on this was ended from outside, twice"
        raise PressError(Fault(fact=fact, hint="is there enough memory? try fewer --jobs"))


class _Singly:
    """Work on one item, done on several one after another."""

    def __init__(self, work: Callable[[Any, Any], Any]) -> None:
        self.work = work

    def __call__(self, shared: Any, items: list[Any]) -> list[Any]:
        return [self.work(shared, item) for item in items]


def _worked(work: Callable[[Any, list[Any]], list[Any]], shared: object, items: list[Any]) -> list[Any]:
    """What work answers. Raises ValueError where there is not one answer for each item."""
    answers = work(shared, items)
    if len(answers) != len(items):
        raise ValueError(f"{len(answers)} answers for {len(items)} items")
    return answers


def _name(work: Callable[..., Any]) -> str:
    """What tells work from other work."""
    done = work.work if isinstance(work, _Singly) else work
    return f"{done.__module__}.{done.__qualname__}"


class _Tally:
    """How much of a stage is done."""

    def __init__(self, progress: Progress, stage: str, of: int | None, after: int) -> None:
        self.progress, self.stage, self.of = progress, stage, of or 0
        self.done = after

    def begin(self) -> None:
        """Nothing is done yet, where this is the first of the stage."""
        if not self.done:
            self.progress(self.stage, 0, self.of)

    def more(self, answer: Answer) -> Answer:
        """One more answer."""
        self.done += 1
        self.progress(self.stage, self.done, max(self.done, self.of))
        return answer


class _Lot:
    """Items that go to a process together, and what it answers."""

    def __init__(
        self, work: Callable[[Any, list[Any]], list[Any]], shared: bytes, epoch: str | None, *, only: bool
    ) -> None:
        self.work = work
        self.shared = shared
        """pickled once for all lots"""
        self.epoch = epoch
        """the date that files carry"""
        self.only = only
        """nobody but another process may do it"""
        self.ours = False
        """this process does it"""
        self.items: list[Any] = []
        self.names: list[str] = []
        """of their answers on the shelf"""
        self.future: Future[list[Any]] | None = None

    @property
    def lost(self) -> bool:
        """Whether nobody works on it, although there is no answer."""
        if self.ours:
            return False
        return self.future is None or (self.future.done() and isinstance(self.future.exception(), _broken()))


def _broken() -> type[Exception]:
    """What is raised where a process was ended from outside."""
    from concurrent.futures.process import BrokenProcessPool  # noqa: PLC0415 (as in _pool)

    return BrokenProcessPool


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


def _done(work: Callable[[Any, list[Any]], list[Any]], shared: bytes, items: list[Any], epoch: str | None) -> list[Any]:
    """In a process of the pool: answers to a lot."""
    if epoch is not None:
        os.environ[_EPOCH] = epoch
    return _worked(work, _shared(shared), items)


@lru_cache(maxsize=4)
def _shared(data: bytes) -> Any:
    """What lots have in common: the same object for all of them, so that what is remembered of it is known again."""
    return pickle.loads(data)  # noqa: S301 (from the process that started this one)


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
    found.update(" ".join(_installed()).encode())
    here = Path(__file__).resolve().parent
    for place in (here, resources.folder("shared"), resources.folder("templates")):
        for file in sorted(place.rglob("*")):
            if file.suffix in {".py", ".toml", ".html", ".css", ".txt", ".conf", ".tab"}:
                found.update(f"{file.relative_to(place)}\n".encode())
                found.update(file.read_bytes())
    return found.hexdigest()


def _installed() -> list[str]:
    """Names and versions of all that is installed, by the folders that say so: to ask for seven takes 20 ms."""
    found: set[str] = set()
    for place in sys.path:
        with suppress(OSError):
            found.update(entry.name for entry in Path(place).iterdir() if entry.suffix in (".dist-info", ".egg-info"))
    return sorted(found)


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
