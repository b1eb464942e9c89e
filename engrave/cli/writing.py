"""Files written beside and renamed: a file is either the old one or the new one, never half.

It is written under a name of its own in the same folder, flushed to disk and renamed over the old one. A failure is one
PressError; nothing is left behind. Only a run that is killed outright leaves a hidden `.part` file, which a later run
of the same name takes away.
"""

from __future__ import annotations

import io
import os
import re
import sys
from collections.abc import Container, Mapping
from contextlib import suppress
from pathlib import Path

from engrave.cli.files import STANDARD, reason, short, standard
from engrave.cli.stopping import give_way, uninterrupted
from engrave.model import Fault, Place, PressError

_PART = ".part"
"""ending of a file that is not whole yet"""
_STALE = 3600
"""seconds after which such a file is nobody's any more: writing one takes a few"""
_LOCKED = "the file there is read-only"


def write_bytes(name: str, data: bytes) -> None:
    """Write `data` to the file `name` all at once, or to standard output for "-".

    Raises PressError, also where whoever reads standard output has gone.
    """
    if name == STANDARD:
        _say(data)
        return
    write_all({name: data})


def write_folder(name: str, contents: Mapping[str, bytes]) -> None:
    """Write files into the folder `name`, which is made if need be; all of them or none. Raises PressError."""
    folder = Path(name)
    try:
        new = [path for path in (folder, *folder.parents) if not path.exists()]
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as problem:
        raise PressError(Fault(place=Place(file=name), fact=f"the folder cannot be made: {reason(problem)}")) from None
    try:
        write_all({str(folder / file): data for file, data in contents.items()})
    except BaseException:
        with suppress(OSError):
            for path in new:
                path.rmdir()
        raise


def write_all(contents: Mapping[str, bytes]) -> None:
    """Write files, each under a name of its own first; only when all are whole do they take their places.

    Raises PressError; then, and when interrupted, every file is as it was.
    """
    beside: dict[Path, Path] = {}
    name = ""
    try:
        for name, data in contents.items():
            target = Path(name)
            if target.is_dir():
                raise IsADirectoryError(21, "this is a folder, not a file")
            if _locked(target):
                raise PermissionError(13, _LOCKED)
            if target.exists() and not target.is_file():
                # a device or a pipe is written to; a file in its place would be no use to anyone
                with target.open("wb") as file:
                    file.write(data)
                continue
            # through a link the file it points to is replaced, not the link
            target = target.resolve() if target.is_symlink() else target
            _put_beside(target, data, beside)
        with uninterrupted():
            give_way()
            for target, part in list(beside.items()):
                part.replace(target)
                del beside[target]
    except (OSError, ValueError) as problem:
        raise PressError(Fault(place=Place(file=name), fact=f"cannot be written: {reason(problem)}")) from None
    finally:
        with uninterrupted():
            for part in beside.values():
                with suppress(OSError):
                    part.unlink()


def _locked(target: Path) -> bool:
    """Whether its owner has forbidden writing to a file, for everybody: a rename over it would not ask."""
    return target.is_file() and not target.stat().st_mode & 0o222


def zipped(contents: Mapping[str, bytes]) -> bytes:
    """Files as one .zip archive, with no dates in it, so that the same files give the same bytes."""
    import zipfile

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
    if name == STANDARD:
        return
    folder, hint = Path(name).parent, ""
    try:
        Path(name).stat()
    except (FileNotFoundError, NotADirectoryError):
        pass
    except (OSError, ValueError) as problem:
        raise PressError(Fault(place=Place(file=name), fact=f"cannot be written: {reason(problem)}")) from None
    if not folder.is_dir():
        fact, hint = f"there is no folder {folder}", "make it first, or name another"
    elif Path(name).is_dir():
        fact, hint = "this is a folder, not a file", "name a file in it"
    elif _locked(Path(name)):
        fact, hint = f"cannot be written: {_LOCKED}", "allow writing to it, or give another name with -o"
    elif not os.access(folder, os.W_OK):
        fact, hint = f"the folder {folder} cannot be written to", "choose another"
    else:
        return
    raise PressError(Fault(place=Place(file=name), fact=fact, hint=hint))


def check_folder(name: str) -> None:
    """Raise PressError if there can be no folder `name` because a file stands in its way."""
    for path in (Path(name), *Path(name).parents):
        try:
            if path.exists():
                if path.is_dir():
                    return
                fact, hint = f"{path} is a file, not a folder", "give another name with -o"
                raise PressError(Fault(place=Place(file=name), fact=fact, hint=hint))
        except (OSError, ValueError) as problem:
            raise PressError(Fault(place=Place(file=name), fact=f"cannot be made: {reason(problem)}")) from None


def check_left(name: str, new: Container[str], like: re.Pattern[str]) -> None:
    """Raise PressError if the folder `name` holds files named like new ones that would stay among them."""
    folder = Path(name)
    found = sorted(file.name for file in folder.iterdir()) if folder.is_dir() else []
    left = [file for file in found if like.match(file) and file not in new]
    if left:
        fact = f"the folder holds {left[0]}, which would stay among the new files" + (
            f", as would {len(left) - 1} more" if len(left) > 1 else ""
        )
        hint = "they are of an earlier run: take them away, or name another folder with -o"
        raise PressError(Fault(place=Place(file=name), fact=fact, hint=hint))


def _say(data: bytes) -> None:
    try:
        with suppress(AttributeError):
            sys.stdout.flush()
        out = standard(sys.stdout, "standard output")
        out.write(data)
        out.flush()
    except OSError as problem:
        _hush()
        raise PressError(
            Fault(place=Place(file="standard output"), fact=f"cannot be written: {reason(problem)}")
        ) from None


def _hush() -> None:
    """Standard output leads nowhere from here on: what is left in it must not make Python complain while it closes."""
    if sys.stdout is not None:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


def _put_beside(target: Path, data: bytes, beside: dict[Path, Path]) -> None:
    """Write `data` whole under a hidden name in the folder of `target`, and note the name in `beside` at once."""
    with uninterrupted():
        prefix = f".{short(target.name)}."
        import tempfile

        handle, part = tempfile.mkstemp(prefix=prefix, suffix=_PART, dir=target.parent)
        beside[target] = Path(part)
    with os.fdopen(handle, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    _sweep(beside[target], prefix)
    # a new file gets the rights any other new file gets, an old one keeps its own; some file systems know none
    mode = target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~_umask()
    with suppress(OSError):
        Path(part).chmod(mode)


def _sweep(new: Path, prefix: str) -> None:
    """Take away what a run that was killed an hour ago or longer left beside the same file."""
    with suppress(OSError):
        now = new.stat().st_mtime
        for old in new.parent.iterdir():
            if old.name.startswith(prefix) and old.name.endswith(_PART) and now - old.lstat().st_mtime > _STALE:
                old.unlink()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
