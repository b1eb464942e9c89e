"""How a page is shared out."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.model import Plan, Plate, System
from engrave.model.wording import listed
from engrave.pages.fonts import shortened, width_mm
from engrave.pages.layout import BAND, GAP, LOG_LEAST, LOG_ROWS, SAFE, WIDEST, arrange, log_height
from engrave.pages.paper import fits_page, staves_for
from engrave.pages.words import beat_sign, places_text, runs

ROOM = 250.0
MM = st.floats(min_value=0, max_value=80)


@given(
    systems=st.lists(st.floats(min_value=8, max_value=80), min_size=1, max_size=30),
    head=MM,
    ladder=st.floats(min_value=0, max_value=30),
    neck=st.floats(min_value=1, max_value=60),
    scale=st.sampled_from([1.0, 1.2]),
)
def test_what_stands_on_a_page_fits_it(
    systems: list[float], head: float, ladder: float, neck: float, scale: float
) -> None:
    """Every system stands on one page; head, music, gaps, neck, ladder and log end at the same height on every page."""
    pages = arrange(tuple(systems), room=ROOM, head=head, ladder=ladder, neck=neck, scale=scale)
    assert sum(page.systems for page in pages) == len(systems)
    start = 0
    for number, page in enumerate(pages):
        last = number == len(pages) - 1
        here = systems[start : start + page.systems]
        start += page.systems
        total = (head + page.lead if number == 0 else 0) + sum(here) + page.gap * max(0, len(here) - 1)
        total += page.push + log_height(page.log) * scale
        if last:
            total += ladder + neck * page.neck
        else:
            assert not page.neck
            assert page.systems
        assert LOG_LEAST <= page.log <= LOG_ROWS
        assert GAP <= page.gap <= WIDEST + 1e-9
        high = len(here) == 1 and here[0] + (head if number == 0 else 0) > ROOM / 2
        assert high or total == pytest.approx(ROOM - SAFE)


@given(systems=st.lists(st.floats(min_value=8, max_value=80), min_size=1, max_size=8), head=MM, ladder=MM)
def test_no_fewer_pages_would_do_nor_a_more_even_spread(systems: list[float], head: float, ladder: float) -> None:
    """Against every way of dividing the systems: the fewest pages, and the fullest of them as empty as can be."""
    room = ROOM - SAFE - BAND - log_height()
    made = [page.systems for page in arrange(tuple(systems), room=ROOM, head=head, ladder=ladder, neck=0)]
    if fullest(systems, made, head, ladder) > room:
        return  # a system too high for its page
    for pages in range(1, len(made) + 1):
        ways = [way for way in divisions(len(systems), pages) if fullest(systems, way, head, ladder) <= room]
        if pages < len(made):
            assert not ways
        else:
            best = min(fullest(systems, way, head, ladder) for way in ways)
            assert fullest(systems, made, head, ladder) <= best + 1e-9


def divisions(count: int, pages: int) -> Iterator[list[int]]:
    """Every way to put `count` systems on so many pages, one at least on each but the last."""
    if pages == 1:
        yield [count]
        return
    for first in range(1, count + 1):
        yield from ([first, *rest] for rest in divisions(count - first, pages - 1))


def fullest(systems: list[float], counts: list[int], head: float, ladder: float) -> float:
    """What the fullest page holds, gaps at their least, without the log."""
    filled, start = [], 0
    for number, count in enumerate(counts):
        here = systems[start : start + count]
        start += count
        extra = (head if number == 0 else 0) + (ladder if number == len(counts) - 1 else 0)
        filled.append(sum(here) + GAP * max(0, count - 1) + extra)
    return max(filled)


def test_more_music_leaves_less_for_the_rest() -> None:
    """As systems are added to a page, first lines of the log go, then the neck, then there are two pages."""
    made = [arrange((30.0,) * count, room=ROOM, head=30, ladder=8, neck=36) for count in range(1, 9)]
    single = [pages[0] for pages in made if len(pages) == 1]
    assert [page.log for page in single] == sorted((page.log for page in single), reverse=True)
    assert [page.neck for page in single] == sorted((page.neck for page in single), reverse=True)
    assert [len(pages) for pages in made] == sorted(len(pages) for pages in made)
    assert single[0].log > LOG_LEAST
    assert [page.systems for page in made[-1]] == [4, 4]


def test_systems_stand_evenly() -> None:
    """The room between two systems is the same all over a page, and as large as what is left allows."""
    (page,) = arrange((30.0,) * 4, room=ROOM, head=40, ladder=8, neck=0)
    left = ROOM - SAFE - BAND - log_height() - 8 - 40 - 120
    assert page.gap == pytest.approx(GAP + (left - 3 * GAP) / 4)
    assert page.log == LOG_LEAST


def test_music_that_a_smaller_staff_puts_on_one_page_takes_one() -> None:
    """Six systems fit a page, nine do not; only a plan that leaves the staff at its default has others to try."""
    system = System(width=170, height=25, first=0, last=0, over=())
    short, long = (Plate(staff=7.2, systems=(system,) * count, outlines={}) for count in (5, 9))
    assert fits_page(Plan(), short)
    assert not fits_page(Plan(), long)
    assert staves_for(Plan(staff=6.2)) == (6.2,)
    high = staves_for(Plan())
    assert high == tuple(sorted(high, reverse=True))
    assert high[0] == 8.5, "a staff over 8.5 mm is to be avoided (MOLA guidelines, 2017)"


@settings(max_examples=60)
@given(text=st.text(alphabet="abcdefgh WMil.,", max_size=120), room=st.floats(min_value=8, max_value=120))
def test_a_shortened_text_fits_its_room(text: str, room: float) -> None:
    """What is wider than its room is cut with an ellipsis; what fits is left alone."""
    made = shortened(text, 9, room)
    assert width_mm(made, 9) <= room
    assert made == text if width_mm(text, 9) <= room else made.endswith("…")


def test_beats_are_printed_as_notes() -> None:
    """A beat of 1 quarter is a quarter note, of 3 eighths a dotted one; what no note spells is said."""
    wanted = {
        Fraction(1): "♩",
        Fraction(3, 2): "♩.",
        Fraction(1, 2): "♪",
        Fraction(2): "\U0001d15e",
        Fraction(5, 4): "beat",
    }
    assert {beat: beat_sign(beat) for beat in wanted} == wanted


def test_numbers_and_lists_read_as_sentences() -> None:
    """Runs of places are drawn together; lists end in "and"."""
    assert runs([1, 2, 3, 5, 6, 9]) == "1–3, 5, 6, 9"
    assert runs([]) == ""
    assert [places_text(n, 12) for n in ((), tuple(range(1, 13)), (*range(1, 8), *range(9, 13)), (2, 3, 4))] == [
        "–",
        "all",
        "all but 8",
        "2–4",
    ]
    assert listed(["p"]) == "p"
    assert listed(["p", "i", "m"]) == "p, i and m"
