"""The user's files: read whole, written beside and renamed. Used by the command line only.

A file is either the old one or the new one, never half: it is written under a name of its own in the same folder,
flushed to disk and renamed over the old one. A failure is one PressError or ReadError; nothing is left behind.
"""

from __future__ import annotations

import io
import os
import sys
import tempfile
import zipfile
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from engrave.model import Fault, Place, PressError, ReadError

STANDARD = "-"
"""the name that means standard input or output"""
MOST_BYTES = 64_000_000
"""the largest file that is read, unless the user says otherwise"""


def read_bytes(name: str, most: int = MOST_BYTES) -> bytes:
    """The bytes of the file `name`, at most `most`, or of standard input for "-". Raises ReadError."""
    try:
        if name == STANDARD:
            data = sys.stdin.buffer.read(most + 1)
        else:
            with Path(name).open("rb") as file:
                data = file.read(most + 1)
    except FileNotFoundError:
        raise ReadError(Fault(place=Place(file=name), fact="there is no such file", hint="check the name")) from None
    except IsADirectoryError:
        raise ReadError(Fault(place=Place(file=name), fact="this is a folder, not a file")) from None
    except (OSError, ValueError) as problem:
        raise ReadError(Fault(place=Place(file=name), fact=f"cannot be read: {_reason(problem)}")) from None
    if len(data) > most:
        fact = f"is larger than {most:,} bytes, the most that is read"
        raise ReadError(Fault(place=Place(file=name), fact=fact, hint="cut it to the passage"))
    return data


def write_bytes(name: str, data: bytes) -> None:
    """Write `data` to the file `name` all at once, or to standard output for "-". Raises PressError."""
    if name == STANDARD:
        with suppress(AttributeError):
            sys.stdout.flush()
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    target = Path(name)
    try:
        if target.is_dir():
            raise IsADirectoryError(21, "this is a folder, not a file")
        # through a link the file it points to is replaced, not the link
        target = target.resolve() if target.is_symlink() else target
        _replace(target, data)
    except (OSError, ValueError) as problem:
        raise PressError(Fault(place=Place(file=name), fact=f"cannot be written: {_reason(problem)}")) from None


def write_folder(name: str, contents: Mapping[str, bytes]) -> None:
    """Write files into the folder `name`, which is made if need be; each file all at once. Raises PressError."""
    try:
        Path(name).mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as problem:
        raise PressError(Fault(place=Place(file=name), fact=f"the folder cannot be made: {_reason(problem)}")) from None
    for file, data in contents.items():
        write_bytes(str(Path(name) / file), data)


def zipped(contents: Mapping[str, bytes]) -> bytes:
    """Files as one .zip archive, with no dates in it, so that the same files give the same bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for file, data in contents.items():
            entry = zipfile.ZipInfo(file, date_time=(1980, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, data)
    return out.getvalue()


def check_writable(name: str) -> None:
    """Raise PressError if `name` plainly cannot be written, so that nobody waits for a book that has no place to go."""
    folder = Path(name).parent
    if name == STANDARD:
        return
    if not folder.is_dir():
        fact, hint = f"there is no folder {folder}", "make it first, or name another"
    elif Path(name).is_dir():
        fact, hint = "this is a folder, not a file", "name a file in it"
    elif not os.access(folder, os.W_OK):
        fact, hint = f"the folder {folder} cannot be written to", "choose another"
    else:
        return
    raise PressError(Fault(place=Place(file=name), fact=fact, hint=hint))


def same_file(one: str, other: str) -> bool:
    """Whether two names mean the same existing file."""
    try:
        return STANDARD not in (one, other) and Path(one).samefile(other)
    except (OSError, ValueError):
        return False


def _replace(target: Path, data: bytes) -> None:
    handle, beside = tempfile.mkstemp(prefix=f".{target.name[:100]}.", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        # a new file gets the rights any other new file gets, an old one keeps its own
        mode = target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~_umask()
        Path(beside).chmod(mode)
        Path(beside).replace(target)
    except BaseException:
        with suppress(OSError):
            Path(beside).unlink()
        raise


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _reason(problem: OSError | ValueError) -> str:
    if isinstance(problem, FileNotFoundError):
        return "there is no such folder"
    if isinstance(problem, OSError) and problem.strerror:
        return problem.strerror[0].lower() + problem.strerror[1:]
    return str(problem)
