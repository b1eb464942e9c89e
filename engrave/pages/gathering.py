"""A gathering: a few pages laid out on their own, ready to be bound with others into one PDF.

A book is printed in gatherings so that several can be laid out at once, so that one whose pages have not changed is
taken as it was, and so that no more than a few pages of boxes are in memory at a time. What makes a gathering's pages
part of a book (page tree, outline, link targets, tags) is kept apart from the pages and put together when it is bound.

WeasyPrint hands its finisher the PDF as plain objects of pydyf just before it is written. They are taken there, with
every reference from one object to another marked, so that binding has only to put new numbers in place of the marks.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from engrave.model import carried
from engrave.pages.folio import Folio, cut

POINT = 72 / 96
"""points in a CSS pixel"""
MARK = re.compile(rb"\x01([a-z])(\d*)\x01")
"""in a stored object: r number (another object), p (the page tree), d (the root of the tags), k number (a key of the
tree of parents)"""
_REFERENCE = re.compile(rb"(\d+) 0 R")


@carried
@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One object of a PDF, with marks where it refers to others."""

    head: bytes
    """all of it, or the dictionary of a stream"""
    stream: bytes | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bookmark:
    """An entry of the outline."""

    page: int
    level: int
    title: str
    at: tuple[float, float]
    """points from the lower left corner"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """A place that links lead to."""

    page: int
    name: str
    at: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gathering:
    """Some pages. Numbers of pieces count from 0 within the gathering, numbers of pages too."""

    pieces: tuple[Piece, ...]
    pages: tuple[int, ...] = ()
    """the pieces that are pages"""
    tags: tuple[int, ...] = ()
    """the topmost tags of its pages, in reading order"""
    folios: tuple[tuple[int, int, Folio], ...] = ()
    """page, the piece that is to show its number, and how; none for a page that shows `folio.ALL` nowhere"""
    parents: tuple[bytes, ...] = ()
    """the tree of parents: for each key the tags of a page's marked pieces, or the tag of a link"""
    bookmarks: tuple[Bookmark, ...] = ()
    goals: tuple[Goal, ...] = ()
    catalog: tuple[tuple[str, bytes], ...] = ()
    """what the document as a whole says of itself, by key of the catalogue"""
    info: tuple[tuple[str, bytes], ...] = ()
    """the same in the document information"""


def gather(document: Any, pdf: Any, *, drop: int = 0) -> Gathering:
    """The pages of a laid-out document, but for the last `drop`, from the PDF that WeasyPrint made of it."""
    return _Gatherer(document, pdf, drop).all()


class _Gatherer:
    """Walks the objects that the pages need, and stores each once."""

    def __init__(self, document: Any, pdf: Any, drop: int) -> None:
        self.document, self.pdf = document, pdf
        references = list(pdf.page_references)
        self.kept = references[: len(references) - drop]
        self.dropped = set(references[len(references) - drop :])
        root = self._object(pdf.catalog["StructTreeRoot"])
        (self.top,) = root["K"]
        self.nums = self._object(root["ParentTree"])["Nums"]
        self.places: dict[int, int] = {}
        """number in the PDF → number here"""
        self.waiting: list[int] = []

    def all(self) -> Gathering:
        keys, rows = self.nums[::2], self.nums[1::2]
        outside = len(self.kept) + len(self.dropped)
        # rows of pages come first, those of links after them; a dropped page has no links
        wanted = [row for key, row in zip(keys, rows, strict=True) if key < len(self.kept) or key >= outside]
        self.shift = len(self.dropped)
        pages = tuple(self._place(reference) for reference in self.kept)
        folios = tuple(self._folios())
        tags = tuple(self._place(ref) for ref in self._object(self.top)["K"] if not self._is_dropped(ref))
        parents = tuple(self._value(row) for row in wanted)
        catalog, info = tuple(self._catalog()), tuple((key, self._value(v)) for key, v in self.pdf.info.items())
        pieces: list[Piece] = []
        while len(pieces) < len(self.waiting):
            pieces.append(self._piece(self.pdf.objects[self.waiting[len(pieces)]]))
        return Gathering(
            pieces=tuple(pieces),
            pages=pages,
            tags=tags,
            folios=folios,
            parents=parents,
            bookmarks=tuple(self._bookmarks()),
            goals=tuple(self._goals()),
            catalog=catalog,
            info=info,
        )

    def _folios(self) -> Iterator[tuple[int, int, Folio]]:
        """Cut the line of the number out of each page's content, into a stream of its own."""
        import pydyf  # noqa: PLC0415 (loaded only when a page is printed)

        for number, page in enumerate(map(self._object, self.kept)):
            parts = cut(_plain(self._object(page["Contents"])))
            if parts is not None:
                before, folio, after = parts
                streams = [pydyf.Stream([before], compress=True), pydyf.Stream(), pydyf.Stream([after])]
                for stream in streams:
                    self.pdf.add_object(stream)
                page["Contents"] = [stream.reference for stream in streams]
                yield number, self._place(streams[1].reference), folio

    def _object(self, reference: bytes) -> Any:
        return self.pdf.objects[int(reference.split()[0])]

    def _is_dropped(self, tag: bytes) -> bool:
        return self._object(tag).get("Pg") in self.dropped

    def _place(self, reference: bytes) -> int:
        number = int(reference.split()[0])
        if number not in self.places:
            self.places[number] = len(self.waiting)
            self.waiting.append(number)
        return self.places[number]

    def _piece(self, thing: Any) -> Piece:
        if not hasattr(thing, "stream"):
            return Piece(head=self._value(thing))
        content = _content(thing)
        filtered = {"Filter": "/FlateDecode"} if thing.compress else {}
        return Piece(head=self._entries({**thing.extra, **filtered, "Length": len(content)}), stream=content)

    def _entries(self, entries: dict[str, Any]) -> bytes:
        said = [b"/%b %b" % (key.encode(), self._entry(key, value, entries)) for key, value in entries.items()]
        return b"<<" + b"".join(said) + b">>"

    def _entry(self, key: str, value: Any, of: dict[str, Any]) -> bytes:
        if key == "Parent" and of.get("Type") == "/Page":
            return b"\x01p\x01"
        if key == "StructParents":
            return b"\x01k%d\x01" % value
        if key == "StructParent":
            return b"\x01k%d\x01" % (value - self.shift)
        if key == "P" and value == self.top:
            return b"\x01d\x01"
        return self._value(value)

    def _value(self, value: Any) -> bytes:
        """A value as it stands in a PDF, with marks for references."""
        if isinstance(value, bytes):
            if _REFERENCE.fullmatch(value):
                return b"\x01r%d\x01" % self._place(value)
            said = value
        elif isinstance(value, dict):
            return self._entries(value)
        elif isinstance(value, list):
            return b"[" + b" ".join([self._value(item) for item in value]) + b"]"
        elif isinstance(value, str):
            said = value.encode("ascii")
        else:
            import pydyf  # noqa: PLC0415 (loaded only when a page is printed)

            said = bytes(pydyf.Array([value]).data[1:-1])
        if b"\x01" in said:
            raise ValueError(f"a control character in {said[:40]!r}")
        return said

    def _catalog(self) -> Iterator[tuple[str, bytes]]:
        """What is not made anew when the book is bound."""
        made_anew = {"Type", "Pages", "StructTreeRoot", "Outlines", "Names"}
        for key, value in self.pdf.catalog.items():
            if key not in made_anew:
                yield key, self._value(value)

    def _bookmarks(self) -> Iterator[Bookmark]:
        for number, page in enumerate(self.document.pages[: len(self.kept)]):
            for level, title, place, _ in page.bookmarks:
                yield Bookmark(page=number, level=level, title=title, at=_points(page, place))

    def _goals(self) -> Iterator[Goal]:
        for number, page in enumerate(self.document.pages[: len(self.kept)]):
            for name, place in page.anchors.items():
                yield Goal(page=number, name=name, at=_points(page, place))


def _content(stream: Any) -> bytes:
    """A stream as the file holds it."""
    plain = _plain(stream)
    if not stream.compress:
        return plain
    # shapes, plain staves and fonts are alike in all gatherings; what stands on a page is not
    return _packed(plain) if stream.extra.get("Subtype") in ("/Form", "/OpenType") else zlib.compress(plain, 9)


def _plain(stream: Any) -> bytes:
    packed, stream.compress = stream.compress, False
    content = bytes(stream.data.partition(b"\nstream\n")[2].removesuffix(b"\nendstream"))
    stream.compress = packed
    return content


@lru_cache(maxsize=400)
def _packed(content: bytes) -> bytes:
    return zlib.compress(content, 9)


def _points(page: Any, place: tuple[float, ...]) -> tuple[float, float]:
    return round(place[0] * POINT, 3), round((page.height - place[1]) * POINT, 3)
