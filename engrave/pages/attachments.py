"""Files carried inside a book, so that its plan and passage can be taken out of it again."""

from __future__ import annotations

import logging
from io import BytesIO

from engrave.model import Fault, Place, ReadError

LARGEST = 16_000_000
"""most bytes of one file inside a book, unpacked"""
MOST = 400
"""most files inside a book"""
BOOK = 200_000_000
"""most bytes of a book"""


def read_attachments(pdf: bytes, name: str = "") -> dict[str, bytes]:
    """Name → content of the files inside a PDF, in the order they are listed; none where it carries none.

    `name` stands in messages. Raises ReadError where the data is no PDF, is damaged, is locked or goes beyond limits.
    """
    import pypdf  # noqa: PLC0415 (loaded only when a book is opened)
    from pypdf.errors import PyPdfError  # noqa: PLC0415 (as above)

    if len(pdf) > BOOK:
        raise _error(name, f"the file has {len(pdf)} bytes, more than {BOOK}", "give a book this program printed")
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
        for file in reader.attachment_list:
            if len(found) == MOST:
                raise _error(name, f"the PDF carries more than {MOST} files", "give a book this program printed")
            content = file.content
            if len(content) > LARGEST:
                raise _error(name, f"{file.name!r} inside the PDF is larger than {LARGEST} bytes", "")
            found.setdefault(file.name, content)
    except (
        PyPdfError,
        ValueError,
        KeyError,
        TypeError,
        AttributeError,
        IndexError,
        RecursionError,
        OverflowError,
    ) as e:
        raise _error(name, "the PDF is damaged and cannot be opened", "print the book again") from e
    return found


def _error(name: str, fact: str, hint: str) -> ReadError:
    return ReadError(Fault(fact=fact, hint=hint, place=Place(file=name)))
