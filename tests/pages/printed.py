"""Reading a printed book back: outline, links, tags, and where its ink lies. Uses pypdf alone."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from html import unescape
from io import BytesIO
from typing import Any
from unittest.mock import patch

from pypdf import PageObject, PdfReader
from pypdf.generic import ArrayObject, ContentStream, DictionaryObject

from engrave.pages.printing import Printer

MM = 25.4 / 72
Matrix = tuple[float, float, float, float, float, float]


def described(press: Callable[..., bytes], *content: Any, **options: Any) -> str:
    """The text of a page description, as it is handed over to be set."""
    seen: list[str] = []

    def keep(_: Printer, page: str, *_args: object, **_options: object) -> bytes:
        seen.append(page)
        return b""

    with patch.object(Printer, "pdf", keep):
        press(*content, **options)
    (page,) = seen
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", page.partition("<body>")[2])).split())


def reader(pdf: bytes) -> PdfReader:
    """A reader that complains about anything odd."""
    return PdfReader(BytesIO(pdf), strict=True)


@lru_cache(maxsize=4)
def texts(pdf: bytes) -> list[str]:
    """The text of each page on one line, ligatures and spaces evened out."""
    return [" ".join(page.extract_text().split()) for page in reader(pdf).pages]


@lru_cache(maxsize=4)
def outline(pdf: bytes) -> list[tuple[int, str, int]]:
    """Bookmarks as (level from 1, title, page from 1)."""
    source = reader(pdf)

    def walk(items: list[Any], level: int) -> Iterator[tuple[int, str, int]]:
        for item in items:
            if isinstance(item, list):
                yield from walk(item, level + 1)
            else:
                page = source.get_destination_page_number(item)
                assert page is not None
                yield level, str(item.title).replace("\u2003", " "), page + 1

    return list(walk(source.outline, 1))


def links(pdf: bytes) -> list[tuple[int, str, int]]:
    """Links inside the book as (page they stand on, name of their target, page of their target), pages from 1."""
    source = reader(pdf)
    named = source.named_destinations
    found = []
    for number, page in enumerate(source.pages, start=1):
        for annotation in page.get("/Annots", []):
            row = annotation.get_object()
            target = str(row.get("/Dest") or row["/A"]["/D"])
            where = source.get_destination_page_number(named[target])
            assert where is not None
            found.append((number, target, where + 1))
    return found


@dataclass(frozen=True)
class Tag:
    """One element of the structure tree."""

    kind: str
    alt: str
    depth: int


@lru_cache(maxsize=4)
def tags(pdf: bytes) -> list[Tag]:
    """The structure tree in reading order."""
    root: Any = reader(pdf).root_object["/StructTreeRoot"]

    def walk(node: Any, depth: int) -> Iterator[Tag]:
        node = node.get_object()
        if isinstance(node, ArrayObject):
            for kid in node:
                yield from walk(kid, depth)
        elif isinstance(node, DictionaryObject):
            if "/S" in node:
                yield Tag(str(node["/S"]), str(node.get("/Alt", "")), depth)
            if "/K" in node:
                yield from walk(node["/K"], depth + 1)

    return list(walk(root["/K"], 0))


def frames(source: PdfReader) -> Iterator[tuple[int, tuple[float, float, float, float]]]:
    """Page from 0 and frame (left, low, right, high) in mm of every Figure in the structure tree."""

    def walk(node: Any) -> Iterator[Any]:
        node = node.get_object()
        if isinstance(node, ArrayObject):
            for kid in node:
                yield from walk(kid)
        elif isinstance(node, DictionaryObject):
            yield node
            if "/K" in node:
                yield from walk(node["/K"])

    root: Any = source.root_object["/StructTreeRoot"]
    for node in walk(root["/K"]):
        if node.get("/S") == "/Figure":
            number = source.get_page_number(node["/Pg"].get_object())
            assert number is not None
            left, low, right, high = (float(v) * MM for v in node["/A"]["/BBox"])
            yield number, (left, low, right, high)


def ink(page: PageObject) -> Iterator[tuple[float, float]]:
    """Points of all paths and shapes of a page in mm from its lower left corner, control points included."""
    for operands, operator, matrix in _placed(page):
        if operator == b"Do":
            left, low, right, high = (float(v) for v in operands[0]["/BBox"])
            yield from (_at(matrix, x, y) for x in (left, right) for y in (low, high))
        elif operator == b"re":
            x, y, width, height = map(float, operands)
            yield from (_at(matrix, x + dx, y + dy) for dx in (0, width) for dy in (0, height))
        elif operator in (b"m", b"l", b"c"):
            values = list(map(float, operands))
            yield from (_at(matrix, x, y) for x, y in zip(values[::2], values[1::2], strict=True))


def rules(page: PageObject) -> list[tuple[float, float, float]]:
    """Level lines of a page as (height above the foot, left, right) in mm."""
    found, start = [], (0.0, 0.0)
    for operands, operator, matrix in _placed(page):
        if operator == b"m":
            start = _at(matrix, float(operands[0]), float(operands[1]))
        elif operator == b"l":
            end = _at(matrix, float(operands[0]), float(operands[1]))
            if abs(end[1] - start[1]) < 1e-3:
                found.append((end[1], min(start[0], end[0]), max(start[0], end[0])))
    return found


def _placed(page: PageObject) -> Iterator[tuple[Any, bytes, Matrix]]:
    """Operators with the matrix in force, in points from the corner of the page; a form is told as itself.

    A form that paints others is followed into.
    """
    content = page.get_contents()
    if content is None:
        # an empty page
        return
    left, low = float(page.mediabox.left), float(page.mediabox.bottom)
    yield from _followed(content, page["/Resources"], page.pdf, (1, 0, 0, 1, -left, -low))


def _followed(content: Any, resources: Any, pdf: Any, matrix: Matrix) -> Iterator[tuple[Any, bytes, Matrix]]:
    stack: list[Matrix] = []
    for operands, operator in ContentStream(content, pdf).operations:
        if operator == b"q":
            stack.append(matrix)
        elif operator == b"Q":
            matrix = stack.pop()
        elif operator == b"cm":
            matrix = _times(tuple(map(float, operands)), matrix)
        elif operator == b"Do":
            form = resources["/XObject"][operands[0]]
            if "/Resources" in form:
                yield from _followed(form, form["/Resources"], pdf, matrix)
            else:
                yield [form], operator, matrix
            continue
        yield operands, operator, matrix


def _times(m: Any, n: Matrix) -> Matrix:
    a, b, c, d, e, f = m
    return (
        a * n[0] + b * n[2],
        a * n[1] + b * n[3],
        c * n[0] + d * n[2],
        c * n[1] + d * n[3],
        e * n[0] + f * n[2] + n[4],
        e * n[1] + f * n[3] + n[5],
    )


def _at(m: Matrix, x: float, y: float) -> tuple[float, float]:
    return (m[0] * x + m[2] * y + m[4]) * MM, (m[1] * x + m[3] * y + m[5]) * MM
