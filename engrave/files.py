"""The user's files: read whole, written beside and renamed. Used by the command line only.

A file is either the old one or the new one, never half: it is written under a name of its own in the same folder,
flushed to disk and renamed over the old one. A failure is one PressError or ReadError; nothing is left behind. Only a
run that is killed outright leaves a hidden `.part` file, which a later run of the same name takes away.
"""

from __future__ import annotations

import errno
import io
import os
import re
import sys
from collections.abc import Container, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO, TextIO

from engrave.model import Fault, Place, PressError, ReadError
from engrave.stopping import give_way, uninterrupted

STANDARD = "-"
"""the name that means standard input or output"""
MOST_BYTES = 64_000_000
"""the largest file that is read, unless the user says otherwise"""
PASSAGES = (".musicxml", ".xml", ".mxl", ".mei", ".krn", ".mid", ".midi", ".abc", ".tab", ".txt")
"""endings of the files in a folder that are taken for passages"""
MACHINE = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS, errno.EIO, errno.EMFILE, errno.ENFILE, errno.ENOMEM)
"""what a machine says that has no room left: no bug of ours, and nothing wrong with the input"""
_PART = ".part"
"""ending of a file that is not whole yet"""
_STALE = 3600
"""seconds after which such a file is nobody's any more: writing one takes a few"""
_LOCKED = "the file there is read-only"
_NAME = 180
"""bytes of a file's name that the name of its part takes over"""


def read_bytes(name: str, most: int = MOST_BYTES) -> bytes:
    """The bytes of the file `name`, at most `most`, or of standard input for "-". Raises ReadError."""
    try:
        if name == STANDARD:
            data = _standard(sys.stdin, "standard input").read(most + 1)
        else:
            with Path(name).open("rb") as file:
                data = file.read(most + 1)
    except FileNotFoundError:
        raise ReadError(Fault(place=Place(file=name), fact="there is no such file", hint=_nearest(name))) from None
    except IsADirectoryError:
        raise ReadError(Fault(place=Place(file=name), fact="this is a folder, not a file")) from None
    except (OSError, ValueError) as problem:
        raise ReadError(Fault(place=Place(file=name), fact=f"cannot be read: {_reason(problem)}")) from None
    if len(data) > most:
        fact = f"is larger than {most:,} bytes, the most that is read"
        raise ReadError(Fault(place=Place(file=name), fact=fact, hint="cut it to the passage"))
    return data


def _nearest(name: str) -> str:
    """What to try where there is no file of a name: a near one in its folder; an address has to be fetched."""
    import difflib  # noqa: PLC0415 (starting up need not wait for it)

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
        raise PressError(Fault(place=Place(file=name), fact=f"the folder cannot be made: {_reason(problem)}")) from None
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
        raise PressError(Fault(place=Place(file=name), fact=f"cannot be written: {_reason(problem)}")) from None
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
    import zipfile  # noqa: PLC0415 (starting up need not wait for it)

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
        raise PressError(Fault(place=Place(file=name), fact=f"cannot be written: {_reason(problem)}")) from None
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


def refused(problem: OSError) -> Fault:
    """What is said where the machine has no room left, and what would make some."""
    import tempfile  # noqa: PLC0415 (starting up need not wait for it)

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
        import resource  # noqa: PLC0415 (not on every system)
    except ImportError:
        return
    allowed = resource.getrlimit(resource.RLIMIT_AS)[0]
    if allowed != resource.RLIM_INFINITY and allowed < least * 2**20:
        fact = f"this process may use {allowed // 2**20} MB of memory, and needs {least}"
        raise PressError(Fault(fact=fact, hint=f"allow more (ulimit -v {least * 1024})"))


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
            raise PressError(Fault(place=Place(file=name), fact=f"cannot be made: {_reason(problem)}")) from None


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

    Raises PressError where two would be one file, or where there can be no such folder or file.
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
    check_folder(folder)
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


def _standard(stream: TextIO | None, what: str) -> BinaryIO:
    """The bytes of a standard stream. Raises OSError where it was closed before we began."""
    if stream is None:
        raise OSError(9, f"{what} is closed")
    return stream.buffer


def _say(data: bytes) -> None:
    try:
        with suppress(AttributeError):
            sys.stdout.flush()
        out = _standard(sys.stdout, "standard output")
        out.write(data)
        out.flush()
    except OSError as problem:
        _hush()
        raise PressError(
            Fault(place=Place(file="standard output"), fact=f"cannot be written: {_reason(problem)}")
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
        import tempfile  # noqa: PLC0415 (starting up need not wait for it)

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


def short(name: str) -> str:
    """A name cut so that what is put around it still makes a file name (255 bytes, by POSIX custom)."""
    return os.fsdecode(os.fsencode(name)[:_NAME])


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _reason(problem: OSError | ValueError) -> str:
    if isinstance(problem, BrokenPipeError):
        return "it was closed before everything was written"
    if isinstance(problem, FileNotFoundError):
        return "there is no such folder"
    if isinstance(problem, OSError) and problem.strerror:
        return problem.strerror[0].lower() + problem.strerror[1:]
    return str(problem)
