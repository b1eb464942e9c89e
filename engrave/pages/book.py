"""A study book from its content."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any

from engrave.model.wording import sentence
from engrave.pages.attachments import packed
from engrave.pages.binding import bind
from engrave.pages.content import BookContent
from engrave.pages.cover import cover_values, title_values
from engrave.pages.coverage import coverage
from engrave.pages.gathering import Gathering
from engrave.pages.legend import legend
from engrave.pages.paper import paper_of, type_scale
from engrave.pages.picture import Gallery, Image
from engrave.pages.press import lay, render
from engrave.pages.typeset import Typesetter
from engrave.pages.views import SheetView, hang, sections, sheet_views
from engrave.pages.week import day_views
from engrave.workshop import PLAIN, Bench

SHEETS = 8
"""variations in a gathering: few enough that a change in one leaves most of a book alone, and that two cores share the
work of a small book; many enough that each gathering's fonts weigh little"""
_ROUNDS = 3
_OPENING = 2
"""pages that most books have before their index"""


def press(content: BookContent, *, bench: Bench = PLAIN) -> bytes:
    """The study book as a PDF; with a page for each day where the regimen is a week.

    What stands before the variations has Roman page numbers, so that the variations begin on page 1 whatever there is
    to say before them. Same content and SOURCE_DATE_EPOCH, same bytes. Raises PressError for a paper that is not
    stocked and for a title no font of the book can print.
    """
    book, files = _Book(content), None
    for _ in range(_ROUNDS):
        made = bench.each(lay_run, None, book.runs(), key=Run.key, stage="pages", count=book.lots + 3)
        # while others are at it
        files = files or packed(content.attachments)
        body = [*islice(made, book.early)]
        index = next(made)
        body += islice(made, book.lots - book.early)
        opening, *back = made
        if book.reckoned(body, opening):
            break
    return bind([opening, index], body, back, files=files)


class _Book:
    """The gatherings of a book, made one after another, and what has been found out about their pages.

    Some variations come first, and processes begin with them while the next are made. The index takes longer than any
    of them, in the end for one process alone: it comes as soon as these are under way. The opening comes after all
    others but what trains what, for it says what could not be printed on their pages.
    """

    def __init__(self, content: BookContent) -> None:
        self.content = content
        self.lots = -(-len(content.sheets) // SHEETS)
        self.early = (self.lots + 1) // 2
        """lots before the index"""
        # how many pages come before the index, and how many each variation takes; reckoned, until they are laid out
        self.before = _OPENING
        self.pages: dict[int, int] = {}
        self.setter = Typesetter()
        self.views: list[SheetView] = []
        self.unseen = sheet_views(content, self.setter)
        self.title = title_values(content, self.setter, otherwise="Study book")
        self.same = {key: self.title[key] for key in ("title", "running", "footline")}
        """what all pages say"""

    def runs(self) -> Iterator[Run]:
        """Half of the variations, the index, the other half, the opening, what trains what."""
        content, rules, gallery = self.content, Gallery(), Gallery()
        yield from map(self._lot, range(self.early))
        self._seen(len(content.sheets))
        firsts = {number: self._first(number) for number in range(1, len(content.sheets) + 1)}
        index = self.same | _index_values(content, tuple(self.views), self.setter, rules)
        said = index | {"at": firsts, "even": self.before % 2 == 1}
        # the index changes with the studies, the opening seldom does
        yield _run("index.html", said, content, rules.images)
        yield from map(self._lot, range(self.early, self.lots))
        said = cover_values(content, self.title, self.setter, gallery) | index | _front_values(content, self.setter)
        yield _run("front.html", said, content, gallery.images)
        if trained := coverage(content):
            said = self.same | _back_values(content, trained) | {"even": self._first(len(content.sheets) + 1) % 2 == 0}
            yield _run("back.html", said, content, {})

    def _lot(self, number: int) -> Run:
        """Some variations."""
        start, shown = number * SHEETS, Gallery()
        even = self._first(start + 1) % 2 == 0
        self._seen(start + SHEETS)
        sheets = tuple(hang(view, shown) for view in self.views[start : start + SHEETS])
        return _run("sheets.html", self.same | {"sheets": sheets, "even": even}, self.content, shown.images)

    def _first(self, number: int) -> int:
        """The first page of a variation, by its number."""
        self._seen(number - 1)
        return 1 + sum(map(self._takes, self.views[: number - 1]))

    def _takes(self, view: SheetView) -> int:
        """How many pages a variation takes, as far as is known."""
        return self.pages.get(view.number, len(view.pages))

    def _seen(self, count: int) -> None:
        """Have so many variations as their pages print them."""
        self.views += islice(self.unseen, max(0, count - len(self.views)))

    def reckoned(self, body: Sequence[Gathering], opening: Gathering) -> bool:
        """Whether there are as many pages as were reckoned; if not, it is known from now on, and what follows moves."""
        found = {number: count for part in body for number, count in _counted(part)}
        # the index begins on a page of the other side only where the opening takes a page more or less
        same = not paper_of(self.content.plan).double or (len(opening.pages) - self.before) % 2 == 0
        right = same and found == {view.number: self._takes(view) for view in self.views}
        self.before, self.pages = len(opening.pages), found
        return right


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """The pages of one gathering, ready to be laid out."""

    html: str
    style: str
    """its style sheet"""
    images: Mapping[str, Image]

    def key(self) -> str:
        """What tells it from others."""
        pictures = "".join(f"{name} {image.digest}\n" for name, image in self.images.items())
        return f"{self.html}\n{self.style}\n{pictures}"


def lay_run(_shared: None, run: Run) -> Gathering:
    """The pages of a run."""
    # the last page is not bound: it holds the letters that make all embed the same fonts, and the goals of the front
    return lay(run.html, run.style, run.images, drop=1)


def _run(template: str, values: Mapping[str, Any], content: BookContent, images: Mapping[str, Image]) -> Run:
    html, style = render(template, values, paper=paper_of(content.plan), scale=type_scale(content.plan))
    return Run(html=html, style=style, images=images)


def _back_values(content: BookContent, trained: Any) -> dict[str, Any]:
    """What trains what, after the variations."""
    return {"coverage": trained, "verdict": sentence(content.regimen.verdict)}


def _counted(part: Gathering) -> Iterator[tuple[int, int]]:
    """Number of each variation of a gathering, and how many pages it takes."""
    # what runs over several pages is a goal on each
    found: dict[int, int] = {}
    for goal in part.goals:
        number = int(goal.name.removeprefix("v"))
        found[number] = min(goal.page, found.get(number, goal.page))
    starts = sorted((page, number) for number, page in found.items())
    ends = [*(page for page, _ in starts), len(part.pages)][1:]
    # one that prints no variation has no goals
    return ((number, end - page) for (page, number), end in zip(starts, ends, strict=False))


def _index_values(
    content: BookContent, views: tuple[SheetView, ...], setter: Typesetter, gallery: Gallery
) -> dict[str, Any]:
    """What to play, in order."""
    return {
        "days": day_views(content, gallery, setter),
        "sections": sections(views),
        "sheets": views,
        "minutes": any(view.minutes for view in views),
    }


def _front_values(content: BookContent, setter: Typesetter) -> dict[str, Any]:
    """What stands before the index, but for the title page."""
    plan, sheets = content.plan, content.sheets
    variations = [content.line, *(sheet.variation for sheet in sheets)]
    values: dict[str, Any] = {
        "even": False,  # its first page is a right one
        "legend": legend(variations, [content.line_plate, *(sheet.plate for sheet in sheets)], plan.marks),
        "house": any(sheet.step.house for sheet in sheets),
        "declined": tuple(
            (d.axis, setter.text(d.setting, "a setting"), setter.text(d.reason, "a reason"), d.place)
            for d in content.declined
        ),
    }
    values["notices"] = _notices(content, setter)
    return values


def _notices(content: BookContent, setter: Typesetter) -> tuple[str, ...]:
    """What was left out or changed on the way; last what this room itself had to drop."""
    said = setter.notices((*content.passage.notices, *content.line.notices, *content.regimen.notices))
    return tuple(dict.fromkeys((*said, *setter.notes)))
