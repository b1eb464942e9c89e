"""Stopping in the middle: Ctrl-C and a request to end (SIGTERM) become an exception that cleans up on its way out.

Used by the command line only. What must not be cut in two runs in `uninterrupted`.
"""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

_KINDS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))
_asked: list[int] = []
"""numbers of the signals that have come while `stoppable` runs"""
_held = 0
"""how many blocks of `uninterrupted` we are in"""


class Stopped(BaseException):
    """The user or the machine wants us to end; `number` is the signal's. No Exception: it is for nobody to handle."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


@contextmanager
def stoppable() -> Iterator[None]:
    """While the block runs, a signal to stop raises Stopped inside `heard`, and waits or is let be outside of it.

    Signals that were ignored when we came (nohup, a job in the background) stay so.
    """
    global _held  # noqa: PLW0603 (a signal's handler has no other way to know)
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {kind: signal.getsignal(kind) for kind in _KINDS}
    ours = [kind for kind, handler in before.items() if handler is not signal.SIG_IGN]

    def stop(number: int, _frame: FrameType | None) -> None:
        _asked.append(number)
        if not _held:
            raise Stopped(number)

    complain = sys.unraisablehook

    def unraised(trouble: sys.UnraisableHookArgs) -> None:
        # a signal that comes while Python clears an object away cannot be raised there; it is not forgotten (give_way)
        if trouble.exc_type is not Stopped:
            complain(trouble)

    _asked.clear()
    sys.unraisablehook = unraised
    _held += 1
    for kind in ours:
        signal.signal(kind, stop)
    try:
        yield
    finally:
        for kind in ours:
            signal.signal(kind, before[kind])
        _held -= 1
        sys.unraisablehook = complain


@contextmanager
def heard() -> Iterator[None]:
    """Where a stop is answered: it is raised in this block of a `stoppable` one, also if it has come before.

    Not a step outside, where nobody would catch it.
    """
    global _held  # noqa: PLW0603 (as above)
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    _held -= 1
    try:
        give_way()
        yield
    finally:
        _held += 1


def give_way() -> None:
    """Raise Stopped once more if a signal has come: a library may have swallowed it."""
    if _asked:
        raise Stopped(_asked[0])


def stopped_by() -> int:
    """The number of the signal that came, SIGINT's where we know of none; further ones are ignored from here on."""
    if threading.current_thread() is threading.main_thread():
        for kind in _KINDS:
            signal.signal(kind, signal.SIG_IGN)
    return _asked[0] if _asked else int(signal.SIGINT)


@contextmanager
def uninterrupted() -> Iterator[None]:
    """Signals to stop wait until the block has ended."""
    global _held  # noqa: PLW0603 (a signal's handler has no other way to know)
    before = len(_asked)
    _held += 1
    try:
        yield
    finally:
        _held -= 1
    if not _held and len(_asked) > before:
        give_way()
