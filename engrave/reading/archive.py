"""Compressed MusicXML (.mxl): a zip whose META-INF/container.xml names the score.

Nothing is written to disk; the names inside are only looked up, never joined to a path. A file is unpacked up to the bound
of limits.py, whatever size it claims.
"""

from __future__ import annotations

import io
import zipfile
import zlib

from engrave.model import Fault, Place, ReadError
from engrave.model.errors import one_line
from engrave.reading.limits import LIMITS, Limits
from engrave.reading.safexml import parse

_CONTAINER = "META-INF/container.xml"


def unpack(data: bytes, name: str, limits: Limits = LIMITS) -> tuple[bytes, str]:
    """The score inside a compressed file, and its name for messages.

    Raises:
        ReadError: not a zip, no score inside, encrypted, too large when unpacked, or more files than allowed.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if len(packed.infolist()) > limits.archive_files:
                count = len(packed.infolist())
                raise _fault(name, f"{count} files in the compressed score, the limit is {limits.archive_files}")
            inside = _score_name(packed, name, limits)
            return _take(packed, inside, name, limits), f"{name}: {one_line(inside, 80)}"
    except ReadError:
        raise
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, NotImplementedError, RuntimeError, KeyError):
        raise _fault(name, "the compressed file is damaged", "save or fetch it again") from None


def _score_name(packed: zipfile.ZipFile, name: str, limits: Limits) -> str:
    names = packed.namelist()
    plausible = [n for n in names if n.lower().endswith((".musicxml", ".xml")) and not n.startswith("META-INF/")]
    if _CONTAINER in names:
        root = parse(_take(packed, _CONTAINER, name, limits), f"{name}: {_CONTAINER}", limits)
        listed = [found.get("full-path", "") for found in root.iter("rootfile")]
        types = [found.get("media-type", "") for found in root.iter("rootfile")]
        scores = [p for p, kind in zip(listed, types, strict=True) if not kind or "musicxml" in kind]
        for path in scores:
            if path in names:
                return path
        if scores and len(plausible) != 1:
            missing = one_line(scores[0], 80)
            raise _fault(
                name, f"its container names {missing!r}, which is not in it", "save it again as plain MusicXML"
            )
    if not plausible:
        there = ", ".join(one_line(n, 60) for n in names[:5]) or "nothing"
        raise _fault(name, f"no MusicXML score in the compressed file, only {there}", "save it as .musicxml")
    if len(plausible) > 1:
        raise _fault(name, f"{len(plausible)} scores in the compressed file and no container to choose", "unpack one")
    return plausible[0]


def _take(packed: zipfile.ZipFile, inside: str, name: str, limits: Limits) -> bytes:
    info = packed.getinfo(inside)
    if info.flag_bits & 1:
        raise _fault(name, f"{one_line(inside, 80)!r} is encrypted", "save it without a password")
    with packed.open(info) as stream:
        data = stream.read(limits.unpacked_bytes + 1)
    if len(data) > limits.unpacked_bytes:
        raise _fault(name, f"unpacks to more than {limits.unpacked_bytes:,} bytes", "save a single part or fewer bars")
    if data[:2] == b"PK":
        raise _fault(name, f"{one_line(inside, 80)!r} is a compressed file again", "unpack it first")
    return data


def _fault(name: str, fact: str, hint: str = "") -> ReadError:
    return ReadError(Fault(fact=fact, hint=hint, place=Place(file=name)))
