"""Files carried inside a book, so that its plan and passage can be taken out of it again."""

from __future__ import annotations

import hashlib
import logging
import zlib
from collections.abc import Container, Sequence
from io import BytesIO
from typing import Any

from engrave.model import Fault, Place, ReadError
from engrave.model.errors import one_line
from engrave.pages.content import Attachment
from engrave.pages.gathering import Gathering, Piece
from engrave.reading.limits import LIMITS, Limits

_TYPES = {
    "json": "application/json",
    "musicxml": "application/vnd.recordare.musicxml+xml",
    "toml": "application/toml",
}
"""ending of a file's name → its media type, as registered with IANA"""
_UNDATED = b"(D:19800101000000Z)"
"""date of the files inside a book: the press does not read the clock"""


def packed(files: Sequence[Attachment]) -> Gathering:
    """Files for a book to carry, as a gathering without a page (ISO 32000-1, 7.11.3 and 7.11.4).

    Written here rather than by WeasyPrint, which copies each of them five times: of a book of 160 variations, whose
    music takes 13 MB, that was a fifth of all memory.
    """
    pieces: list[Piece] = []
    names: list[bytes] = []
    for file in sorted(files, key=lambda file: file.name):
        kind = _TYPES.get(file.name.rpartition(".")[2], "application/octet-stream")
        digest = hashlib.md5(file.data, usedforsecurity=False).hexdigest()
        # 9 takes 15 ms longer for the music of 40 variations, and saves 2 KB
        content = zlib.compress(file.data, 8)
        said = f"/Type/EmbeddedFile/Subtype/{kind.replace('/', '#2f')}/Filter/FlateDecode/Length {len(content)}"
        dated = b"/CreationDate %b/ModDate %b" % (_UNDATED, _UNDATED)
        params = b"/Params<</CheckSum<%b>/Size %d%b>>" % (digest.encode(), len(file.data), dated)
        pieces.append(Piece(head=b"<<%b%b>>" % (said.encode(), params), stream=content))
        name, plain = _string(file.name), _string(file.name.encode(errors="ignore"))
        inside = b"/Type/Filespec/F %b/UF %b/Desc %b" % (plain, name, _string(file.description))
        pieces.append(Piece(head=b"<<%b/EF<</F \x01r%d\x01>>>>" % (inside, len(pieces) - 1)))
        names.append(b"%b \x01r%d\x01" % (plain, len(pieces) - 1))
    catalog = (("EmbeddedFiles", b"<</Names[%b]>>" % b" ".join(names)),) if names else ()
    return Gathering(pieces=dict(enumerate(pieces)), catalog=catalog)


def _string(text: str | bytes) -> bytes:
    import pydyf  # noqa: PLC0415 (loaded only when a page is printed)

    said: Any = pydyf.String(text).data
    return bytes(said)


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


def _error(name: str, fact: str, hint: str) -> ReadError:
    return ReadError(Fault(fact=fact, hint=hint, place=Place(file=name)))
