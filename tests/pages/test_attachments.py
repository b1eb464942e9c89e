"""Files inside a book come out as they went in, and odd PDFs are refused by one line."""

from __future__ import annotations

import zlib
from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfWriter
from pypdf.generic import ArrayObject, NameObject

from engrave.model import ReadError
from engrave.pages import Attachment, BookContent, press, read_attachments
from engrave.reading.limits import LIMITS, Limits

FILES = (
    Attachment(name="plan.toml", data="[book]\ntitle = “Heron”\n".encode(), description="the plan"),
    Attachment(name="passage.musicxml", data=bytes(range(256)) * 40),
    Attachment(name="empty.txt", data=b""),
)


@pytest.fixture(scope="module")
def carrying(book: BookContent) -> bytes:
    """A book with files inside."""
    return press(replace(book, attachments=FILES))


def test_what_goes_in_comes_out(carrying: bytes, pdf: bytes) -> None:
    """Names and bytes are unchanged, whatever the order they were given in; a book without files has none."""
    assert read_attachments(carrying) == {file.name: file.data for file in FILES}
    assert read_attachments(pdf) == {}


def test_files_inside_leave_the_book_reproducible(book: BookContent, carrying: bytes) -> None:
    """No date of today is written beside them."""
    again = press(replace(book, attachments=FILES[::-1]))
    assert len(again) == len(carrying)
    assert b"D:19800101000000Z" in again


def fault(data: bytes, limits: Limits = LIMITS) -> str:
    """The message for a book that cannot be opened."""
    with pytest.raises(ReadError) as caught:
        read_attachments(data, "book.pdf", limits)
    return str(caught.value)


def test_what_is_no_book_is_refused(carrying: bytes) -> None:
    """Text, a stump, and a locked file are each one line."""
    assert fault(b"X:1\nK:C\n") == "book.pdf: this is not a PDF (give a book this program printed)"
    assert fault(b"%PDF-1.7\n") == "book.pdf: the PDF is damaged and cannot be opened (print the book again)"
    writer = PdfWriter(clone_from=BytesIO(carrying))
    writer.encrypt("heron", algorithm="RC4-128")
    locked = BytesIO()
    writer.write(locked)
    assert fault(locked.getvalue()) == "book.pdf: the PDF is locked with a password (unlock it first)"


def test_limits_are_kept(carrying: bytes) -> None:
    """Too many files, one too large, or too large a book are refused before they fill the memory."""
    small = replace(LIMITS, inside_bytes=10_000)
    assert fault(carrying, small) == "book.pdf: 'passage.musicxml' inside the PDF is larger than 10000 bytes"
    said = "book.pdf: the PDF carries more than 1 files (give a book this program printed)"
    assert fault(carrying, replace(LIMITS, inside_files=1)) == said
    said = f"book.pdf: the file has {len(carrying)} bytes, more than 100 ("
    assert fault(carrying, replace(LIMITS, file_bytes=100)).startswith(said)


def test_only_what_is_wanted_is_unpacked(carrying: bytes) -> None:
    """A file nobody asks for costs nothing, however large it is."""
    small = replace(LIMITS, inside_bytes=10_000)
    assert read_attachments(carrying, "book.pdf", small, wanted={"plan.toml"}) == {"plan.toml": FILES[0].data}


def test_a_bomb_is_refused() -> None:
    """A few bytes that unpack to tens of millions do not."""
    writer = PdfWriter()
    writer.add_blank_page(100, 100)
    bomb = zlib.compress(b"\0" * 90_000_000, 1)
    writer.add_attachment("bomb", bomb)
    for entry in writer.attachment_list:
        stream = entry.pdf_object["/EF"]["/F"].get_object()  # type: ignore[index]
        stream._data = bomb
        stream[NameObject("/Filter")] = NameObject("/FlateDecode")
    out = BytesIO()
    writer.write(out)
    assert len(out.getvalue()) < 1_000_000
    assert "bomb" in fault(out.getvalue()) or "damaged" in fault(out.getvalue())


@pytest.mark.parametrize(
    "ways",
    [["/FlateDecode", "/FlateDecode"], ["/ASCIIHexDecode", "/FlateDecode"], ["/LZWDecode"], ["/RunLengthDecode"]],
    ids=" ".join,
)
def test_a_file_packed_twice_is_not_unpacked(ways: list[str]) -> None:
    """A chain of packings, of which each multiplies the one before, is refused unopened, as is any way but Flate."""
    writer = PdfWriter()
    writer.add_blank_page(100, 100)
    writer.add_attachment("plan.toml", b"")
    for entry in writer.attachment_list:
        stream = entry.pdf_object["/EF"]["/F"].get_object()  # type: ignore[index]
        stream._data = zlib.compress(zlib.compress(b"\0" * 50_000_000, 9), 9)
        stream[NameObject("/Filter")] = ArrayObject([NameObject(way) for way in ways])
    out = BytesIO()
    writer.write(out)
    assert fault(out.getvalue()) == (
        "book.pdf: 'plan.toml' inside the PDF is packed in a way we do not (give a book this program printed)"
    )


@pytest.mark.parametrize("cut", [0.2, 0.5, 0.9, 0.99])
def test_a_cut_off_book_never_ends_in_a_traceback(carrying: bytes, cut: float) -> None:
    """A book cut short is read as far as it goes or refused; nothing but our own fault comes out."""
    try:
        read_attachments(carrying[: int(len(carrying) * cut)], "book.pdf")
        said = ""
    except ReadError as error:
        said = str(error)
    assert "\n" not in said
