"""A shelf in the user's cache folder: answers of earlier runs, by name.

It never gets in the way: what cannot be kept is not kept, what cannot be read was never there. An entry is written
beside and renamed, and carries a digest of itself, so that two runs at once, a kill or a full disk leave nothing that
is taken for an answer. The folder is used only where nobody but the user can write to it. The entries used last stay
when it is full.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from contextlib import suppress
from pathlib import Path

MOST_BYTES = 200_000_000
"""how much the shelf holds; a book of 40 variations takes about 3 MB"""
_DIGEST = hashlib.sha256().digest_size


class FolderShelf:
    """Keeps bytes in the files of a folder."""

    def __init__(self, folder: Path, *, most: int = MOST_BYTES) -> None:
        self._folder, self._most = folder, most
        self._put = 0

    def get(self, key: str) -> bytes | None:
        """What was put under `key`, unless it was thrown away or is damaged."""
        file = self._file(key)
        with suppress(OSError):
            data = file.read_bytes()
            if data[:_DIGEST] == hashlib.sha256(data[_DIGEST:]).digest():
                os.utime(file)
                return data[_DIGEST:]
        return None

    def put(self, key: str, data: bytes) -> None:
        """Keep `data` under `key`, a name of hexadecimal digits."""
        file = self._file(key)
        with suppress(OSError):
            file.parent.mkdir(mode=0o700, exist_ok=True)
            handle, beside = tempfile.mkstemp(dir=file.parent, suffix=".part")
            try:
                with os.fdopen(handle, "wb") as out:
                    out.write(hashlib.sha256(data).digest() + data)
                Path(beside).replace(file)
            except BaseException:
                Path(beside).unlink(missing_ok=True)
                raise
            self._put += len(data)

    def tidy(self) -> None:
        """Throw away what was used longest ago, where this run has put more on the shelf than it holds."""
        if not self._put:
            return
        found = []
        for file in self._folder.glob("*/*"):
            with suppress(OSError):
                state = file.stat()
                found.append((state.st_mtime_ns, state.st_size, file))
        size = sum(size for _, size, _ in found)
        for _, gone, file in sorted(found):
            if size <= self._most:
                break
            with suppress(OSError):
                file.unlink()
            size -= gone

    def _file(self, key: str) -> Path:
        return self._folder / key[:2] / key[2:]


def user_shelf() -> FolderShelf | None:
    """The user's own shelf; None where there is no folder that only the user can write to."""
    import platformdirs  # noqa: PLC0415 (start-up loads none of this)

    folder = Path(platformdirs.user_cache_dir("passage-studies", appauthor=False))
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        state = folder.stat()
    except OSError:
        return None
    if hasattr(os, "geteuid") and (state.st_uid != os.geteuid() or state.st_mode & 0o022):
        return None
    return FolderShelf(folder)
