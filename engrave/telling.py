"""How far a long piece of work has come, for whoever listens: the command line's bar. Nothing depends on it.

with listening(hear):         # hear("engraving", 0.5)
    ...
for one in along("engraving", many):
    ...
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TypeVar

Heard = Callable[[str, float], None]
"""what is being done, and what share of it is done, 0 to 1"""
_One = TypeVar("_One")
_listener: ContextVar[Heard | None] = ContextVar("listener", default=None)


@contextmanager
def listening(hear: Heard) -> Iterator[None]:
    """Within the block, `hear` is told of everything."""
    token = _listener.set(hear)
    try:
        yield
    finally:
        _listener.reset(token)


def tell(what: str, share: float) -> None:
    """Say how far `what` has come."""
    if (hear := _listener.get()) is not None:
        hear(what, share)


def along(what: str, many: Sequence[_One]) -> Iterator[_One]:
    """The members of `many`, telling before each how many are done."""
    for at, one in enumerate(many):
        tell(what, at / len(many))
        yield one
    tell(what, 1.0)
