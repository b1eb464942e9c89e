"""The other books: a handout from a teacher, and a week as a table of its days."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

import pytest

from engrave.editions import make_handout
from engrave.line import built_in
from engrave.model import Day, Direction, Plan, PressError, Regimen, Study, Visit
from engrave.model.plan import Player
from engrave.model.said import say
from engrave.pages import HANDOUT_STAFF, BookContent, handout_heights, press, press_handout
from engrave.pages.day_strips import ACROSS, GAP, WeekLines, columns_of, draw_strips, draw_week, lines_of
from engrave.pages.drawn import Drawing
from engrave.pages.fonts import text_width
from engrave.pages.paper import music_width, type_scale
from engrave.pages.sign_font import BOX, SHAPES
from engrave.pages.week_table import boxes_across, boxes_of
from engrave.reading import read
from engrave.regimen import DayCell
from tests.pages import printed
from tests.pages.conftest import STUDIES, content
from tests.pages.test_press import HEALTH


@pytest.fixture(scope="module")
def chosen() -> BookContent:
    """Three studies on small staves, with a teacher's line."""
    plan = Plan(staff=HANDOUT_STAFF, teacher="Lesson four, Ms Reed", player=Player(name="Ivo"))
    return content(plan=plan, studies=STUDIES[:3])


@pytest.fixture(scope="module")
def sheet(chosen: BookContent) -> bytes:
    """The handout of three studies, printed on one page."""
    return press_handout(chosen, pages=1)


def test_a_handout_holds_what_a_student_needs(chosen: BookContent, sheet: bytes) -> None:
    """Title, teacher's line, name, each study with tempo and what to listen for and caution, on one page."""
    (text,) = printed.texts(sheet)
    for words in ("Heron in the reeds", "Ada Fen", "Lesson four, Ms Reed", "For Ivo", HEALTH, "1 of 1"):
        assert words in text
    for study in chosen.sheets:
        assert f"{study.number} {study.variation.title}" in text
        assert study.variation.cue in text
        assert study.variation.purpose in text
        assert re.search(r"♩ = 50\W*" + r"☐\W*" * study.step.times + "♩ = 60", text)
    assert "heron.musicxml" not in text
    assert [title for level, title, _ in printed.outline(sheet) if level == 2] == [
        f"{study.number} {study.variation.title}" for study in chosen.sheets
    ]


def test_words_that_no_font_has_are_told_on_a_handout(chosen: BookContent, sheet: bytes) -> None:
    """Where a stand-in is printed over the staff, a line at the end says what it stands for, once."""
    words = Direction(bar=0, onset=Fraction(0), kind="words", text="dolce \U00013000")
    passage = replace(chosen.line.passage, directions=(words, words))
    told = replace(chosen, line=replace(chosen.line, passage=passage))
    text = " ".join(printed.texts(press_handout(told, pages=2)))
    assert text.count("no font here has U+13000; ▯ stands for it") == 1
    assert "no font here has" not in " ".join(printed.texts(sheet))


def test_all_music_of_a_handout_is_there_and_in_order(chosen: BookContent, sheet: bytes) -> None:
    """Every system of every study is a picture with its words."""
    alts = [tag.alt for tag in printed.tags(sheet) if tag.alt]
    assert alts == [system.words for study in chosen.sheets for system in study.plate.systems]


def test_a_close_handout_says_what_to_do_in_less_room(chosen: BookContent) -> None:
    """Set closer, every study keeps title, sentences and ladder and is lower; only its hard spots go."""
    roomy, close = handout_heights(chosen), handout_heights(chosen, tight=True)
    assert all(low < high for low, high in zip(close.studies, roomy.studies, strict=True))
    assert close.end < roomy.end
    (text,) = printed.texts(press_handout(chosen, pages=1, tight=True))
    for sheet in chosen.sheets:
        assert sheet.variation.purpose in text
        assert sheet.variation.cue in text
    assert "Remarks" in text
    assert "Loop" not in text


def test_studies_that_find_no_room_are_named_on_the_handout() -> None:
    """Of more named studies than a page holds those that fit are printed, and a sentence names the others."""
    passage = read(*built_in())
    studies = tuple(Study(pluck=pair) for pair in ("i-m", "m-a", "i-a", "p-i", "p-m"))
    made, pdf = make_handout(passage, Plan(studies=studies), pages=1)
    (text,) = printed.texts(pdf)
    assert 3 <= len(made.sheets) < 6
    assert "No room for: “" in text


def test_a_handout_that_needs_more_pages_says_how_many() -> None:
    """Too many studies for the pages asked for are refused with the number they need."""
    full = content(" | ".join(["E3/8 C4/8 E3/8 D4/8 E3/8 E4/8 E3/8 F4/8"] * 16), plan=Plan(staff=HANDOUT_STAFF))
    with pytest.raises(PressError) as caught:
        press_handout(full, pages=1)
    assert str(caught.value) == ("this takes 4 pages, 1 was asked for (name fewer studies, or ask for 4 pages)")
    assert len(printed.texts(press_handout(full, pages=4))) == 4


@pytest.fixture(scope="module")
def week(book: BookContent) -> BookContent:
    """The small book spread over three days, one of rest."""
    days = (
        Day(
            label="Monday 7 June 2027",
            visits=(
                Visit(step=1, reason="Weak while fresh.", times=3, tempo=(60,), minutes=9.0),
                Visit(step=3, reason="The line goes last.", times=2, tempo=(46, 50), minutes=8.4, rest_before=True),
            ),
            minutes=17.4,
            breaks=1,
        ),
        Day(label="Tuesday 8 June 2027", weekday=1, note="A day of rest."),
        Day(
            label="Wednesday 9 June 2027",
            weekday=2,
            visits=(Visit(step=0, reason="To warm up.", times=9, tempo=(72,), minutes=0.2, new=True),),
            minutes=0.2,
            note="Half an hour at most.",
        ),
    )
    return replace(book, regimen=Regimen(steps=book.regimen.steps, days=days))


@pytest.fixture(scope="module")
def week_pdf(week: BookContent) -> bytes:
    """The week, printed."""
    return press(week)


def test_a_week_is_one_page_before_the_music(week_pdf: bytes) -> None:
    """Title, table, cautions and how the music is read stand on the first page; the variations begin on the next."""
    titles = [(title, page) for level, title, page in printed.outline(week_pdf) if level == 2]
    assert titles[:3] == [("The week", 1), ("How to read the music", 1), ("Warm-up", 2)]


def test_the_table_says_what_to_play_on_which_day(week_pdf: bytes) -> None:
    """A row for each study: its page, and on each day its place, tempi, boxes and minutes; totals and breaks."""
    # boxes are of a font of their own, and come with spaces round them
    table = re.sub(r"[\s\0]*☐[\s\0]*", "☐", printed.texts(week_pdf)[0])
    assert "a m i in turn; accent on every second note, page 2 1 60☐☐☐9 min" in table
    assert "The line as written, page 4 2 46☐☐50☐☐8 min" in table
    assert "1 new 72☐× 9 1 min" in table
    assert "minutes, with breaks 22 rest day 1" in table
    assert "rest five minutes before “" in table
    assert HEALTH in table
    assert {(at, target) for at, target, _ in printed.links(week_pdf) if at == 1} == {(1, "v1"), (1, "v2"), (1, "v4")}


def test_a_week_needs_no_index(week_pdf: bytes) -> None:
    """The table takes the place of the list in practice order."""
    assert "The book in practice order" not in " ".join(printed.texts(week_pdf))


def test_each_page_of_a_week_has_its_own_days(week: BookContent, week_pdf: bytes) -> None:
    """Tempi and boxes of each day stand on the page as in the table; a page that comes on no day has none."""
    words = " ".join(tag.alt for tag in printed.tags(week_pdf) if tag.alt)
    for said in ("Mon 60, 3 times.", "Mon 46, 50, 2 times each.", "Wed 72, 9 times."):
        assert said in words
    for sheet in week.sheets:
        asked = [(day.label[:3], visit.tempo, visit.times) for day in week.regimen.days for visit in day.visits
                 if visit.step == sheet.number - 1]  # fmt: skip
        found = [
            (label, day.tempo, day.times) for lines in lines_of(week.regimen, sheet.step) for label, day in lines.days
        ]
        assert found == asked


def test_a_handout_speaks_of_no_minutes_but_where_it_fills_more_than_a_day(chosen: BookContent) -> None:
    """No page of it has minutes; a player whose day is too short for all studies is told over how many they go."""
    steps = [replace(sheet.step, minutes=6.0) for sheet in chosen.sheets]
    sheets = tuple(replace(sheet, step=step) for sheet, step in zip(chosen.sheets, steps, strict=True))
    said = {}
    for minutes in (None, 18, 10, 5):
        plan = replace(chosen.plan, player=replace(chosen.plan.player, minutes=minutes))
        text = printed.described(press_handout, replace(chosen, plan=plan, sheets=sheets))
        assert "A sitting is every box once, from the slowest tempo up." in text
        assert "its minutes" not in text
        said[minutes] = re.findall(
            r"One sitting of every study takes about (\d+) minutes: spread them over (\d+)", text
        )
    assert said == {None: [], 18: [], 10: [("18", "2")], 5: [("18", "4")]}


@pytest.mark.parametrize(("tempi", "most"), [((60,), 8), ((60, 66), 5)])
def test_the_boxes_of_a_day_are_one_number_on_its_page_and_in_the_table(tempi: tuple[int, ...], most: int) -> None:
    """As many as are asked for, drawn in both; of more than the day's line holds, one with their number in both."""
    for times in (1, 5, most, most + 1):
        boxes = boxes_of(DayCell(place=1, tempo=tempi, times=times, whole=3, new=False), 4)
        drawing = Drawing(width=170, height=40, language="en")
        draw_week(drawing, 0, 0, WeekLines(title="", days=(("Mon", DayCell(tempo=tempi, times=times)),)))
        drawn = times if times <= most else 1
        assert boxes.count("☐") == drawn
        assert sum(mark.role == "box" for mark in drawing.marks) == drawn
        assert ("×" in boxes) == (times > most)


@pytest.mark.parametrize("language", ["en", "de", "es", "fr", "it"])
@pytest.mark.parametrize(("paper", "staff"), [("A4", 9.0), ("A4", 6.5), ("A5", 6.5)])
def test_weeks_beside_each_other_keep_clear(language: str, paper: str, staff: float) -> None:
    """What the days of a week say ends before the next week begins, in every language and size of type."""
    plan = Plan(paper=paper, staff=staff)
    width = music_width(plan) / type_scale(plan)
    days = tuple(("Mon", DayCell(tempo=tempo, times=times)) for tempo in ((60,), (96, 100)) for times in (8, 5, 12))
    weeks = tuple(WeekLines(title=say("Week {number}: days, tempo and boxes", number=n), days=days) for n in (1, 2, 3))
    columns = columns_of(weeks, width, language)
    assert 1 <= len(columns) <= ACROSS
    for week, column, end in zip(weeks, columns, (*columns[1:], width + GAP), strict=False):
        drawing = Drawing(width=width, height=90, language=language)
        draw_strips(drawing, 0.0, (week,), (column,))
        letters = [m.x + text_width(m.text, m.scale * 1000) for m in drawing.marks if m.role == "lettering"]
        boxes = [x for m in drawing.marks if m.role == "box" for _, point in m.path for x in point[:1]]
        assert max(letters + boxes) <= end - GAP / 2


def test_boxes_of_a_day_stay_in_its_column() -> None:
    """As many boxes stand in a row of the week's table as its column holds: five in usual type, fewer in large."""
    assert boxes_across(Plan()) >= 5
    for plan in (Plan(staff=9.0), Plan(paper="A5"), Plan()):
        scale = type_scale(plan)
        column = (music_width(plan) - 44 * scale) / 7 - 2
        assert boxes_across(plan) * SHAPES[BOX][0] * 8 * scale * 25.4 / 72000 <= column
    cell = DayCell(place=1, tempo=(60, 66), times=5, whole=3, new=False)
    assert boxes_of(cell, 4) == "☐☐☐ ☐☐"
