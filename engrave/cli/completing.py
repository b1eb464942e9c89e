"""What the shell may complete besides plain names: parts and settings. Asked by the shell only."""

from __future__ import annotations

import os
import shlex
from contextlib import suppress
from pathlib import Path

import click


def parts(_context: click.Context, _parameter: click.Parameter, start: str) -> list[str]:
    """Names of the parts of the first passage on the command line."""
    from engrave.cli import files
    from engrave.model import EngraveError
    from engrave.reading.doors import part_names

    with suppress(EngraveError, ValueError, OSError):
        for word in shlex.split(os.environ.get("COMP_WORDS", ""))[2:]:
            if word.lower().endswith(files.PASSAGES) and Path(word).is_file():
                names = part_names(files.read_bytes(word), word)
                return [name for name in names if name.lower().startswith(start.lower())]
    return []


def settings(_context: click.Context, _parameter: click.Parameter, start: str) -> list[str]:
    """Settings as `--study` takes them, after what is there of a mixture: "pluck=a-m-i; stroke=rest"."""
    from engrave import axes
    from engrave.model import AXES

    before, _, last = start.rpartition(";")
    before = f"{before}; " if before else ""
    axis, sign, _ = last.strip().partition("=")
    found = next((one.settings for one in axes.ORDER if one.name == axis), ())
    names = [f"{axis}={setting.name}" for setting in found] if sign else [f"{name}=" for name in AXES]
    return [before + name for name in names if (before + name).startswith(start)]
