"""The user's files: their names, and what is in them, read whole. Used by the command line only."""

from __future__ import annotations

import errno
import os
import re
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO, TextIO

from engrave.model import Fault, Place, PressError, ReadError

STANDARD = "-"
"""the name that means standard input or output"""
MOST_BYTES = 64_000_000
"""the largest file that is read, unless the user says otherwise"""
PASSAGES = (".musicxml", ".xml", ".mxl", ".mei", ".krn", ".mid", ".midi", ".abc", ".tab", ".txt")
"""endings of the files in a folder that are taken for passages"""
MACHINE = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS, errno.EIO, errno.EMFILE, errno.ENFILE, errno.ENOMEM)
"""what a machine says that has no room left: no bug of ours, and nothing wrong with the input"""
_NAME = 180
"""bytes of a file's name that the name of its part takes over"""


def read_bytes(name: str, most: int = MOST_BYTES) -> bytes:
    """The bytes of the file `name`, at most `most`, or of standard input for "-". Raises ReadError."""
    try:
        if name == STANDARD:
            data = standard(sys.stdin, "standard input").read(most + 1)
        else:
            with Path(name).open("rb") as file:
                data = file.read(most + 1)
    except FileNotFoundError:
        raise ReadError(Fault(place=Place(file=name), fact="there is no such file", hint=_nearest(name))) from None
    except IsADirectoryError:
        raise ReadError(Fault(place=Place(file=name), fact="this is a folder, not a file")) from None
    except (OSError, ValueError) as problem:
        raise ReadError(Fault(place=Place(file=name), fact=f"cannot be read: {reason(problem)}")) from None
    if len(data) > most:
        fact = f"is larger than {most:,} bytes, the most that is read"
        raise ReadError(Fault(place=Place(file=name), fact=fact, hint="cut it to the passage"))
    return data


def _nearest(name: str) -> str:
    """What to try where there is no file of a name: a near one in its folder; an address has to be fetched."""
    import difflib

    if re.match(r"[a-z]+:/", name):
        return "nothing is fetched from the web: save the file, and name that"
    path = Path(name)
    with suppress(OSError, ValueError):
        there = {other.name.casefold(): other.name for other in path.parent.iterdir() if other.name[0] != "."}
        if near := difflib.get_close_matches(path.name.casefold(), there, n=1, cutoff=0.8):
            return f"did you mean {shown(str(path.with_name(there[near[0]])))}?"
    return "check the name"


def usual() -> str:
    """The file of the user's own defaults, empty where there is none: defaults.toml in the folder for such things."""
    place = os.environ.get("APPDATA" if os.name == "nt" else "XDG_CONFIG_HOME", "")
    try:
        path = (Path(place) if place else Path.home() / ".config") / "engrave" / "defaults.toml"
        return str(path) if path.is_file() else ""
    except (OSError, ValueError, RuntimeError):
        return ""


def plans(name: str) -> tuple[str, ...]:
    """The plan `name`, or all plans of the folder `name`, by name. Raises ReadError for a folder without one."""
    folder = Path(name)
    if not folder.is_dir():
        return (name,)
    found = sorted(str(path) for path in folder.iterdir() if path.suffix.lower() == ".toml" and path.name[0] != ".")
    if not found:
        raise ReadError(Fault(place=Place(file=name), fact="no plan lies in this folder", hint="plans end in .toml"))
    return tuple(found)


def refused(problem: OSError) -> Fault:
    """What is said where the machine has no room left, and what would make some."""
    import tempfile

    hint = f"temporary files go to {tempfile.gettempdir()}"
    if problem.errno in (errno.ENOSPC, errno.EDQUOT):
        hint = f"free some space; {hint}"
    elif problem.errno == errno.EFBIG:
        hint = f"allow larger files (ulimit -f); {hint}"
    elif problem.errno in (errno.EMFILE, errno.ENFILE):
        hint = "allow more open files (ulimit -n), or ask for fewer --jobs"
    elif problem.errno == errno.ENOMEM:
        hint = "close other programs, choose fewer bars with --bars, or ask for fewer --jobs"
    return Fault(fact=f"the machine refuses: {problem.strerror}", hint=hint)


PRINTING, WORKING = 512, 192
"""MB of addresses that printing a book needs, and everything else; with less, libraries beneath us abort the process"""


def check_memory(least: int) -> None:
    """Raise PressError where this process may not have so many MB of addresses, as `ulimit -v` would have it."""
    try:
        import resource
    except ImportError:
        return
    allowed = resource.getrlimit(resource.RLIMIT_AS)[0]
    if allowed != resource.RLIM_INFINITY and allowed < least * 2**20:
        fact = f"this process may use {allowed // 2**20} MB of memory, and needs {least}"
        raise PressError(Fault(fact=fact, hint=f"allow more (ulimit -v {least * 1024})"))


def passages(names: Sequence[str]) -> list[str]:
    """The files that `names` mean, with those of PASSAGES for a folder, by name. Raises ReadError for an empty one."""
    found: list[str] = []
    for name in names:
        if name == STANDARD:
            raise ReadError(Fault(fact="standard input is one passage, not one of several", hint="give it alone"))
        if not Path(name).is_dir():
            found.append(name)
            continue
        # files that begin with a dot are the system's own: "._x.musicxml" is what a Mac leaves beside x.musicxml
        inside = sorted(
            str(file)
            for file in Path(name).iterdir()
            if file.suffix.lower() in PASSAGES and not file.name.startswith(".")
        )
        if not inside:
            hint = f"passages end in {', '.join(PASSAGES)}"
            raise ReadError(Fault(place=Place(file=name), fact="there is no passage in this folder", hint=hint))
        found += inside
    return found


def targets(names: Sequence[str], folder: str, form: str) -> dict[str, str]:
    """Name of each passage without its folder → name of the file in `folder` to print it to.

    Raises PressError where two would be one file, or where a folder stands in the place of one.
    """
    made: dict[str, str] = {}
    owners: dict[str, str] = {}
    faults = []
    for name in names:
        file = f"{short(Path(name).stem)}-{form}.pdf"
        target = str(Path(folder) / file)
        if file in owners:
            fact = f"{shown(name)} and {shown(owners[file])} would both be printed to {shown(target)}"
            faults.append(Fault(fact=fact, hint="give one another name"))
        owners[file] = name
        made[shown(Path(name).name)] = file
        if Path(target).is_dir():
            faults.append(Fault(place=Place(file=target), fact="this is a folder, not a file"))
    if faults:
        raise PressError(*faults)
    return made


def same_file(one: str, other: str) -> bool:
    """Whether two names mean the same existing file."""
    try:
        return STANDARD not in (one, other) and Path(one).samefile(other)
    except (OSError, ValueError):
        return False


def shown(name: str) -> str:
    """A file's name as it can be printed anywhere: bytes that are no UTF-8 become question marks."""
    return name.encode("utf-8", errors="replace").decode("utf-8")


def standard(stream: TextIO | None, what: str) -> BinaryIO:
    """The bytes of a standard stream. Raises OSError where it was closed before we began."""
    if stream is None:
        raise OSError(9, f"{what} is closed")
    return stream.buffer


def short(name: str) -> str:
    """A name cut so that what is put around it still makes a file name (255 bytes, by POSIX custom)."""
    return os.fsdecode(os.fsencode(name)[:_NAME])


def reason(problem: OSError | ValueError) -> str:
    """What the machine says is wrong with a file, as part of a sentence."""
    if isinstance(problem, BrokenPipeError):
        return "it was closed before everything was written"
    if isinstance(problem, FileNotFoundError):
        return "there is no such folder"
    if isinstance(problem, OSError) and problem.strerror:
        return problem.strerror[0].lower() + problem.strerror[1:]
    return str(problem)
