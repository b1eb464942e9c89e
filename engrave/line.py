"""The line: passage in, study book out. Each step is a pure function of the values before it.

    passage = read(data, name)                   # what is written
    line    = line_of(passage, plan)             # where both hands go
    regimen = choose(line, plan)                 # which ways of practising it, in which order, each one varied
    content = drawn(passage, line, regimen, plan)    # every page's music engraved
    pdf     = press(content)                     # the study book

`make` is the three in the middle. `week`, `handout` and `reissue` in engrave.editions are the same line with another
choice in the middle.
"""

from __future__ import annotations

import json
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

from engrave import resources
from engrave.exchange import to_musicxml
from engrave.fretting import Taste
from engrave.instruments import find_hand, find_instrument, tuned
from engrave.model import (
    FINGERINGS,
    Fault,
    Instrument,
    Marks,
    Notice,
    Passage,
    Plan,
    PlanError,
    Plate,
    Regimen,
    Step,
    Variation,
)
from engrave.model.said import Said, say
from engrave.pages import (
    LADDER,
    MOST_SYSTEMS,
    Attachment,
    BookContent,
    Impression,
    Sheet,
    fits_page,
    impression,
    ladder_room,
    music_width,
    pages_for,
    press,
    staves_for,
)
from engrave.pages.paper import paper_of
from engrave.plates import draw, lines
from engrave.regimen import as_plan, choose, dump_plan
from engrave.regimen.loops import loop_of
from engrave.telling import along
from engrave.textures import textured

if TYPE_CHECKING:
    from engrave.fretting.surveyed import Survey

__all__ = [
    "Look",
    "Plates",
    "built_in",
    "drawn",
    "drawn_as",
    "hands_of",
    "instrument_for",
    "line_drawn",
    "line_of",
    "make",
    "press",
    "surveyed",
]

PLAN, STUDIES, PASSAGE, VARIATIONS = "plan.toml", "studies.toml", "passage.musicxml", "variations.musicxml"
ORIGIN = "origin.json"
"""what every book carries inside: the plan as given, the same with the studies that were chosen, the music, and where
it was cut from"""


def built_in() -> tuple[bytes, str]:
    """The built-in passage, as (data, name) for `reading.read`."""
    return resources.text("shared/passage.tab").encode(), "passage.tab"


def instrument_for(passage: Passage, plan: Plan) -> Instrument:
    """The plan's instrument, else the one the passage is tuned for, else the standard guitar. Raises PlanError."""
    if plan.instrument:
        found = find_instrument(plan.instrument)
    elif passage.tuning:
        found = tuned(passage.tuning)
    else:
        found = find_instrument("standard")
    capo = passage.capo if plan.capo is None else plan.capo
    if not 0 <= capo < found.frets:
        fact = f"capo at fret {capo}, but {found.label} has frets 1 to {found.frets}"
        raise PlanError(Fault(fact=fact, hint="give a lower fret, or 0 for no capo"))
    return replace(found, capo=capo, scale=plan.scale or found.scale)


def line_of(passage: Passage, plan: Plan) -> Variation:
    """The passage with both hands where the plan's instrument and hand put them. Raises EngraveError."""
    from engrave.fretting.fingered import fret  # noqa: PLC0415 (the search is loaded where there is something to search)

    line = fret(passage, instrument_for(passage, plan), find_hand(plan.hand), taste=_taste(plan))
    if at := FINGERINGS.index(plan.fingering):
        others = surveyed(passage, plan).fingerings
        notices = line.notices
        if at >= len(others):
            notices = (*notices, Notice(text=_too_few(at, len(others))))
        line = replace(others[min(at, len(others) - 1)].variation, notices=notices)
    return textured(replace(line, habits=plan.habits), plan.textures)


def hands_of(passage: Passage, plan: Plan) -> tuple[Hashable, ...]:
    """All of a plan that `line_of` asks: plans alike in it have the same line. Raises PlanError."""
    hand = plan.hand, _taste(plan), plan.fingering
    return instrument_for(passage, plan), *hand, plan.habits, plan.textures


def _too_few(at: int, found: int) -> Said:
    """Tells that a plan asks for the fingering at a place of FINGERINGS, where fewer differ."""
    if found > 1:
        return say("the plan asks for the third best fingering; only 2 differ: the last of them is used")
    if at > 1:
        return say("the plan asks for the third best fingering; no other than the best differs enough: that is used")
    return say("the plan asks for the second best fingering; no other than the best differs enough: that is used")


def _taste(plan: Plan) -> Taste:
    return Taste(neck=plan.player.neck, open=plan.player.open, shifts=plan.player.shifts)


def surveyed(passage: Passage, plan: Plan) -> Survey:
    """What the passage asks of the plan's hand on its instrument: the best fingerings compared. Raises EngraveError."""
    from engrave.fretting.surveyed import survey  # noqa: PLC0415 (as above)

    return survey(passage, instrument_for(passage, plan), find_hand(plan.hand), tempo=passage.tempo, taste=_taste(plan))


def make(passage: Passage, plan: Plan) -> BookContent:
    """Everything a study book holds, engraved but not yet laid out. Raises EngraveError."""
    line = line_of(passage, plan)
    return drawn(passage, line, choose(line, plan), plan)


LOOP_WIDTH, LOOP_SIZE = 80.0, 0.85
"""mm of the small plate of a hard spot, and its staff beside that of the page"""
LOOP_NOTES, LOOP_LETTERS = 8, 60
"""onsets, and letters of a word over them, for which that is wide enough"""


def _loop(look: Look, variation: Variation, step: Step) -> Impression | None:
    """The loop of a page's hardest spot, engraved; None where it has none, or it makes no bar on one small system."""
    cut = next((found for spot in step.spots[:1] if (found := loop_of(variation, spot))), None)
    if cut is None:
        return None
    onsets = len({event.onset for event in cut.passage.events})
    letters = max((len(direction.text) for direction in cut.passage.directions), default=0)
    width = min(look.width, LOOP_WIDTH * max(1.0, onsets / LOOP_NOTES, letters / LOOP_LETTERS))
    plate = drawn_as(replace(look, width=width, staff=look.staff * LOOP_SIZE), cut)
    return impression(plate) if len(plate.systems) == 1 else None


Plates: TypeAlias = "dict[tuple[Hashable, ...], tuple[Passage, Impression]]"
"""plates by how, of what and for which study they were drawn; each with its music, which is known by identity"""


def drawn(
    passage: Passage,
    line: Variation,
    regimen: Regimen,
    plan: Plan,
    *,
    form: str = "book",
    inside: bool = True,
    plates: Plates | None = None,
) -> BookContent:
    """The studies of `regimen` as sheets in their order, engraved, with what the book carries inside.

    Args:
        passage: what was read.
        line: the passage with both hands.
        regimen: the studies.
        plan: how they are printed.
        form: what is printed: book, handout or week. A handout has no loops of hard spots.
        inside: files to carry are made.
        plates: those that were drawn before, which are taken where they serve; new ones are put to them.
    """
    # in a week the days stand where a book has its tempo ladder, and take more room
    feet = [ladder_room(regimen, step, plan) for step in regimen.steps]
    look, line_plate = line_drawn(line, plan, max(feet, default=LADDER))
    if form == "handout":
        look = replace(look, close=True)
        line_plate = drawn_as(look, line)
    high = _FULL * _high(line_plate)
    made = [step.variation for step in regimen.steps]
    # those on the same plain staff one after another: it is engraved once for all of them
    order = sorted(range(len(made)), key=lambda at: (made[at].study.rhythm, made[at].study.strings))
    known: Plates = {} if plates is None else plates
    shown = {at: _plate(look, made[at], plan, feet[at], known, high=high) for at in along("engraving", order)}
    sheets = tuple(
        Sheet(
            number=at + 1,
            variation=made[at],
            plate=shown[at],
            step=step,
            loop=_loop(look, made[at], step) if form != "handout" else None,
        )
        for at, step in enumerate(regimen.steps)
    )
    return BookContent(
        passage=passage,
        line=line,
        line_plate=impression(line_plate),
        sheets=sheets,
        regimen=regimen,
        plan=plan,
        attachments=tuple(_inside(passage, line, regimen, sheets, plan, form=form)) if inside else (),
    )


def _plate(look: Look, variation: Variation, plan: Plan, foot: float, known: Plates, *, high: float) -> Impression:
    """The plate of a variation on the look's staff, or a smaller one where that saves a page, if it is not known yet.

    `high` is about how many staves high a system of it is.
    """
    # the figures of a variation may be others, the music is what is drawn
    key = (look, paper_of(plan), plan.staff, foot, id(variation.passage), variation.study)
    if key not in known:
        staves = [staff for staff in staves_for(plan) if staff <= look.staff]
        _, plate = _on_fewest_pages(look, variation, plan, foot, staves=staves, high=high)
        known[key] = variation.passage, impression(plate)
    return known[key][1]


def _inside(
    passage: Passage, line: Variation, regimen: Regimen, sheets: tuple[Sheet, ...], plan: Plan, *, form: str
) -> Iterator[Attachment]:
    """What a book carries, so that it can be printed again and reissued from itself."""
    little, said = plan.marks.little, {key: getattr(passage, key) for key in ("source", "part", "cut")}
    said["form"] = form
    chosen = dump_plan(as_plan(regimen, plan)).encode()
    # as it was read: what we put to it is worked out anew
    written = to_musicxml(replace(line, passage=passage), exact=True, little=little)
    played = to_musicxml([sheet.variation for sheet in sheets], little=little)
    for name, data, what, relationship in (
        (PLAN, dump_plan(plan).encode(), "The plan this book was made by.", "Source"),
        (STUDIES, chosen, "The plan with the studies that were chosen.", "Source"),
        (PASSAGE, written, "The passage as it was read, as MusicXML.", "Source"),
        (ORIGIN, json.dumps(said).encode(), "Where the passage was cut from, and what was printed of it.", "Data"),
        (
            VARIATIONS,
            played,
            "Every variation as MusicXML, for Braille and playback.",
            "Alternative",
        ),
    ):
        yield Attachment(name=name, data=data, description=what, relationship=relationship)


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How plates of one book are engraved."""

    width: float
    staff: float
    """mm"""
    marks: Marks
    tab: bool
    close: bool = False
    """more bars on a line than is comfortable"""


def line_drawn(line: Variation, plan: Plan, foot: float = LADDER) -> tuple[Look, Plate]:
    """The line as large as it goes on one page, else as the plan says; how the plates of its book are engraved.

    `foot` is the height in mm of the tempo ladder, or of what stands in its place.
    """
    look = Look(width=music_width(plan), staff=plan.staff, marks=plan.marks, tab=plan.tab)
    staves = staves_for(plan)
    counts = zip(staves, lines(line, width=look.width, staves=staves), strict=True)
    if few := tuple(staff for staff, count in counts if count <= MOST_SYSTEMS):
        tried, plate = _on_fewest_pages(look, line, plan, foot, staves=few, high=_PLAIN)
        if len(plate.systems) <= MOST_SYSTEMS and fits_page(plan, plate, foot):
            return tried, plate
    return look, drawn_as(look, line)


_PLAIN, _FULL = 3.0, 1.2
"""about how many staves high a system of a line is, and how much higher that of a variation with more signs"""
_NEAR = 0.98
"""share of what is reckoned that a system may be lower still"""


def _on_fewest_pages(
    look: Look, variation: Variation, plan: Plan, foot: float, *, staves: Sequence[float], high: float
) -> tuple[Look, Plate]:
    """A variation on the staff that gives it the fewest pages, the largest of such (`staves` come largest first).

    It is drawn on a staff only where that promises to be the one: all systems as many staves high as was found when it
    was drawn last, `high` before.
    """
    counts = tuple(lines(variation, width=look.width, staves=staves))
    tried: dict[float, Plate] = {}
    while True:
        heights = {staff: (high * staff,) * count for staff, count in zip(staves, counts, strict=True)}
        heights |= {staff: plate.heights for staff, plate in tried.items()}
        best = min(staves, key=lambda staff: pages_for(plan, heights[staff], foot))
        drawing = replace(look, staff=best)
        if best in tried:
            return drawing, tried[best]
        plate = tried[best] = drawn_as(drawing, variation)
        high = _NEAR * _high(plate)


def _high(plate: Plate) -> float:
    """How many staves high the systems of a plate are, taken together."""
    return plate.height / len(plate.systems) / plate.staff


def drawn_as(look: Look, variation: Variation) -> Plate:
    """The plate of a variation with a given look."""
    return draw(variation, width=look.width, staff=look.staff, marks=look.marks, tab=look.tab, close=look.close)
