"""Other forms of the line: a week, a handout, a reissue for another passage, and files for other programs."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from itertools import chain, count
from math import ceil
from typing import Any, NamedTuple

from engrave.exchange import to_midi, to_musicxml, to_mxl
from engrave.line import (
    ORIGIN,
    PASSAGE,
    PLAN,
    STUDIES,
    Plates,
    drawn,
    drawn_as,
    hands_of,
    line_drawn,
    line_of,
    press,
)
from engrave.model import (
    FORMATS,
    FORMS,
    PICTURES,
    EngraveError,
    Fault,
    Passage,
    Place,
    Plan,
    PlanError,
    ReadError,
    Regimen,
    Variation,
)
from engrave.model.errors import one_line
from engrave.pages import (
    HANDOUT_STAFF,
    HANDOUT_STAVES,
    BookContent,
    HandoutHeights,
    handout_heights,
    impression,
    music_picture,
    press_class,
    press_handout,
    read_attachments,
)
from engrave.pages.paper import paper_of
from engrave.plates import svg
from engrave.reading import read
from engrave.reading.limits import LIMITS, Limits
from engrave.regimen import Log, Room, choose, handout, read_plan, reissue, summary, week
from engrave.regimen.handout_minutes import in_minutes
from engrave.regimen.handout_room import pages_needed

__all__ = [
    "Opened",
    "make_class",
    "make_handout",
    "make_reissue",
    "make_week",
    "opened",
    "pictured",
    "written",
]

FEW_STUDIES = 3
"""studies of a page, the line among them, below which a handout is set closer (house figure)"""
_WORDS = 85.0
"""mm that a page of a variation gives to words, ladder and log"""


def make_week(
    passage: Passage,
    plan: Plan,
    *,
    start: date | None = None,
    log: Log | None = None,
    weeks: int = 1,
    line: Variation | None = None,
    plates: Plates | None = None,
) -> BookContent:
    """So many weeks of practice and the variations they need, once each.

    `line` and `plates` as in `drawn`, where they are known already. Raises EngraveError.
    """
    line = line or line_of(passage, plan)
    made = week(line, plan, start=start, log=log, weeks=weeks, sheets=sheets_for(line, plan))
    return drawn(passage, line, made, plan, form="week", plates=plates)


def sheets_for(line: Variation, plan: Plan) -> int:
    """How many pages of music a study of this line takes, as a rule."""
    _, plate = line_drawn(line, plan)
    return max(1, ceil(plate.height / (paper_of(plan).room[1] - _WORDS)))


def make_handout(passage: Passage, plan: Plan, *, pages: int) -> tuple[BookContent, bytes]:
    """The studies that fit so many pages, several to a page, and the PDF of them.

    Studies that a plan insists on and that do not fit on the smallest staff either are left out with a notice. Raises
    PlanError where not one fits beside the line, saying how many pages they need.
    """
    line = line_of(passage, plan)
    return _handout(passage, line, choose(line, plan), plan, pages=pages)


def _handout(
    passage: Passage, line: Variation, regimen: Regimen, plan: Plan, *, pages: int, plates: Plates | None = None
) -> tuple[BookContent, bytes]:
    """As many studies as can be had, with the most air and on the largest staff that hold them."""
    known: Plates = {} if plates is None else plates
    staves: tuple[float, ...] = HANDOUT_STAVES if plan.staff == Plan().staff else (plan.staff,)
    if not plan.studies:
        # of many studies those are taken that fit a clear staff
        staves = tuple(staff for staff in staves if staff >= HANDOUT_STAFF) or staves
    enough = len(regimen.steps) if plan.studies else FEW_STUDIES * pages
    *larger, smallest = staves
    small = replace(plan, staff=smallest)
    content = drawn(passage, line, regimen, small, form="handout", inside=False, plates=known)
    found: list[tuple[int, bool, Regimen]] = []
    for tight in (False, True):
        try:
            chosen = _fitting(content, pages=pages, tight=tight)
        except PlanError:
            if not tight or found:
                continue
            # the music can be no smaller, its lines no closer: fewer studies
            chosen = _fitting(content, pages=pages, tight=True, insist=False)
        found.append((len(chosen.steps), not tight, chosen))
        if len(chosen.steps) >= enough:
            break
    most, roomy, chosen = max(found, key=lambda one: one[:2])
    less = in_minutes(chosen, plan, more=False)
    fuller = in_minutes(less, plan)
    # more boxes may need a line more than was measured
    with_more = drawn(passage, line, fuller, small, form="handout", inside=False, plates=known)
    chosen = less if fuller is less else _held(with_more, pages=pages, tight=not roomy, studies=most) or less
    at, kept = small, chosen
    for staff in reversed(larger):
        wide = replace(plan, staff=staff)
        measured = drawn(passage, line, chosen, wide, form="handout", inside=False, plates=known)
        # on a larger staff they may go together in another order
        held = _held(measured, pages=pages, tight=not roomy, studies=most)
        if held is None:
            break
        at, kept = wide, held
    content = drawn(passage, line, kept, at, form="handout", plates=known)
    return content, press_handout(content, pages=pages, tight=not roomy)


def _stands(content: BookContent, *, pages: int, tight: bool) -> bool:
    """Whether all studies of a content fit so many pages as they are."""
    high, line = handout_heights(content, tight=tight), not content.regimen.steps[0].study.asked
    try:
        return pages_needed(high.studies, _room(high, high.end), line=line) <= pages
    except ValueError:
        return False


def _fitting(content: BookContent, *, pages: int, tight: bool, insist: bool = True) -> Regimen:
    """What of a content fits so many pages of a handout. Raises PlanError as `handout` does."""
    high = handout_heights(content, tight=tight)
    chosen = _dealt(content, high, pages=pages, end=high.end, insist=insist)
    if len(chosen.steps) == len(content.sheets):
        return chosen
    # the signs of what is left out need no room: with those of what is in, there may be some for one study more
    end = handout_heights(_only(content, chosen), tight=tight).end
    try:
        more = _dealt(content, high, pages=pages, end=end, insist=insist)
    except PlanError:
        return chosen
    fuller = len(more.steps) > len(chosen.steps) and _stands(_only(content, more), pages=pages, tight=tight)
    return more if fuller else chosen


def _dealt(content: BookContent, high: HandoutHeights, *, pages: int, end: float, insist: bool) -> Regimen:
    return handout(content.regimen, content.plan, high.studies, _room(high, end), pages=pages, insist=insist).regimen


def _room(high: HandoutHeights, end: float) -> Room:
    return Room(page=high.room, top=high.top, end=end)


def _only(content: BookContent, chosen: Regimen) -> BookContent:
    """A content with the sheets of a choice among its steps alone."""
    of = {id(sheet.step): sheet for sheet in content.sheets}
    sheets = tuple(replace(of[id(step)], number=number) for number, step in enumerate(chosen.steps, start=1))
    return replace(content, regimen=chosen, sheets=sheets)


def _held(content: BookContent, *, pages: int, tight: bool, studies: int) -> Regimen | None:
    """All of a content as so many pages hold it, in their order; None where they do not hold as many studies."""
    try:
        found = _fitting(content, pages=pages, tight=tight)
    except PlanError:
        return None
    return found if len(found.steps) == studies else None


def make_class(
    passage: Passage,
    plans: Sequence[tuple[str, Plan]],
    *,
    form: str,
    pages: int = 2,
    start: date | None = None,
    weeks: int = 1,
) -> tuple[dict[str, bytes], bytes]:
    """A handout or a week of one passage for each of a class, by a name fit for a file, and the teacher's summary.

    `plans` are (name, plan). Raises EngraveError, naming whose sheet cannot be made.
    """
    sheets: dict[str, bytes] = {}
    made: list[tuple[Plan, Regimen]] = []
    # what the plans have in common is worked out once: the line with its variations, and plates of one study
    lines: dict[tuple[object, ...], Variation] = {}
    plates: Plates = {}
    for who, plan in plans:
        try:
            hands = hands_of(passage, plan)
            line = lines[hands] = lines.get(hands) or line_of(passage, plan)
            if form == "handout":
                content, pdf = _handout(passage, line, choose(line, plan), plan, pages=pages, plates=plates)
            else:
                content = make_week(passage, plan, start=start, weeks=weeks, line=line, plates=plates)
                pdf = press(content)
        except EngraveError as error:
            raise PlanError(*(replace(fault, fact=f"{who}: {fault.fact}") for fault in error.faults)) from None
        sheets[_free(_slug(who), sheets)] = pdf
        made.append((plan, content.regimen))
    return sheets, press_class(summary(made), content, form=form)


def _free(slug: str, taken: Mapping[str, object]) -> str:
    """`slug`, with a number behind it where another has it already."""
    names = chain((slug,), (f"{slug}-{number}" for number in count(2)))
    return next(name for name in names if name not in taken)


class Opened(NamedTuple):
    """What a book carries."""

    passage: Passage
    plan: Plan
    chosen: Plan
    """the plan with the studies that were chosen"""
    form: str
    """what was printed: one of FORMS"""


def opened(pdf: bytes, name: str, limits: Limits = LIMITS) -> Opened:
    """What the PDF of a book, handout or week carries.

    Raises ReadError for a PDF that is not a book of ours, PlanError for a plan in it that cannot be read.
    """
    inside = read_attachments(pdf, name, limits, {PASSAGE, PLAN, STUDIES, ORIGIN})
    missing = [want for want in (PASSAGE, PLAN, STUDIES) if want not in inside]
    if missing:
        raise ReadError(
            Fault(
                place=Place(file=name),
                fact=f"the PDF carries no {' and no '.join(missing)}",
                hint="give a book this program printed",
            )
        )
    written = read(inside[PASSAGE], PASSAGE, limits=limits)
    passage, form = _as_it_was(written, inside.get(ORIGIN, b""))
    return Opened(passage, _plan(inside, PLAN, name), _plan(inside, STUDIES, name), form)


def _as_it_was(passage: Passage, origin: bytes) -> tuple[Passage, str]:
    """`passage` with the names of the file, part and bars it came from, and the form; without, where none is read."""
    try:
        said = json.loads(origin)
        names: dict[str, Any] = {key: one_line(str(said[key])) for key in ("source", "part", "cut")}
        form = str(said.get("form"))
    except (ValueError, KeyError, TypeError, RecursionError):
        return passage, FORMS[0]
    return replace(passage, **names), form if form in FORMS else FORMS[0]


def _plan(inside: Mapping[str, bytes], which: str, name: str) -> Plan:
    return read_plan(inside[which].decode("utf-8", errors="replace"), f"{name}: {which}")


def make_reissue(
    old: Opened,
    passage: Passage,
    plan: Plan,
    *,
    form: str = "",
    pages: int = 2,
    start: date | None = None,
) -> tuple[BookContent, bytes]:
    """The regimen of an old book for a new passage, as one of FORMS, or as what the old one was; content and PDF.

    What no longer applies and what took its place stands in the notices. Raises EngraveError.
    """
    line, form = line_of(passage, plan), form or old.form
    regimen = reissue(choose(line_of(old.passage, old.chosen), old.chosen), line, plan)
    if form == "handout":
        return _handout(passage, line, regimen, plan, pages=pages)
    if form == "week":
        made = week(line, replace(plan, studies=tuple(step.study for step in regimen.steps)), start=start)
        regimen = replace(made, notices=regimen.notices + made.notices)
    content = drawn(passage, line, regimen, plan, form=form)
    return content, press(content)


def written(
    passage: Passage,
    plan: Plan,
    *,
    form: str,
    count_in: int = 0,
    click: bool = False,
    channels: bool = False,
    tempo: tuple[int, ...] = (),
) -> dict[str, bytes]:
    """File name → content: one file for each variation, in practice order, and before them one with all of them.

    `form` is one of FORMATS. Where the plan asks for tablature, a file of it stands beside each file of notes. In MIDI
    each variation is played at each of the steps its page prints, or at those of `tempo`; in the file of all, once, at
    the first. Raises EngraveError.
    """
    if form not in FORMATS:
        raise PlanError(Fault(fact=f"format {form!r} is not known", hint=f"known: {', '.join(FORMATS)}"))
    line = line_of(passage, plan)
    regimen = choose(line, plan)
    little = plan.marks.little

    def one(music: list[Variation], ladders: list[tuple[int, ...]], *, tab: bool) -> bytes:
        if form == "midi":
            return to_midi(music, ladders=ladders, count_in=count_in, click=click, channels=channels)
        document = to_musicxml(music[0] if len(music) == 1 else music, tab=tab, little=little)
        return to_mxl(document) if form == "mxl" else document

    everything = [step.variation for step in regimen.steps]
    ladders = [tempo or step.tempo for step in regimen.steps]
    sets = [(everything, [steps[:1] for steps in ladders])]
    sets += [([variation], [steps]) for variation, steps in zip(everything, ladders, strict=True)]
    names = _file_names(["all", *(variation.title for variation in everything)])
    ending = "mid" if form == "midi" else form
    # no file shows a note twice, on a staff and in tablature: other programs would count and play it twice
    kinds = (("", False), ("-tab", True)) if plan.tab and form != "midi" else (("", False),)
    return {
        f"{name}{kind}.{ending}": one(*music, tab=tab)
        for name, music in zip(names, sets, strict=True)
        for kind, tab in kinds
    }


def pictured(passage: Passage, plan: Plan, *, form: str) -> dict[str, bytes]:
    """File name → picture: the music of each variation alone, in practice order, as it stands on its page.

    `form` is one of PICTURES: `svg` in mm, `png` at 150 dots to an inch. Raises EngraveError.
    """
    if form not in PICTURES:
        raise PlanError(Fault(fact=f"picture {form!r} is not known", hint=f"known: {', '.join(PICTURES)}"))
    line = line_of(passage, plan)
    look, _ = line_drawn(line, plan)
    made = [step.variation for step in choose(line, plan).steps]
    plates = [drawn_as(look, variation) for variation in made]
    _, *names = _file_names(["all", *(variation.title for variation in made)])
    data = [svg(plate).encode() if form == "svg" else music_picture(impression(plate)) for plate in plates]
    return {f"{name}.{form}": picture for name, picture in zip(names, data, strict=True)}


def _file_names(titles: Sequence[str]) -> list[str]:
    """A name for each file, without its ending, in practice order, numbered from 0 so that names sort as they stand."""
    width = max(2, len(str(len(titles) - 1)))
    return [f"{number:0{width}d}-{_slug(title)}" for number, title in enumerate(titles)]


def _slug(title: str) -> str:
    """A title as part of a file name: letters, digits and hyphens."""
    circled = {chr(0x245F + n): str(n) for n in range(1, 11)}
    plain = "".join(circled.get(sign, sign) for sign in title.lower())
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or "variation"
