"""A gathering: a few pages laid out, ready to be bound with others into one PDF.

A book is printed in gatherings so that several can be laid out at once, so that one whose pages have not changed is
taken as it was, and so that no more than a few pages of boxes are in memory at a time. What makes a gathering's pages
part of a book (page tree, outline, link targets, tags) is kept apart from the pages and put together when it is bound.
Variations are laid out several at once, which takes less than each by itself, and gathered each by itself, with what
its own pages need: whatever it was laid out with, its gathering binds into the same bytes.

WeasyPrint hands its finisher the PDF as plain objects of pydyf just before it is written. They are taken there, with
every reference from one object to another marked, so that binding has only to put new numbers in place of the marks.
"""

from __future__ import annotations

import re
import zlib
from collections import deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from typing import Any

from engrave.model import carried
from engrave.pages.folio import PLACE, Folio, cut

POINT = 72 / 96
"""points in a CSS pixel"""
MARK = re.compile(rb"\x01([a-z])(\d*)\x01")
"""in a stored object: r number (another object), p (the page tree), d (the root of the tags), k number (a key of the
tree of parents), b (the box of its page)"""
_PAINTED = re.compile(rb"/(\S+) Do\b")
_SHORT = 200
"""bytes of a stream that are not worth packing"""
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
    """Some pages. Pieces have the numbers that marks know them by; pages count from 0 within the gathering."""

    pieces: Mapping[int, Piece]
    """in the order they are bound in"""
    pages: tuple[int, ...] = ()
    """the pieces that are pages"""
    size: tuple[float, float] = (0.0, 0.0)
    """width and height of a page in points"""
    tags: tuple[int, ...] = ()
    """the topmost tags of its pages, in reading order"""
    folios: tuple[tuple[int, int, Folio], ...] = ()
    """page, a piece that is to show a number, and how: in the order they stand in"""
    parents: Mapping[int, bytes] = field(default_factory=dict)
    """the tree of parents: for each key the tags of a page's marked pieces, or the tag of a link"""
    bookmarks: tuple[Bookmark, ...] = ()
    goals: tuple[Goal, ...] = ()
    catalog: tuple[tuple[str, bytes], ...] = ()
    """what the document as a whole says of itself, by key of the catalogue"""
    info: tuple[tuple[str, bytes], ...] = ()
    """the same in the document information"""

    @property
    def fonts(self) -> frozenset[bytes]:
        """Its font files."""
        found = (piece.stream for piece in self.pieces.values() if b"/OpenType" in piece.head)
        return frozenset(stream for stream in found if stream)


def gather(document: Any, pdf: Any, *, drop: int = 0) -> Gathering:
    """The pages of a laid-out document, but for the last `drop`, from the PDF that WeasyPrint made of it."""
    gatherer = _Gatherer(document, pdf)
    return gatherer.some(0, gatherer.count - drop, whole=True)


def gather_each(document: Any, pdf: Any) -> list[Gathering]:
    """The same for each variation by itself; what stands before the first is left out."""
    gatherer = _Gatherer(document, pdf)
    starts = gatherer.starts
    return [gatherer.some(start, after) for start, after in pairwise([*starts, gatherer.count])]


class _Gatherer:
    """Walks the objects that the pages need, and stores each once."""

    def __init__(self, document: Any, pdf: Any) -> None:
        self.document, self.pdf = document, pdf
        self.references = list(pdf.page_references)
        self.shared = _number(self._object(self.references[0])["Resources"])
        """the resources of all pages"""
        self.count = len(self.references)
        root = self._object(pdf.catalog["StructTreeRoot"])
        (self.top,) = root["K"]
        nums = self._object(root["ParentTree"])["Nums"]
        self.rows = dict(zip(nums[::2], nums[1::2], strict=True))
        self.tags = [(self._object(tag)["Pg"], _number(tag)) for tag in self._object(self.top)["K"]]
        self.made: dict[int, tuple[Piece, tuple[int, ...], tuple[int, ...]]] = {}
        """number in the PDF → the piece, and which pieces and which keys of the tree of parents it names"""
        self.painted: list[set[str]] = []
        """the forms that each page paints"""
        self.folios = [[*self._folios(page)] for page in map(self._object, self.references)]

    @property
    def starts(self) -> list[int]:
        """The pages on which a variation begins."""
        return [page for page, found in enumerate(self.folios) if any(folio.said == PLACE for _, folio in found)]

    def some(self, start: int, after: int, *, whole: bool = False) -> Gathering:
        """The pages from `start` up to the one before `after`, with what the document as a `whole` says of itself."""
        pages = self.references[start:after]
        own, here = self._resources(start, after), set(pages)
        tags = tuple(number for page, number in self.tags if page in here)
        numbers = tuple(map(_number, pages))
        parents: dict[int, bytes] = {}
        pieces: dict[int, Piece] = {}
        catalog: tuple[tuple[str, bytes], ...] = ()
        info: tuple[tuple[str, bytes], ...] = ()
        waiting = deque([*numbers, *tags])
        if whole:
            catalog, info = tuple(self._catalog()), tuple((key, self._value(v)) for key, v in self.pdf.info.items())
            waiting += [number for _, said in (*catalog, *info) for number in _named(said)[0]]
        while waiting:
            number = waiting.popleft()
            if number in pieces:
                continue
            piece, others, keys = self._piece(number) if number != self.shared else own
            pieces[number] = piece
            waiting += others
            for key in keys:
                parents[key] = self._value(self.rows[key])
                waiting += _named(parents[key])[0]
        width, height = self.document.pages[start].width, self.document.pages[start].height
        return Gathering(
            pieces=pieces,
            pages=numbers,
            size=(width * POINT, height * POINT),
            tags=tags,
            folios=tuple((page - start, *one) for page in range(start, after) for one in self.folios[page]),
            parents=parents,
            bookmarks=tuple(self._bookmarks(start, after)),
            goals=tuple(self._goals(start, after)),
            catalog=catalog,
            info=info,
        )

    def _folios(self, page: Any) -> Iterator[tuple[int, Folio]]:
        """Cut the numbers out of a page's content, into streams of their own."""
        plain = _plain(self._object(page["Contents"]))
        self.painted.append({name.decode() for name in _PAINTED.findall(plain)})
        (first, *others), folios = cut(plain)
        if not folios:
            return
        streams = [self._stream(first)]
        for folio, part in zip(folios, others, strict=True):
            blank = self._stream(None)
            yield _number(blank), folio
            streams += [blank, self._stream(part)]
        page["Contents"] = streams

    def _stream(self, content: bytes | None) -> bytes:
        """Add a stream, or one that is to be filled; its reference."""
        import pydyf  # noqa: PLC0415 (loaded only when a page is printed)

        made = pydyf.Stream() if content is None else pydyf.Stream([content], compress=len(content) > _SHORT)
        self.pdf.add_object(made)
        return bytes(made.reference)

    def _resources(self, start: int, after: int) -> tuple[Piece, tuple[int, ...], tuple[int, ...]]:
        """The same with the forms that some pages paint, in an order that does not depend on other pages."""
        painted = set().union(*self.painted[start:after])
        resources = dict(self.pdf.objects[self.shared])
        resources["XObject"] = {name: resources["XObject"][name] for name in sorted(painted)}
        head = self._entries(resources)
        return Piece(head=head), *_named(head)

    def _object(self, reference: bytes) -> Any:
        return self.pdf.objects[_number(reference)]

    def _piece(self, number: int) -> tuple[Piece, tuple[int, ...], tuple[int, ...]]:
        if number not in self.made:
            thing = self.pdf.objects[number]
            if hasattr(thing, "stream"):
                content = _content(thing)
                filtered = {"Filter": "/FlateDecode"} if thing.compress else {}
                head, stream = self._entries({**thing.extra, **filtered, "Length": len(content)}), content
            else:
                head, stream = self._value(thing), None
            self.made[number] = Piece(head=head, stream=stream), *_named(head)
        return self.made[number]

    def _entries(self, entries: dict[str, Any]) -> bytes:
        said = [b"/%b %b" % (key.encode(), self._entry(key, value, entries)) for key, value in entries.items()]
        return b"<<" + b"".join(said) + b">>"

    def _entry(self, key: str, value: Any, of: dict[str, Any]) -> bytes:
        if key == "Parent" and of.get("Type") == "/Page":
            return b"\x01p\x01"
        if key in ("MediaBox", "TrimBox", "BleedBox"):
            return b"\x01b\x01"
        if key in ("StructParents", "StructParent"):
            return b"\x01k%d\x01" % value
        if key == "P" and value == self.top:
            return b"\x01d\x01"
        return self._value(value)

    def _value(self, value: Any) -> bytes:
        """A value as it stands in a PDF, with marks for references."""
        if isinstance(value, bytes):
            if _REFERENCE.fullmatch(value):
                return b"\x01r%d\x01" % _number(value)
            said = value
        elif isinstance(value, dict):
            return self._entries(value)
        elif isinstance(value, list):
            return b"[" + b" ".join([self._value(item) for item in value]) + b"]"
        elif isinstance(value, str):
            said = value.encode("ascii")
        elif isinstance(value, int):
            return b"%d" % value
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

    def _bookmarks(self, start: int, after: int) -> Iterator[Bookmark]:
        for number, page in enumerate(self.document.pages[start:after]):
            for level, title, place, _ in page.bookmarks:
                yield Bookmark(page=number, level=level, title=title, at=_points(page, place))

    def _goals(self, start: int, after: int) -> Iterator[Goal]:
        for number, page in enumerate(self.document.pages[start:after]):
            for name, place in page.anchors.items():
                yield Goal(page=number, name=name, at=_points(page, place))


def _number(reference: bytes) -> int:
    return int(reference.split()[0])


def _named(head: bytes) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The pieces and the keys of the tree of parents that are marked in a piece."""
    found = MARK.findall(head)
    return tuple(int(n) for kind, n in found if kind == b"r"), tuple(int(n) for kind, n in found if kind == b"k")


def _content(stream: Any) -> bytes:
    """A stream as the file holds it."""
    plain = _plain(stream)
    if not stream.compress:
        return plain
    # shapes, plain staves and fonts are alike in all gatherings; what stands on a page is not
    return _packed(plain) if stream.extra.get("Subtype") in ("/Form", "/OpenType") else zlib.compress(plain)


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
