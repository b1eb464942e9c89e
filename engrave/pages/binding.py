"""Binding: gatherings joined into one PDF, with one page tree, one outline and one tree of tags.

Streams that several gatherings carry alike (the shapes of the music and its plain staves, above all) are kept once.
"""

from __future__ import annotations

import hashlib
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain, count
from typing import Any

from engrave.model.wording import numeral
from engrave.pages.folio import PLACE, place
from engrave.pages.gathering import MARK, Bookmark, Gathering, Goal, Piece


def bind(
    front: Sequence[Gathering],
    body: Sequence[Gathering] = (),
    back: Sequence[Gathering] = (),
    *,
    files: Gathering | None = None,
    turned: float = 0.0,
) -> bytes:
    """One PDF of all pages: those of `front` numbered in Roman figures, what follows from 1, where anything follows.

    Each gathering of `body` is a variation, numbered from 1; its pages also say how many pages the body has. What the
    document says of itself as a whole (title, language) is what the last gathering of `front` says; `files` are those
    it carries. All pages are laid out as right ones; `turned` is by how many points a left one is moved to the left:
    then `body` begins on a right page, if need be behind an empty one.
    """
    return _Binder(turned).all(front, body, back, files)


class _Binder:
    def __init__(self, turned: float) -> None:
        import pydyf  # noqa: PLC0415 (loaded only when a page is printed)

        self.turned = turned
        self.make = pydyf
        self.pdf = pydyf.PDF()
        self.known: dict[bytes, int] = {}
        self.raw = _raw(pydyf)
        self.pages: list[bytes] = []
        self.nums: list[Any] = []
        self.numbers: list[str] = []
        """what each page says of its place"""

    def all(
        self,
        front: Sequence[Gathering],
        body: Sequence[Gathering],
        back: Sequence[Gathering],
        files: Gathering | None,
    ) -> bytes:
        opening, pages, behind = (sum(len(part.pages) for part in parts) for parts in (front, body, back))
        empty = opening % 2 if self.turned and body else 0
        opening += empty
        self.numbers = [
            *(numeral(number).lower() for number in range(1, opening + 1)),
            *(f"{number} of {pages}" for number in range(1, pages + 1)),
            *(f"{number}" for number in range(pages + 1, pages + behind + 1)),
        ]
        root, top = self._added({"Type": "/StructTreeRoot"}), self._added({"Type": "/StructElem", "S": "/Document"})
        tags: list[bytes] = []
        names: dict[str, Any] = {}
        marks: list[tuple[int, Bookmark]] = []
        apart = [(part, 0) for part in front], [*zip(body, count(1))], [(part, 0) for part in back]
        for part, variation in chain.from_iterable(apart):
            if empty and part is body[0]:
                self._empty_page(part)
            before = len(self.pages)
            numbered = self._pieces(part, variation, top.reference)
            tags += [numbered(b"\x01r%d\x01" % tag) for tag in part.tags]
            marks += [(before + mark.page, mark) for mark in _entitled(part.bookmarks, variation)]
            # links to a variation lead to its first line
            first = [Goal(page=mark.page, name=f"v{variation}", at=mark.at) for mark in part.bookmarks[:1] if variation]
            for goal in (*first, *part.goals):
                page = self.pages[before + goal.page]
                names.setdefault(goal.name, self._array([page, "/XYZ", *goal.at, 0]))
            if part is front[-1]:
                self._whole(part, numbered)
        if files:
            self._whole(files, self._pieces(files, 0, top.reference))
        root |= {"K": self._array([top.reference]), "ParentTree": self._parents().reference}
        top |= {"P": root.reference, "K": self._array(tags)}
        catalog = self.pdf.catalog
        catalog["StructTreeRoot"] = root.reference
        if names:
            pairs = [item for name in sorted(names) for item in (self.make.String(name), names[name])]
            catalog.setdefault("Names", self._dictionary({}))["Dests"] = self._dictionary({"Names": self._array(pairs)})
        self._outline(marks)
        if body or back:
            first, then = self._dictionary({"S": "/r"}), self._dictionary({"S": "/D"})
            labels = self._array([0, first, opening, then])
            catalog["PageLabels"] = self._dictionary({"Nums": labels})
        out = io.BytesIO()
        self.pdf.write(out, version=b"1.7", compress=True)
        return out.getvalue()

    def _dictionary(self, entries: dict[str, Any]) -> Any:
        return self.make.Dictionary(entries)

    def _array(self, items: Iterable[Any]) -> Any:
        return self.make.Array(items)

    def _added(self, entries: dict[str, Any]) -> Any:
        made = self._dictionary(entries)
        self.pdf.add_object(made)
        return made

    def _pieces(self, part: Gathering, variation: int, top: bytes) -> Callable[[bytes], bytes]:
        """Add the pieces of a gathering; gives what puts numbers of the file in place of the marks of a value."""
        pieces = dict(part.pieces) | dict(self._numbers(part, variation))
        places, new = self._places(pieces)
        keys = {key: len(self.nums) + index for index, key in enumerate(part.parents)}
        boxes = {index: self._box(part, page) for page, index in enumerate(part.pages, start=len(self.pages))}

        def numbered(value: bytes, box: bytes = b"") -> bytes:
            def number(match: re.Match[bytes]) -> bytes:
                kind, which = match[1], match[2]
                if kind == b"r":
                    return b"%d 0 R" % places[int(which)]
                if kind == b"k":
                    return b"%d" % keys[int(which)]
                return box if kind == b"b" else top if kind == b"d" else bytes(self.pdf.pages.reference)

            return MARK.sub(number, value)

        for index in new:
            self.pdf.add_object(self.raw(numbered(pieces[index].head, boxes.get(index, b"")), pieces[index].stream))
        self.nums += [self.raw(numbered(row)) for row in part.parents.values()]
        for index in part.pages:
            self._page(b"%d 0 R" % places[index])
        return numbered

    def _page(self, reference: bytes) -> None:
        self.pages.append(reference)
        self.pdf.pages["Kids"].append(reference)
        self.pdf.pages["Count"] += 1

    def _numbers(self, part: Gathering, variation: int) -> Iterator[tuple[int, Piece]]:
        """The pieces of a gathering that show numbers."""
        for page, blank, folio in part.folios:
            said = place(variation) if folio.said == PLACE else self.numbers[len(self.pages) + page]
            shown = folio.show(said)
            yield blank, Piece(head=b"<</Length %d>>" % len(shown), stream=shown)

    def _places(self, pieces: Mapping[int, Piece]) -> tuple[dict[int, int], list[int]]:
        """The number of each piece in the file, and which are not there yet."""
        free = len(self.pdf.objects)
        places: dict[int, int] = {}
        new: list[int] = []
        digests = _Digests(pieces)
        for index in pieces:
            alike = digests.of(index)
            known = self.known.get(alike) if alike else None
            if known is None:
                known = free + len(new)
                new.append(index)
                if alike:
                    self.known[alike] = known
            places[index] = known
        return places, new

    def _empty_page(self, part: Gathering) -> None:
        """A page like those of a gathering, with nothing on it."""
        nothing = self._dictionary({})
        same = {"Type": "/Page", "Parent": self.pdf.pages.reference, "Resources": nothing, "Tabs": "/S"}
        self._page(self._added({**same, "MediaBox": self._box(part, len(self.pages))}).reference)

    def _box(self, part: Gathering, page: int) -> bytes:
        """The box of a page: what is laid out for a right one stands further left where the window is further right."""
        (width, height), left = part.size, self.turned if page % 2 else 0
        return bytes(self._array([left, 0, left + width, height]).data)

    def _whole(self, part: Gathering, numbered: Callable[[bytes], bytes]) -> None:
        """What the document says of itself."""
        for key, value in part.catalog:
            said = numbered(value)
            if key == "EmbeddedFiles":
                self.pdf.catalog["Names"] = self._dictionary({key: said})
            else:
                self.pdf.catalog[key] = said
        self.pdf.info.update(part.info)

    def _parents(self) -> Any:
        nums = [item for pair in enumerate(self.nums) for item in pair]
        return self._added({"Nums": self._array(nums)})

    def _outline(self, marks: Sequence[tuple[int, Bookmark]]) -> None:
        """The outline: a bookmark stands under the last one of a lower level."""
        if not marks:
            return
        top = self._added({"Type": "/Outlines"})
        above: list[tuple[int, Any, list[Any]]] = [(0, top, [])]
        order = [above[0]]
        for page, mark in marks:
            while above[-1][0] >= mark.level:
                above.pop()
            goal = self._array([self.pages[page], "/XYZ", *mark.at, 0])
            parent = above[-1]
            entry = self._added({"Title": self.make.String(mark.title), "Dest": goal, "Parent": parent[1].reference})
            if parent[2]:
                entry["Prev"] = parent[2][-1].reference
                parent[2][-1]["Next"] = entry.reference
            parent[2].append(entry)
            above.append((mark.level, entry, []))
            order.append(above[-1])
        for _, entry, kids in reversed(order):
            if kids:
                entry |= {"First": kids[0].reference, "Last": kids[-1].reference}
            # all are open: the entries that show below each
            entry["Count"] = len(kids) + sum(kid["Count"] for kid in kids)
        self.pdf.catalog["Outlines"] = top.reference


def _entitled(marks: Iterable[Bookmark], variation: int) -> Iterator[Bookmark]:
    """Bookmarks, that of a variation with its number."""
    for mark in marks:
        titled = mark.title.startswith(PLACE)
        yield replace(mark, title=place(variation) + mark.title.removeprefix(PLACE)) if titled else mark


class _Digests:
    """What tells the streams of a gathering from others."""

    def __init__(self, pieces: Mapping[int, Piece]) -> None:
        self.pieces = pieces
        self.made: dict[int, bytes] = {}

    def of(self, number: int) -> bytes:
        """The digest of a stream and all it refers to; nothing for what is a piece of its own whatever it holds."""
        if number not in self.made:
            self.made[number] = b""
            # one that refers to itself in the end keeps none
            self.made[number] = self._made(self.pieces[number])
        return self.made[number]

    def _made(self, piece: Piece) -> bytes:
        if piece.stream is None:
            return b""
        said = [piece.stream, MARK.sub(b"", piece.head)]
        for kind, number in MARK.findall(piece.head):
            inner = self.of(int(number)) if kind == b"r" else b""
            if not inner:
                return b""
            said.append(inner)
        return hashlib.sha256(b"\n".join(said)).digest()


def _raw(make: Any) -> Any:
    class Raw(make.Object):  # type: ignore[misc]
        """An object whose bytes are there already."""

        def __init__(self, head: bytes, stream: bytes | None = None) -> None:
            super().__init__()
            self.head, self.body = head, stream

        @property
        def compressible(self) -> bool:
            return self.body is None

        @property
        def data(self) -> bytes:
            if self.body is None:
                return self.head
            return b"\n".join((self.head, b"stream", self.body, b"endstream"))

    return Raw
