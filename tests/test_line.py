"""The whole line on real input: what goes in is what is printed, on every page of the book."""

from __future__ import annotations

from dataclasses import dataclass, replace
from importlib.util import find_spec
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

from engrave import line as book
from engrave import reading
from engrave.editions import make_handout
from engrave.model import Direction, Plan, Plate, Spot, Step, Study, Variation
from engrave.pages import HANDOUT_STAFF, BookContent, fits_page, impression, pages_for, staves_for
from engrave.pages.day_strips import ACROSS, WeekLines, strips_height
from engrave.pages.fonts import width_mm
from engrave.pages.images import Impression
from engrave.plates.over_staff import WORDS
from engrave.regimen import DayCell, choose
from tests.axes.laws import check
from tests.build import passage
from tests.pages.printed import reader
from tests.plates.readback import read_back
from tests.regimen.lines import placed

ROOT = Path(__file__).resolve().parent.parent
EXAMPLES = sorted(path.name for pattern in ("*.musicxml", "*.tab") for path in (ROOT / "examples").glob(pattern))
CORPUS = (
    ("haydn/opus74no1/movement3.mxl", "3", "1-16"),
    ("corelli/opus3no1/1grave.xml", "3", "1-12"),
    ("handel/rinaldo/Lascia_chio_pianga.mxl", "1", "1-16"),
    ("beethoven/opus18no1/movement1.mxl", "3", "1-20"),
    ("bach/bwv66.6.mxl", "Tenor", ""),
    ("beach/prayer_of_a_tired_child.musicxml", "1", "1-8"),
)
"""scores of music21's corpus (BSD licence, music itself in the public domain): file, part, bars that fit a guitar"""
STUDIES = tuple(
    Study(must=False, **{axis: name})  # type: ignore[arg-type]
    for axis, name in (
        ("strings", "shape on 3"), ("rhythm", "dotted"), ("rhythm", "bursts of 4"), ("fret", "no open strings"),
        ("fret", "second best"), ("slurs", "hammer-ons"), ("slurs", "to open"), ("pluck", "i-m"), ("pluck", "a-m-i"),
        ("pluck", "p-i"), ("stroke", "rest"), ("accent", "every 3"), ("accent", "fretted notes"),
    )
)  # fmt: skip
"""some settings of each axis"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A book, and the plates it is printed from."""

    book: BookContent
    plates: tuple[tuple[Variation, Plate], ...]
    """the line as written and every variation, each with its plate"""


def made_of(name: str, part: str = "", bars: str = "") -> Made:
    """The short book of an example; of a score of the corpus, where a part is named, a book of STUDIES."""
    spec = find_spec("music21")
    assert spec is not None
    assert spec.origin is not None
    folder = Path(spec.origin).parent / "corpus" if part else ROOT / "examples"
    passage = reading.read((folder / name).read_bytes(), Path(name).name, part=part, bars=bars)
    drawn: list[tuple[Impression, Plate]] = []

    def kept(plate: Plate) -> Impression:
        drawn.append((impression(plate), plate))
        return drawn[-1][0]

    with patch.object(book, "impression", kept):
        made = book.make(passage, Plan(studies=STUDIES) if part else Plan(depth="short"))
    of = {id(printed): plate for printed, plate in drawn}
    pairs = [(made.line, made.line_plate), *((sheet.variation, sheet.plate) for sheet in made.sheets)]
    return Made(book=made, plates=tuple((variation, of[id(printed)]) for variation, printed in pairs))


CASES = [pytest.param((name,), id=name) for name in EXAMPLES] + [pytest.param(row, id=row[0]) for row in CORPUS]


@pytest.fixture(scope="module", params=CASES)
def made(request: pytest.FixtureRequest) -> Made:
    """Each book in turn: pytest asks all tests of one before it makes the next."""
    return made_of(*request.param)


def test_every_page_obeys_the_laws_of_music(made: Made) -> None:
    """On every page bars are full, placements sound and can be reached, slurs are legal, strokes in place."""
    assert len(made.book.sheets) >= 8, [str(notice) for notice in made.book.regimen.notices]
    for sheet in made.book.sheets:
        assert check(sheet.variation) == (), sheet.variation.title
        for note in sheet.variation.passage.notes:
            assert note.placement is not None
            where = note.placement
            assert sheet.variation.instrument.midi(where.string, where.fret) == note.pitch.midi


def test_no_two_pages_of_a_book_look_alike(made: Made) -> None:
    """Of the studies a book chooses the ink differs, however they are called: notes, letters, digits, signs, words."""
    inks = [tuple(system.content for system in sheet.plate.systems) for sheet in made.book.sheets]
    assert len(set(inks)) == len(inks) or made.book.plan.studies


def test_what_is_printed_sounds_as_it_was_read(made: Made) -> None:
    """Read back from the ink, every head has the pitch of its note, and every note has its head."""
    for variation, plate in made.plates:
        said = read_back(plate)
        meant = {note.id: note.pitch.midi for note in variation.passage.notes}
        muted = {note.id for note in variation.passage.notes if note.muted}
        assert {owner: mark.pitch.midi for owner, mark in said.items()} == {
            name: midi for name, midi in meant.items() if name not in muted or name in said
        }, variation.title


def test_letters_stand_above_their_notes(made: Made) -> None:
    """The plucking letters of the upper voice lie above the heads they belong to, one for each plucked note."""
    for variation, plate in made.plates[1:]:
        upper = {
            note.id
            for event in variation.passage.events
            for note in event.notes
            if event.voice == 1
            and note.stroke is not None
            # of what the thumb takes in one stroke, one letter is printed, and an arrow
            and note not in [n for n in event.notes if n.stroke is not None and n.stroke.finger == "p"][1:]
        }
        for system in plate.systems:
            heads = {mark.owner: mark for mark in system.marks if mark.role == "head"}
            letters = [mark for mark in system.marks if mark.role == "letter" and mark.owner in upper & heads.keys()]
            for letter in letters:
                assert letter.y < heads[letter.owner].y, (variation.title, letter.owner)
        lettered = {m.owner for system in plate.systems for m in system.marks if m.role == "letter"}
        assert upper <= lettered


def test_a_week_sets_its_music_smaller_where_its_days_need_the_room() -> None:
    """A passage that fills a page over a tempo ladder is engraved to fit one over the days of four weeks as well."""
    data = (ROOT / "examples" / "lamps-on-the-quay.tab").read_bytes()
    line = book.line_of(reading.read(data, "lamps-on-the-quay.tab"), Plan())
    days = WeekLines(title="", days=tuple(("Mon", DayCell(tempo=(60, 65), times=4)) for _ in range(6)))
    foot = strips_height((days,) * 4, ACROSS)
    (usual, high), (smaller, low) = book.line_drawn(line, Plan()), book.line_drawn(line, Plan(), foot)
    assert not fits_page(Plan(), high, foot)
    assert fits_page(Plan(), low, foot)
    assert smaller.staff < usual.staff


def test_the_words_over_a_loop_lie_within_it() -> None:
    """The longest sentence on strokes stands over two notes: their plate is as wide as it is."""
    music = placed(passage("E4:1.0.0/4 F4:1.1.1/4 E4:1.0.0/4 F4:1.1.1/4"))
    text = "a beat of rest stroke where the next string is free, a beat of free stroke, in turn"
    said = Direction(kind="strokes", text=text, bar=0, onset=music.passage.bars[0].onset)
    made = replace(music, passage=replace(music.passage, directions=(said,)))
    names = tuple(note.id for note in music.passage.notes)[:2]
    spot = Spot(kind="shift", notes=names)
    step = Step(study=Study(), variation=made, section="", reason="", times=1, tempo=(60,), spots=(spot,))
    look = book.Look(width=173.0, staff=8.5, marks=Plan().marks, tab=False)
    loop = book._loop(look, made, step)
    assert loop is not None
    em = WORDS * 8.5 * book.LOOP_SIZE / 4
    assert loop.systems[0].width >= width_mm(text, em * 72 / 25.4, "italic")


def test_long_music_takes_as_few_pages_as_any_staff_would_give_it() -> None:
    """Not only where one page holds it: bars of 32 notes, which a staff of the largest size sets on three."""
    bar = " ".join(["C4:2.1.1/32 E4:1.0.0/32 E4:1.0.0/32 E4:1.0.0/32"] * 8)
    made = placed(passage(" | ".join([bar] * 6)))
    look = book.Look(width=173.0, staff=8.5, marks=Plan().marks, tab=False)
    # as much under the music as leaves two lines on a page
    first = book.drawn_as(look, made)
    on, plate = book._on_fewest_pages(look, made, Plan(), 90.0, staves=staves_for(Plan()), high=3.6)
    assert (pages_for(Plan(), first.heights, 90.0), pages_for(Plan(), plate.heights, 90.0)) == (3, 2)
    assert plate.staff == on.staff in staves_for(Plan())[1:]


def test_studies_that_fit_in_another_order_are_printed_in_that_order() -> None:
    """What a larger staff was measured to hold is what is printed: these fill two pages one way and three the other."""
    passage = reading.read((ROOT / "examples/mill-race.tab").read_bytes(), "mill-race.tab")
    made, pdf = make_handout(passage, Plan(), pages=2)
    assert len(reader(pdf).pages) == 2
    assert len(made.sheets) >= 4


def test_a_handout_of_one_page_holds_three_studies_of_eight_bars() -> None:
    """The built-in line, and two ways of playing it, on a staff that is larger than the least clear one."""
    made, pdf = make_handout(reading.read(*book.built_in()), Plan(depth="short"), pages=1)
    assert len(made.sheets) >= 3
    assert not made.sheets[0].step.study.asked
    assert all(sheet.plate.staff > HANDOUT_STAFF for sheet in made.sheets)
    assert len(reader(pdf).pages) == 1


def test_what_two_sheets_share_is_drawn_once_and_only_where_it_looks_the_same() -> None:
    """With the plates of one sheet handed on, the next has the very same; on another staff it has its own."""
    line = placed(passage("E4:1.0.0/4 F4:1.1.1/4 E4:1.0.0/4 F4:1.1.1/4"))
    plan = Plan(studies=(Study(pluck="i-m"), Study(pluck="m-a"), Study(rhythm="dotted")))
    regimen, known = choose(line, plan), dict[Any, Any]()
    for staff, same in ((6.2, True), (5.4, False)):
        first, again = (
            book.drawn(
                line.passage, line, regimen, replace(plan, staff=size), form="handout", inside=False, plates=known
            )
            for size in (6.2, staff)
        )
        pairs = zip(first.sheets, again.sheets, strict=True)
        assert all((one.plate is other.plate) is same for one, other in pairs)


def test_plans_that_differ_in_the_player_have_the_same_line() -> None:
    """Hand, instrument and taste make the line; what is weak, and how long a day is, do not."""
    music, plan = passage("E4/4 F4/4 G4/4 E4/4"), Plan()
    lazy = replace(plan, player=replace(plan.player, weak=("finger 4",), minutes=10))
    assert book.hands_of(music, lazy) == book.hands_of(music, plan)
    for other in (replace(plan, hand="small"), replace(plan, player=replace(plan.player, neck=0.5))):
        assert book.hands_of(music, other) != book.hands_of(music, plan)
