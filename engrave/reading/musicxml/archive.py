"""Compressed MusicXML (.mxl): a zip whose META-INF/container.xml names the score.

Nothing is written to disk; the names inside are only looked up, never joined to a path. A file is unpacked up to the
bound of limits.py, whatever size it claims.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from xml.etree.ElementTree import Element

from engrave.model import ReadError
from engrave.model.errors import one_line
from engrave.reading.limits import LIMITS, Limits, allow
from engrave.reading.safe_xml import parse

_CONTAINER = "META-INF/container.xml"
_ENTRY = b"PK\x01\x02"
"""begins each entry of a zip's list of files (APPNOTE 4.3.12)"""
_PLAIN = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
"""ways of packing that MusicXML allows"""


def unpack(data: bytes, name: str, limits: Limits = LIMITS) -> bytes:
    """The score inside a compressed file.

    Raises:
        ReadError: not a zip, no score inside, encrypted, too large when unpacked, or more files than allowed.
    """
    if len(data) > limits.archive_bytes:
        fact = f"the compressed file is {len(data):,} bytes long, the limit is {limits.archive_bytes:,}"
        raise ReadError.at(name, fact, f"save a single part or fewer bars; {allow('archive_bytes', len(data))}")
    entries = data.count(_ENTRY)
    if entries > limits.archive_files:
        raise ReadError.at(name, f"{entries:,} files in the compressed score, the limit is {limits.archive_files}")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            return _take(packed, _score_name(packed, name, limits), name, limits)
    except ReadError:
        raise
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, NotImplementedError, RuntimeError, KeyError):
        raise ReadError.at(name, "the compressed file is damaged", "save or fetch it again") from None


def _score_name(packed: zipfile.ZipFile, name: str, limits: Limits) -> str:
    names = packed.namelist()
    plausible = [
        n for n in names if n.lower().endswith((".musicxml", ".xml")) and not n.upper().startswith("META-INF/")
    ]
    listed: list[str] = []
    if _CONTAINER in names:
        root = parse(_take(packed, _CONTAINER, name, limits), f"{name}: {_CONTAINER}", limits)
        listed = [found.get("full-path", "") for found in root.iter("rootfile") if _is_score(found)]
        for path in listed:
            if path in names:
                return path
    if len(plausible) == 1:
        return plausible[0]
    if listed:
        fact = f"its container names {one_line(listed[0], 80)!r}, which is not in it"
        raise ReadError.at(name, fact, "save it again as plain MusicXML")
    if plausible:
        fact = f"{len(plausible)} scores in the compressed file and no container to choose one"
        raise ReadError.at(name, fact, "unpack the one you mean")
    there = ", ".join(one_line(n, 60) for n in names[:5]) or "nothing"
    raise ReadError.at(name, f"no MusicXML score in the compressed file, only {there}", "save it as .musicxml")


def _is_score(found: Element) -> bool:
    kind = found.get("media-type", "")
    return not kind or "musicxml" in kind


def _take(packed: zipfile.ZipFile, inside: str, name: str, limits: Limits) -> bytes:
    info = packed.getinfo(inside)
    said = repr(one_line(inside, 80))
    if info.flag_bits & 1:
        raise ReadError.at(name, f"{said} is encrypted", "save it without a password")
    if info.compress_type not in _PLAIN:
        raise ReadError.at(name, f"{said} is packed in a way MusicXML does not use", "save it again as plain MusicXML")
    with packed.open(info) as stream:
        data = stream.read(limits.unpacked_bytes + 1)
    if len(data) > limits.unpacked_bytes:
        fact = f"{said} unpacks to more than {limits.unpacked_bytes:,} bytes"
        allowed = allow("unpacked_bytes", 2 * limits.unpacked_bytes)
        raise ReadError.at(name, fact, f"save a single part or fewer bars; {allowed}")
    if data[:4] == b"PK\x03\x04":
        raise ReadError.at(name, f"{said} is a compressed file again", "unpack it first")
    return data
