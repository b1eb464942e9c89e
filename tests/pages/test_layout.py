"""How a page is shared out."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.model import Plan, Plate, System
from engrave.pages.fonts import shortened, width_mm
from engrave.pages.layout import BAND, GAP, LOG_HEAD, LOG_ROW, SAFE, WIDEST, arrange
from engrave.pages.paper import ROOMY, staff_for
from engrave.pages.words import beat_sign, listed, places_text, runs

ROOM = 250.0
NECK = 40.0
MM = st.floats(min_value=0, max_value=80)


@given(
    systems=st.lists(st.floats(min_value=8, max_value=80), min_size=1, max_size=30),
    head=MM,
    foot=MM,
    neck=st.floats(min_value=1, max_value=60),
    scale=st.sampled_from([1.0, 1.2]),
)
def test_what_stands_on_a_page_fits_it(
    systems: list[float], head: float, foot: float, neck: float, scale: float
) -> None:
    """Every system stands on one page, and head, music, gaps, neck, figures and log add up to the room there is."""
    pages = arrange(tuple(systems), room=ROOM, head=head, foot=foot, neck=neck, scale=scale)
    assert sum(page.systems for page in pages) == len(systems)
    start = 0
    for number, page in enumerate(pages):
        last = number == len(pages) - 1
        here = systems[start : start + page.systems]
        start += page.systems
        total = (head + page.lead if number == 0 else 0) + sum(here) + page.gap * max(0, len(here) - 1)
        if last:
            total += page.push + foot + neck * page.neck + (LOG_HEAD + LOG_ROW * page.log) * scale * (page.log > 0)
        else:
            assert (page.neck, page.log, page.push) == (False, 0, 0)
            assert page.systems
        assert GAP <= page.gap <= WIDEST + 1e-9
        assert total <= ROOM - SAFE + 1e-6


@given(systems=st.lists(st.floats(min_value=8, max_value=80), min_size=1, max_size=8), head=MM, foot=MM)
def test_no_fewer_pages_would_do_nor_a_more_even_spread(systems: list[float], head: float, foot: float) -> None:
    """Against every way of dividing the systems: the fewest pages, and the fullest of them as empty as can be.

    The neck counts where it fits, so that the last page does not draw music to itself that it has no room for.
    """
    made = [page.systems for page in arrange(tuple(systems), room=ROOM, head=head, foot=foot, neck=NECK)]
    for pages in range(1, len(made) + 1):
        ways = [w for w in divisions(len(systems), pages) if fullest(systems, w, head, foot) <= ROOM - SAFE]
        if pages < len(made):
            assert not ways
        else:
            best = min(fullest(systems, way, head, foot, NECK) for way in ways)
            assert fullest(systems, made, head, foot, NECK) <= best + 1e-9


def test_a_tall_last_page_leaves_music_to_the_first() -> None:
    """Three tall systems: two stand under the head, the third with the neck, not the other way about."""
    pages = arrange((70.0, 70.0, 70.0), room=ROOM, head=50, foot=50, neck=45)
    assert [page.systems for page in pages] == [2, 1]
    assert pages[-1].neck


def divisions(count: int, pages: int) -> Iterator[list[int]]:
    """Every way to put `count` systems on so many pages, one at least on each but the last."""
    if pages == 1:
        yield [count]
        return
    for first in range(1, count + 1):
        yield from ([first, *rest] for rest in divisions(count - first, pages - 1))


def fullest(systems: list[float], counts: list[int], head: float, foot: float, neck: float = 0.0) -> float:
    """What the fullest page holds, gaps at their least, and the neck as far as there is room."""
    filled, start = [], 0
    for number, count in enumerate(counts):
        here = systems[start : start + count]
        start += count
        extra = (head if number == 0 else 0) + (foot + BAND if number == len(counts) - 1 else 0)
        filled.append(sum(here) + GAP * max(0, count - 1) + extra)
    filled[-1] = max(filled[-1], min(filled[-1] + neck, ROOM - SAFE))
    return max(filled)


def test_more_music_leaves_less_for_the_rest() -> None:
    """As systems are added to a page, first the log goes, then the neck, then there are two pages."""
    made = [arrange((30.0,) * count, room=ROOM, head=30, foot=35, neck=36) for count in range(1, 8)]
    single = [pages[0] for pages in made if len(pages) == 1]
    assert [page.log for page in single] == sorted((page.log for page in single), reverse=True)
    assert [page.neck for page in single] == sorted((page.neck for page in single), reverse=True)
    assert [len(pages) for pages in made] == sorted(len(pages) for pages in made)
    assert single[0].log > 2
    assert [page.systems for page in made[-1]] == [4, 3]


def test_a_short_line_gets_a_larger_staff_unless_the_plan_sets_one() -> None:
    """Two systems leave room for a larger staff; ten do not; a height the plan names stays."""
    system = System(width=170, height=28, first=0, last=0, over=())
    short, long = (Plate(staff=7.2, systems=(system,) * count, outlines={}) for count in (2, 10))
    assert staff_for(Plan(), short) == ROOMY
    assert staff_for(Plan(), long) == Plan().staff
    assert staff_for(Plan(staff=6.2), short) == 6.2
    assert 7.0 <= ROOMY <= 8.5, "a staff under 7.0 mm is unacceptable, over 8.5 mm to avoid (MOLA guidelines, 2017)"


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
