"""A study book from its content."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, islice
from typing import Any

from engrave.model.wording import sentence
from engrave.pages.attachments import packed
from engrave.pages.binding import bind
from engrave.pages.content import BookContent
from engrave.pages.cover import cover_values, title_values
from engrave.pages.coverage import coverage
from engrave.pages.fonts import LETTERS, characters
from engrave.pages.gathering import Gathering
from engrave.pages.legend import legend
from engrave.pages.paper import paper_of, type_scale
from engrave.pages.picture import Gallery, Image
from engrave.pages.press import Frame, frame, lay, lay_each, render, section
from engrave.pages.typeset import Typesetter
from engrave.pages.views import SheetView, hang, sections, sheet_views
from engrave.pages.week import week_views
from engrave.pages.words import SITTING, places_text, runs, tempo_brief
from engrave.workshop import PLAIN, Bench

LOT = 8
"""variations that are laid out together: what a lot takes by itself is as much as one of them takes; of more, fewer
processes share the work of a small book, and the boxes of more pages are in memory at a time"""
_ROUNDS = 3


def press(content: BookContent, *, bench: Bench = PLAIN) -> bytes:
    """The study book as a PDF; with a page for each day where the regimen is a week.

    What stands before the variations has Roman page numbers, so that the variations begin on page 1 whatever there is
    to say before them. Same content and SOURCE_DATE_EPOCH, same bytes. Raises PressError for a paper that is not
    stocked and for a title no font of the book can print.
    """
    book, files = _Book(content), None
    for _ in range(_ROUNDS):
        # half of the variations come first: processes begin with them while the others are made. The index takes
        # longer than any lot, in the end for one process alone, and comes as soon as these are under way. The opening
        # says what could not be printed on all other pages
        early = book.laid(bench, 0, book.count // 2)
        index = bench.each(lay_run, None, book.index(), key=Run.key, who="others")
        late = book.laid(bench, book.count // 2, book.count)
        others = bench.each(lay_run, None, book.others(), key=Run.key, who="others")
        # while others are at it
        files = files or packed(content.attachments)
        body = [*early]
        (list_of_all,) = index
        body += late
        opening, *back = others
        if book.reckoned(body):
            break
    return bind([opening, list_of_all], body, back, files=files, turned=book.paper.turned)


class _Book:
    """The pages of a book before they are laid out, and what has been found out about how many there are."""

    def __init__(self, content: BookContent) -> None:
        self.content = content
        self.count = len(content.sheets)
        self.pages: dict[int, int] = {}
        """how many each variation takes; reckoned, until they are laid out"""
        self.setter = Typesetter()
        self.views: list[SheetView] = []
        self.unseen = sheet_views(content, self.setter)
        self.title = title_values(content, self.setter, otherwise="Study book")
        self.same = {key: self.title[key] for key in ("title", "running", "footline")}
        """what all pages say"""
        self.paper, self.scale = paper_of(content.plan), type_scale(content.plan)
        self.frame = frame(self.same, _unusual(content, self.title), paper=self.paper, scale=self.scale)

    def laid(self, bench: Bench, start: int, after: int) -> Iterator[Gathering]:
        """The pages of each of some variations."""
        sections = map(self._section, range(start, after))
        return bench.together(
            lay_sections,
            self.frame,
            sections,
            most=LOT,
            key=Section.key,
            stage="pages",
            count=self.count,
            after=start,
        )

    def _section(self, index: int) -> Section:
        shown = Gallery()
        view, pages, foot = hang(self._seen(index + 1)[index], shown)
        html = section(self.same | {"sheet": view, "pages": pages, "foot": foot})
        return Section(html=html, images=shown.images)

    def index(self) -> Iterator[Run]:
        """What to play, in order, when all variations are known."""
        views = self._seen(self.count)
        firsts = accumulate(map(self._takes, views), initial=1)
        said = self.same | {
            "weeks": week_views(self.content, self.setter),
            "close": self._close(views),
            "sitting": SITTING,
            "sections": sections(tuple(views)),
            "sheets": views,
            "minutes": any(view.minutes for view in views),
            "at": {view.number: first for view, first in zip(views, firsts, strict=False)},
        }
        # it changes with the studies, the opening seldom does
        yield self._run("index.html", said, {})

    def _close(self, views: list[SheetView]) -> dict[str, Any] | None:
        """How the book ends: a variation that comes again."""
        visit, steps = self.content.regimen.close, self.content.regimen.steps
        if visit is None:
            return None
        view = views[visit.step]
        return {
            "number": view.number,
            "title": view.title,
            "reason": visit.reason,
            "times": visit.times,
            "tempo": tempo_brief(steps[visit.step].beat, visit.tempo),
            "minutes": str(max(1, round(visit.minutes))),
        }

    def others(self) -> Iterator[Run]:
        """The opening, and what trains what."""
        content, views, gallery = self.content, self._seen(self.count), Gallery()
        said = cover_values(content, self.title, self.setter, gallery) | _front_values(content, self.setter)
        said |= {"days": content.regimen.days, "sections": sections(tuple(views)), "sheets": views}
        yield self._run("front.html", said, gallery.images)
        if trained := coverage(content):
            yield self._run("back.html", self.same | _back_values(content, trained), {})

    def _run(self, template: str, values: Mapping[str, Any], images: Mapping[str, Image]) -> Run:
        html, style = render(template, values, paper=self.paper, scale=self.scale)
        return Run(html=html, style=style, images=images)

    def _takes(self, view: SheetView) -> int:
        """How many pages a variation takes, as far as is known."""
        return self.pages.get(view.number, len(view.pages))

    def _seen(self, count: int) -> list[SheetView]:
        """So many variations as their pages print them."""
        self.views += islice(self.unseen, max(0, count - len(self.views)))
        return self.views[:count]

    def reckoned(self, body: Sequence[Gathering]) -> bool:
        """Whether there are as many pages as were reckoned; if not, it is known from now on, and what follows moves."""
        found = {number: len(part.pages) for number, part in enumerate(body, start=1)}
        right = found == {view.number: self._takes(view) for view in self.views}
        self.pages = found
        return right


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """The pages of one gathering, ready to be laid out."""

    html: str
    style: str
    """its style sheet"""
    images: Mapping[str, Image]
    """by addresses that say what they look like"""

    def key(self) -> str:
        """What tells it from others."""
        return f"{self.html}\n{self.style}"


def lay_run(_shared: None, run: Run) -> Gathering:
    """The pages of a run."""
    # the last page is not bound: it holds the letters that make all embed the same fonts, and the goals of the front
    return lay(run.html, run.style, run.images, drop=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """The pages of one variation, ready to be laid out in a frame."""

    html: str
    images: Mapping[str, Image]
    """by addresses that say what they look like"""

    def key(self) -> str:
        """What tells it from others in the same frame."""
        return self.html


def lay_sections(held: Frame, sections: list[Section]) -> list[Gathering]:
    """The pages of each of some variations."""
    images = {address: image for one in sections for address, image in one.images.items()}
    return lay_each(held, [one.html for one in sections], images)


def _unusual(content: BookContent, title: Mapping[str, Any]) -> str:
    """Letters of what is said on the pages of variations that most books do without."""
    said = [title["title"], title["footline"]]
    for sheet in content.sheets:
        variation, step = sheet.variation, sheet.step
        said += [step.section, step.reason, variation.title, variation.purpose, variation.cue]
        said += [str(notice) for notice in variation.notices]
    return "".join(sorted(({*"".join(said)} & characters()) - {*LETTERS}))


def _back_values(content: BookContent, trained: Any) -> dict[str, Any]:
    """What trains what, after the variations."""
    rows = [
        {
            "place": trouble.place,
            "reason": trouble.reason,
            "hard": places_text(tuple(step + 1 for step in trouble.steps), len(content.sheets)),
            "treated": runs(sorted(step + 1 for step in trouble.treated)) or "–",
        }
        for trouble in content.regimen.troubles
    ]
    return {"coverage": trained, "verdict": sentence(content.regimen.verdict), "troubles": rows}


def _front_values(content: BookContent, setter: Typesetter) -> dict[str, Any]:
    """What stands before the index, but for the title page."""
    plan, sheets = content.plan, content.sheets
    variations = [content.line, *(sheet.variation for sheet in sheets)]
    return {
        "legend": legend(variations, [content.line_plate, *(sheet.plate for sheet in sheets)], plan.marks),
        "house": any(sheet.step.house for sheet in sheets),
        "notices": _notices(content, setter),
    }


def _notices(content: BookContent, setter: Typesetter) -> tuple[str, ...]:
    """What was left out or changed on the way; last what this room itself had to drop."""
    said = setter.notices((*content.passage.notices, *content.line.notices, *content.regimen.notices))
    return tuple(dict.fromkeys((*said, *setter.notes)))
