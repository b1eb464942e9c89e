"""Files carried inside a book, so that its plan and passage can be taken out of it again."""

from __future__ import annotations

import logging
from collections.abc import Container, Sequence
from io import BytesIO
from typing import Any

from engrave.model import Fault, Place, ReadError
from engrave.model.errors import one_line
from engrave.pages.content import Attachment
from engrave.reading.limits import LIMITS, Limits

_TYPES = {
    "json": "application/json",
    "musicxml": "application/vnd.recordare.musicxml+xml",
    "toml": "application/toml",
}
"""ending of a file's name → its media type, as registered with IANA"""


def describe(pdf: Any, files: Sequence[Attachment]) -> None:
    """Say of each file in a finished document what kind it is and what it is to the book (ISO 32000-2, 7.11.3).

    WeasyPrint asks the machine for the kind, which would let the same book have other bytes elsewhere.
    """
    rows = {file.name: file for file in files}
    for item in pdf.objects:
        if getattr(item, "get", None) and item.get("Type") == "/Filespec":
            file = rows[item["UF"].string]
            item["AFRelationship"] = f"/{file.relationship}"
            kind = _TYPES.get(file.name.rpartition(".")[2], "application/octet-stream")
            pdf.objects[int(item["EF"]["F"].split()[0])].extra["Subtype"] = f"/{kind.replace('/', '#2f')}"


def read_attachments(
    pdf: bytes, name: str = "", limits: Limits = LIMITS, wanted: Container[str] | None = None
) -> dict[str, bytes]:
    """Name → content of the files inside a PDF, in the order they are listed; none where it carries none.

    `name` stands in messages; only `wanted` files are unpacked, all where it is None, the first of each name. Nothing
    is written to disk: the names inside are only names. Raises ReadError where the data is no PDF, is damaged, is
    locked or goes beyond limits.
    """
    import pypdf  # noqa: PLC0415 (loaded only when a book is opened)

    if len(pdf) > limits.file_bytes:
        fact = f"the file has {len(pdf)} bytes, more than {limits.file_bytes}"
        raise _error(name, fact, "give a book this program printed")
    if b"%PDF-" not in pdf[:1024]:
        raise _error(name, "this is not a PDF", "give a book this program printed")
    quiet = logging.getLogger("pypdf")
    if not quiet.handlers:
        quiet.addHandler(logging.NullHandler())
    found: dict[str, bytes] = {}
    try:
        reader = pypdf.PdfReader(BytesIO(pdf))
        if reader.is_encrypted:
            raise _error(name, "the PDF is locked with a password", "unlock it first")
        for number, file in enumerate(reader.attachment_list):
            if number == limits.inside_files:
                fact = f"the PDF carries more than {limits.inside_files} files"
                raise _error(name, fact, "give a book this program printed")
            if file.name in found or (wanted is not None and file.name not in wanted):
                continue
            _check_packing(file, name)
            content = file.content
            if len(content) > limits.inside_bytes:
                said = one_line(str(file.name), 80)
                raise _error(name, f"{said!r} inside the PDF is larger than {limits.inside_bytes} bytes", "")
            found[file.name] = content
    except ReadError:
        raise
    except Exception as problem:
        # a damaged PDF can make the library stumble in any way; whatever it is, the fault lies with the file
        raise _error(name, "the PDF is damaged and cannot be opened", "print the book again") from problem
    return found


def _check_packing(file: Any, name: str) -> None:
    """Refuse a file packed in more than one way: each unpacking may multiply what the one before gave.

    Ours are packed once, with Flate (ISO 32000-2, 7.4.4), whose output the library bounds.
    """
    inside = file.pdf_object["/EF"]
    stream = (inside.get("/F") or inside["/UF"]).get_object()
    ways = stream.get("/Filter")
    ways = ways.get_object() if hasattr(ways, "get_object") else ways
    listed = [] if ways is None else list(ways) if isinstance(ways, list) else [ways]
    if len(listed) > 1 or any(way != "/FlateDecode" for way in listed) or stream.get("/DecodeParms"):
        said = one_line(str(file.name), 80)
        raise _error(name, f"{said!r} inside the PDF is packed in a way we do not", "give a book this program printed")


def _error(name: str, fact: str, hint: str) -> ReadError:
    return ReadError(Fault(fact=fact, hint=hint, place=Place(file=name)))
