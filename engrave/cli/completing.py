"""What the shell may complete: names of parts, settings, instruments, hands and terms. Asked by the shell only."""

from __future__ import annotations

import shlex
from contextlib import suppress
from pathlib import Path


def parts(line: str) -> list[str]:
    """Names of the parts of the first passage on a command line, as the shell hands that over."""
    from engrave.cli import files
    from engrave.model import EngraveError
    from engrave.reading.doors import part_names

    with suppress(EngraveError, ValueError, OSError):
        for word in shlex.split(line)[2:]:
            if word.lower().endswith(files.PASSAGES) and Path(word).is_file():
                return part_names(files.read_bytes(word), word)
    return []


def settings(start: str) -> list[str]:
    """Settings as `--study` takes them, after what is there of a mixture: "pluck=a-m-i; stroke=rest"."""
    from engrave import axes
    from engrave.model import AXES

    before, _, last = start.rpartition(";")
    before = f"{before}; " if before else ""
    axis, sign, _ = last.strip().partition("=")
    if not sign:
        return [f"{before}{name}=" for name in AXES]
    found = next((one for one in axes.ORDER if one.name == axis), None)
    return [f"{before}{axis}={setting.name}" for setting in found.settings] if found else []


def terms(_start: str) -> list[str]:
    """What `--only` and `--for` take."""
    from engrave.regimen.terms import known_terms

    return list(known_terms())


def instruments(_start: str) -> list[str]:
    """Names of instruments."""
    from engrave.instruments import instrument_names

    return list(instrument_names())


def hands(_start: str) -> list[str]:
    """Names of hands."""
    from engrave.instruments import hand_names

    return list(hand_names())
