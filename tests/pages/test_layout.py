"""How a page is shared out, and that lines of text are counted as they are set."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.model import Plan, Plate, System
from engrave.pages.fonts import FACES, font_file, lines, shortened, width_mm
from engrave.pages.layout import BAND, GAP, LOG_HEAD, LOG_ROW, SAFE, WIDEST, arrange
from engrave.pages.paper import ROOMY, staff_for
from engrave.pages.press import _no_machine_fonts, fetcher
from engrave.pages.words import beat_sign, listed, places_text, runs

MM = st.floats(min_value=0, max_value=80)


@given(
    systems=st.lists(st.floats(min_value=8, max_value=60), min_size=1, max_size=14),
    head=MM,
    foot=MM,
    neck=st.floats(min_value=1, max_value=60),
    scale=st.sampled_from([1.0, 1.2]),
)
def test_what_stands_on_one_page_fits_it(
    systems: list[float], head: float, foot: float, neck: float, scale: float
) -> None:
    """Head, music, gaps, neck, figures and log of a single page add up to the room there is."""
    made = arrange(tuple(systems), room=250, head=head, foot=foot, neck=neck, scale=scale)
    assert GAP <= made.gap <= WIDEST
    assert made.push >= BAND
    if made.single:
        below = foot + neck * made.neck + (LOG_HEAD + LOG_ROW * made.log) * scale * (made.log > 0)
        total = head + made.lead + sum(systems) + made.gap * (len(systems) - 1) + made.push + below
        assert total <= 250 - SAFE + 1e-6
    else:
        assert head + sum(systems) + GAP * (len(systems) - 1) + BAND + foot > 250 - SAFE


def test_more_music_leaves_less_for_the_rest() -> None:
    """As systems are added, first the log goes, then the neck, then the single page."""
    pages = [arrange((30.0,) * count, room=250, head=30, foot=35, neck=36) for count in range(1, 8)]
    assert [made.log for made in pages] == sorted((made.log for made in pages), reverse=True)
    assert [made.neck for made in pages] == sorted((made.neck for made in pages), reverse=True)
    assert [made.single for made in pages] == sorted((made.single for made in pages), reverse=True)
    assert pages[0].log > 2
    assert not pages[-1].single


def test_a_short_line_gets_a_larger_staff_unless_the_plan_sets_one() -> None:
    """Two systems leave room for a larger staff; ten do not; a height the plan names stays."""
    system = System(width=170, height=28, first=0, last=0, marks=())
    short, long = (Plate(staff=7.2, systems=(system,) * count, outlines={}) for count in (2, 10))
    assert staff_for(Plan(), short) == ROOMY
    assert staff_for(Plan(), long) == Plan().staff
    assert staff_for(Plan(staff=6.2), short) == 6.2
    assert 7.0 <= ROOMY <= 8.5, "a staff under 7.0 mm is unacceptable, over 8.5 mm to avoid (MOLA guidelines, 2017)"


SENTENCES = (
    "Three fingers over notes in twos and fours: the beat falls on another finger each time.",
    "AWAY To Vary AV Ty. fluffy office affliction, " * 5,
    "Listen for an even stream; if you hear threes, one finger is louder than the rest.",
    "i m in turn; rest and free stroke by beats",
    "Ωmega жук über Łódź – ♯ and ♭ on ⑥ at ♩ = 60, " * 4,
    "Eins-zwei-drei-vier fünf " * 11,
)


@pytest.mark.parametrize(
    ("face", "points"), [("regular", 10.5), ("regular", 9.0), ("semibold", 17.0), ("italic", 10.5)]
)
def test_lines_are_counted_as_they_are_set(face: str, points: float) -> None:
    """No text takes more lines on the page than the layout reckons, nor more than one fewer.

    The reference is WeasyPrint's own line breaking at a width of 150 mm.
    """
    _, weight, style = FACES[face]
    url = font_file(face).as_uri()
    css = (
        f'@font-face {{ font-family: "Book"; src: url("{url}"); font-weight: {weight}; font-style: {style} }}'
        f'p {{ font: {style} {weight} {points}pt/1 "Book"; width: 150mm; margin: 0 }} @page {{ size: 300mm }}'
    )
    sentences = [text for text in SENTENCES if "♯" not in text]
    body = "".join(f"<p>{text}</p>" for text in sentences)
    with _no_machine_fonts():
        import weasyprint  # noqa: PLC0415 (it looks for fonts when it is loaded)

        html = weasyprint.HTML(string=f"<style>{css}</style>{body}", url_fetcher=fetcher(lambda _: None))
        page: Any = html.render().pages[0]._page_box
    boxes = page.children[0].children[0].children
    real = [len(box.children) for box in boxes]
    reckoned = [lines(text, points, 150, face) for text in sentences]
    assert len(real) == len(sentences)
    assert all(set_ <= counted <= set_ + 1 for set_, counted in zip(real, reckoned, strict=True))


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
