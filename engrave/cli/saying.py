"""What is said on the terminal: what was written, what was left out, and how far the work has come."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, TypeVar

import click

from engrave.cli import files, writing
from engrave.model.errors import one_line

if TYPE_CHECKING:
    from engrave.model import Notice

_Made = TypeVar("_Made")


def heed(notices: Sequence[Notice]) -> None:
    """Tell on standard error what was left out or changed, where no page is printed that would say so."""
    for notice in notices:
        click.echo(f"engrave: note: {notice}", err=True)


def say(text: str) -> None:
    """Write a text and the end of its line on standard output."""
    writing.write_bytes(files.STANDARD, (text + "\n").encode())


def tell(name: str, what: str) -> None:
    """Say what was written, where somebody can be told."""
    if sys.stdout is not None:
        say(one_line(f"{files.shown(name)}: {what}", 1000))


_STAGES = {"surveying": (0.0, 0.1), "choosing": (0.1, 0.45), "engraving": (0.45, 0.85)}
"""stage → the share of a bar where it begins and where it ends, as they take time; printing takes the rest"""


@contextmanager
def _wiped() -> Iterator[None]:
    """What was drawn on the line within the block is taken away: it belongs to what is said next."""
    try:
        yield
    finally:
        click.echo("\x1b[1A\r\x1b[K", err=True, nl=False)


@contextmanager
def busy(target: str) -> Iterator[None]:
    """On a terminal, a bar of how far the work on `target` has come, gone when it is done."""
    if sys.stderr is None or not sys.stderr.isatty():
        yield
        return
    from engrave.telling import listening

    said = one_line("the pages" if target == files.STANDARD else files.shown(target), 40)
    with (
        _wiped(),
        click.progressbar(
            length=100, label=said, file=sys.stderr, show_eta=False, bar_template="%(label)s [%(bar)s] %(info)s"
        ) as bar,
    ):

        def hear(what: str, share: float) -> None:
            begin, end = _STAGES[what]
            bar.update(max(0, round(100 * (begin + (end - begin) * share)) - bar.pos))

        bar.render_progress()
        with listening(hear):
            yield


def heard_of(made: Iterator[_Made], names: Sequence[str]) -> Iterator[_Made]:
    """The members of `made`, with a bar while each is waited for."""
    for at, name in enumerate(names, start=1):
        with busy(f"{name}, {at} of {len(names)}"):
            one = next(made)
        yield one
