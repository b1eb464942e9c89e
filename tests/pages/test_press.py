"""A printed book: its pages, their order, what stands on them, and that the same book comes twice."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import unicodedata
import urllib.request
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from engrave.model import Direction, Plan, PressError, Regimen, Study
from engrave.pages import BookContent, music_width, press
from engrave.pages.fonts import width_mm
from engrave.pages.paper import SIZES, paper_of
from engrave.pages.printing import printer
from engrave.pages.sign_font import missing
from engrave.typefaces import clean, right_to_left
from tests.build import passage
from tests.pages import printed
from tests.pages.conftest import LINE, STUDIES, content

ROOT = Path(__file__).resolve().parents[2]
HEALTH = (
    "Warm up gently. Rest five minutes in every twenty-five to thirty. Increase time and speed little by little. "
    "Stop if anything hurts, tingles or goes numb. If it persists or returns, see a licensed clinician. "
    "This sheet is not medical advice."
)


def test_a_book_runs_title_cautions_index_variations_coverage(pdf: bytes) -> None:
    """The parts of a book follow each other, and the outline leads to each: book, section, variation."""
    assert printed.outline(pdf) == [
        (1, "Heron in the reeds", 1),
        (2, "Before you play", 2),
        (2, "How to read the music", 2),
        (2, "The book in practice order", 3),
        (2, "Warm-up", 4),
        (3, "1 i m in turn", 4),
        (2, "Focus", 5),
        (3, "2 a m i in turn; accent on every second note", 5),
        (3, "3 m a in turn; rest stroke", 6),
        (2, "The line", 7),
        (3, "4 The line as written", 7),
        (2, "For the teacher", 8),
    ]


def test_the_index_names_the_page_each_variation_stands_on(pdf: bytes, book: BookContent) -> None:
    """Printed page numbers and links of the index agree with the pages the headings are really on."""
    pages = printed.texts(pdf)
    labels = printed.reader(pdf).page_labels
    assert labels == ["i", "ii", "iii", "1", "2", "3", "4", "5"]
    real = {title: page for level, title, page in printed.outline(pdf) if level == 3}
    for title, page in real.items():
        number = title.split()[0]
        row = re.search(rf"(?<!\d){re.escape(title)}.*?(\d+) {book.sheets[int(number) - 1].step.times} × ♩", pages[2])
        assert row, title
        assert row[1] == labels[page - 1]
    goals = {(target, page) for at, target, page in printed.links(pdf) if at == 3}
    assert goals == {(f"v{title.split()[0]}", page) for title, page in real.items()}


def test_a_book_longer_than_the_players_day_says_over_how_many_it_goes(book: BookContent, pdf: bytes) -> None:
    """Four times three minutes at seven a day take two days; within a day nothing is said; no boxes stand there."""
    told = {}
    for minutes in (7, 12):
        plan = replace(book.plan, player=replace(book.plan.player, minutes=minutes))
        told[minutes] = printed.described(press, replace(book, plan=plan))
    spread = "About 12 minutes in all: at 7 minutes a day, over 2 days."
    for index, said in ((told[7], spread), (told[12], ""), (printed.texts(pdf)[2], "")):
        assert said in index
        assert ("minutes in all" in index) == bool(said)
        assert "☐" not in index


def every_variation_is_in_the_index(pdf: bytes, count: int) -> None:
    """Each has its line in the index, its heading and its link."""
    names = [name for _, name, _ in printed.links(pdf)]
    assert {name: names.count(name) for name in names} == {f"v{number}": 1 for number in range(1, count + 1)}
    assert f"{count} way{'s' if count > 1 else ''} of playing" in printed.texts(pdf)[0]
    headings = [title for level, title, _ in printed.outline(pdf) if level == 3]
    assert [title.split()[0] for title in headings] == [str(number) for number in range(1, count + 1)]


def test_a_last_row_of_the_index_has_no_page_to_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """An index a little longer than a page is set closer; at the usual distance it would take a second one."""
    letters = ("i-m", "m-i", "i-a", "a-i", "m-a", "a-m", "p-i", "p-m", "p-a", "a-m-i", "i-m-a", "m-a-i", "best")
    asked = [Study(pluck=pluck, accent=accent) for accent in ("as written", "every 2") for pluck in letters][:16]
    made = content("E3/4 C4/4 E3/4 D4/4", studies=tuple((study, "Focus") for study in asked))
    for pages in (1, 2):
        pdf = press(made)
        assert sum("times × tempo" in text for text in printed.texts(pdf)) == pages
        every_variation_is_in_the_index(pdf, len(asked))
        monkeypatch.setattr("engrave.pages.book._SPILL", 0.0)


@pytest.fixture(scope="module")
def long() -> tuple[BookContent, bytes]:
    """A passage of which every variation takes two pages, and its book."""
    made = content(" | ".join([LINE] * 11), studies=STUDIES[::3])
    return made, press(made)


def test_a_variation_of_two_pages_moves_what_follows_it(long: tuple[BookContent, bytes]) -> None:
    """Pages are numbered through, and the index names the first page of each variation."""
    pages = printed.texts(long[1])
    found = [number for text in pages for number in re.findall(r"\d+ of \d+", text)]
    assert found == [f"{page} of 4" for page in range(1, 5)]
    index = next(text for text in pages if "The book in practice order" in text)
    assert re.findall(r"(\d) \d × ♩ = 50, 60, 72", index) == ["1", "3"]


def test_each_variation_page_says_what_it_trains_how_and_where_it_comes_from(pdf: bytes, book: BookContent) -> None:
    """Purpose, cue, tempo steps, times and page x of y stand on every variation's page, and nothing for the teacher."""
    pages = printed.texts(pdf)
    for sheet, text in zip(book.sheets, pages[3:7], strict=True):
        assert sheet.variation.purpose in text
        assert sheet.variation.cue in text
        assert f"♩ = 50, 60, 72 · {sheet.number + 1} times at each tempo · about 3 minutes" in text
        for teacher in (f"Place {sheet.number}.", "heron.musicxml", "mm", sheet.step.study.asked or "pluck="):
            assert teacher not in text
        assert f"{sheet.number} of 4" in text


def test_the_caution_stands_in_the_book_word_for_word(pdf: bytes) -> None:
    """The health text is printed as it was agreed, before anything is played."""
    assert HEALTH in printed.texts(pdf)[1]


def test_notices_and_what_trains_what_are_printed(pdf: bytes) -> None:
    """What the reader left out and what each variation trains stand behind the music, once."""
    pages = printed.texts(pdf)
    assert "Left out or changed Lyrics are left out" in pages[7]
    assert "Plucking pairs m after i 1, 2" in pages[7]
    assert "1 pluck=i-m Place 1." in pages[7]
    assert "Read from heron.musicxml." in pages[7]
    assert "Lyrics" not in " ".join(pages[:7])


def test_the_legend_explains_only_what_is_printed(pdf: bytes) -> None:
    """A finger, an accent or a barre that no page shows is not explained."""
    text = printed.texts(pdf)[1]
    assert "i m a plucking hand: index, middle and ring" in text
    assert "accent: this note louder" in text
    assert "rest stroke" in text
    for absent in ("barre", "slide", "tablature", "free stroke", "thumb"):
        assert absent not in text


@pytest.mark.parametrize(
    ("paper", "sides", "staff"),
    [("A4", "single", 7.2), ("A4", "double", 9.0), ("A5", "single", 6.2), ("A5", "double", 7.2),
     ("Letter", "single", 9.0), ("Letter", "double", 6.2)],
)  # fmt: skip
def test_paper_margins_and_staff(paper: str, sides: str, staff: float) -> None:
    """Pages have the paper's size, all ink keeps to the margins, and the wide one changes sides on double-sided paper.

    ISO 216: A4 is 210 by 297 mm, A5 148 by 210 mm; Letter is 8.5 by 11 inches. From its outer line to the outer line
    the staff is as high as the plan says.
    """
    width, height = {"A4": (210, 297), "A5": (148, 210), "Letter": (215.9, 279.4)}[paper]
    plan = Plan(paper=paper, sides=sides, staff=staff)
    frame = paper_of(plan)
    pdf = press(content(plan=plan, studies=STUDIES[:1]))
    every_variation_is_in_the_index(pdf, 1)
    book = printed.reader(pdf)
    pages = book.pages
    first = book.page_labels.index("1")
    # the variations begin on a right page, if need be behind an empty one
    empty = [number for number, page in enumerate(pages) if not page.extract_text()]
    assert empty == ([first - 1] if sides == "double" else [])
    assert sides == "single" or first % 2 == 0
    for number, page in enumerate(pages, start=1):
        assert float(page.mediabox.width) * printed.MM == pytest.approx(width, abs=0.01)
        assert float(page.mediabox.height) * printed.MM == pytest.approx(height, abs=0.01)
        left, right = frame.gutter, frame.outer
        if sides == "double" and number % 2 == 0:
            left, right = right, left
        for x, y in printed.ink(page):
            assert left - 0.2 <= x <= width - right + 0.2, f"page {number}"
            assert frame.bottom - 0.2 <= y <= height - frame.top + 0.2, f"page {number}"
        assert page.cropbox == page.mediabox
    lines = sorted({round(y, 2) for y, left, right in printed.rules(pages[first]) if right - left > 100}, reverse=True)
    assert lines[0] - lines[4] == pytest.approx(staff, abs=0.02)


def test_a_long_passage_flows_on_at_a_system(long: tuple[BookContent, bytes]) -> None:
    """No system is cut or lost when the music takes several pages, and the heading stays with the first."""
    made, pdf = long
    wanted = [system.words for system in made.sheets[0].plate.systems]
    assert len(wanted) > 5
    alts = [tag.alt for tag in printed.tags(pdf) if tag.alt and "empty lines" not in tag.alt]
    start = alts.index(wanted[0], len(made.line_plate.systems))
    assert alts[start : start + len(wanted)] == wanted
    first, second = (page for level, _, page in printed.outline(pdf) if level == 3)
    assert second > first + 1


def test_long_and_strange_titles_do_not_break_a_page() -> None:
    """Markup in a title is text, control characters vanish, and a title of many lines leaves the pages in order."""
    strange = "<b>Otter</b> & \x00\x07“Stoat”\u2028{{ 7*7 }} " + "very long indeed " * 20
    pages = printed.texts(press(content(source=passage("E4/4 F4/4 G4/4 E4/4", title=strange), studies=STUDIES[:2])))
    assert "<b>Otter</b> & “Stoat” {{ 7*7 }} very long indeed very" in pages[0]
    assert len(pages) == 6
    assert re.search(r"<b>Otter</b> & “Stoat” \{\{ 7\*7 \}\} very .*…", pages[4])


SCRIPTS = {
    "Russian": "Вечерний романс",
    "Thai": "เพลงน้ำ",
    "Greek": "Αργός χορός",
    "Hindi": "धीरे नदी",
    "polytonic": "Ἀργὸς χορός",
    "Hebrew": "שיר ערש",
    "Arabic": "أغنية الليل",
    "Chinese": "湖山夜曲",
    "Japanese": "静かな水",
    "Korean": "조용한 물",
    "signs": "№ 5 → ★ 𝄞",
    "private": "\ue050",
    "nothing": "\u200b",
    "picture": "🎸",
}


@pytest.mark.parametrize("first", range(0, len(SCRIPTS), 4), ids=lambda at: " and ".join([*SCRIPTS][at : at + 4]))
def test_a_title_in_any_script_is_printed(first: int) -> None:
    """Each letter is on the title page in its order, or a stand-in for it that a notice explains; never a refusal.

    Two scripts are the title's, the next two the composer's.
    """
    said = [*SCRIPTS.values()][first : first + 4]
    title, composer = " / ".join(said[:2]), " / ".join(said[2:])
    source = replace(passage("E4/4 F4/4 G4/4 E4/4", title=title), composer=composer)
    pages = printed.texts(press(content(source=source, studies=STUDIES[:1])))
    shown = unicodedata.normalize("NFKC", pages[0])
    lacking = missing(clean(title)) + missing(clean(composer))
    for text in (title, composer):
        expected = "".join("▯" if c in lacking else c for c in clean(text))
        if right_to_left(expected):
            # how letters that run backward come out of a PDF is the reader's choice
            assert set(unicodedata.normalize("NFKC", expected)) <= set(shown)
        else:
            assert unicodedata.normalize("NFKC", expected).replace(" ", "") in shown.replace(" ", "")
    for character in lacking:
        assert f"U+{ord(character):04X}" in pages[-1]
    assert ("▯ stands for" in pages[-1]) is bool(lacking)
    assert not missing(SCRIPTS["Russian"] + SCRIPTS["Greek"])


def test_words_over_the_music_that_no_font_has_are_told() -> None:
    """A word that is printed with the music gets its notice on the page that says what was changed.

    A title that looks like a list of figures is a title like any other, in the running head and everywhere.
    """
    said, title = Direction(bar=0, onset=Fraction(0), kind="words", text="dolce \U000f0000"), "qzjkvwxyfgqzjkvwxyfg"
    source = replace(passage("E4/4 F4/4 G4/4 E4/4", title=title), directions=(said,))
    pages = printed.texts(press(content(source=source, studies=STUDIES[:1])))
    assert "U+F0000; ▯ stands for it" in pages[-1]
    assert all(title in page for page in pages)


def test_a_title_from_the_right_begins_at_the_right(pdf: bytes) -> None:
    """Its ink reaches the right margin, where one from the left leaves room, and so does its composer's name."""
    source = replace(passage("E4/4 F4/4 G4/4 E4/4", title="שיר"), composer="שיר")
    for made, text in ((press(content(source=source, studies=STUDIES[:1])), "שיר"), (pdf, "Heron in the reeds")):
        page = pypdfium2.PdfDocument(made)[0]
        shown = page.get_textpage()
        place = max(shown.get_charbox(n)[2] for n in range(shown.count_chars()) if shown.get_text_range(n, 1) in text)
        assert (place > 0.8 * page.get_width()) is right_to_left(text)


def test_unknown_paper_is_refused() -> None:
    """A paper that is not stocked is named with those that are."""
    with pytest.raises(PressError, match=r"^paper 'B5' is not known \(known: A4, A5, Letter\)$"):
        music_width(Plan(paper="B5"))
    assert set(SIZES) == {"A4", "A5", "Letter"}


def test_nothing_is_fetched_but_the_books_own_fonts(
    book: BookContent, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """Printing opens no address and no library warns of style, picture or font; a page that asks for one is refused."""

    def refuse(*args: object, **_: object) -> None:
        raise AssertionError(f"fetched {args}")

    monkeypatch.setattr(urllib.request.OpenerDirector, "open", refuse)
    press(replace(book, sheets=book.sheets[:1], regimen=Regimen(steps=book.regimen.steps[:1])))
    assert [record.getMessage() for record in caplog.records if record.levelname in ("WARNING", "ERROR")] == []
    style = '<link rel="stylesheet" href="http://127.0.0.1/a.css">'
    face = '<style>@font-face { font-family: "Book"; src: url("engrave:roman.otf") }</style>'
    asking = f'<html lang="en"><title>x</title>{face}{style}<img src="file:///b" alt="b">'
    with pytest.raises(PressError) as caught, printer("", {}) as ready:
        ready.pdf(asking)
    assert str(caught.value).splitlines() == [
        "a page asks for 'http://127.0.0.1/a.css', which is not part of the book",
        "a page asks for 'file:///b', which is not part of the book",
    ]


PRINTED_ONCE = """
from engrave.pages import press
from tests.pages.conftest import STUDIES, content
press(content(studies=STUDIES[1:2]))
"""


def test_no_copy_of_a_font_is_left_behind(tmp_path: Path) -> None:
    """The folder that fonts are opened from is gone when the process that printed has ended."""
    environment: dict[str, Any] = {**os.environ, "TMPDIR": str(tmp_path)}
    subprocess.run([sys.executable, "-c", PRINTED_ONCE], cwd=ROOT, env=environment, capture_output=True, check=True)
    assert list(tmp_path.iterdir()) == []


def test_running_heads_and_long_headings_keep_to_their_room(book: BookContent) -> None:
    """A section's heading of any length is cut in the running head; many tempo steps are told briefly in the index."""
    heading = "Everything that was ever slow, careful and quiet, " * 6
    steps = tuple(
        replace(sheet.step, section=heading, tempo=tuple(range(40, 64, 2)), times=30, reason="Why so. " * 40)
        for sheet in book.sheets
    )
    sheets = tuple(replace(sheet, step=step) for sheet, step in zip(book.sheets, steps, strict=True))
    pages = printed.texts(press(replace(book, sheets=sheets, regimen=Regimen(steps=steps))))
    assert "30 × ♩ = 40 … 62" in pages[2]
    found = re.search(r"Heron in the reeds (Everything that [^…]*…) 2 of 4", pages[4])
    assert found
    assert width_mm(f"Heron in the reeds\u2003{found[1]}", 9) < music_width(Plan())
    assert len(pages) == 8
