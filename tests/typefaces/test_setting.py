"""Text as outlines: letters of any script, in the order they are printed, and a stand-in for what nothing has."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from bidi import get_display
from fontTools.pens.boundsPen import BoundsPen  # type: ignore[import-untyped]
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

from engrave.model import Segment
from engrave.plates import lettering
from engrave.typefaces import FACES, STAND_IN, clean, cut, face_of, has, machine, own, right_to_left
from engrave.typefaces.shaping import _in_order, _runs

ROOT = Path(__file__).resolve().parents[2]
RUSSIAN, GREEK = "Романс", "Αργά και ήσυχα"


def width(text: str, face: str = "italic") -> float:
    """How far the ink of a text reaches."""
    return max((v for _, points in outline(text, face) for v in points[::2]), default=0.0)


def outline(text: str, face: str = "italic") -> tuple[Segment, ...]:
    """A text as a plate prints it."""
    return lettering.outline(text, face)[1]


@pytest.mark.parametrize("name", FACES)
@pytest.mark.parametrize("text", [RUSSIAN, GREEK, "Қазақ ћирилица", "№ 5 →"])
def test_greek_and_cyrillic_are_the_books_own(text: str, name: str) -> None:
    """In each face every letter has ink of the book's own family: the upright face helps where the italic lacks it."""
    ours = {own(face) for face in FACES}
    for character in text:
        assert face_of(character, name) in ours, character
        assert character == " " or outline(character, name), character


def test_the_face_asked_for_goes_first() -> None:
    """A Latin word with a Russian one is set in italics as far as those go, and nothing of it is left out."""
    assert face_of("A", "italic") == own("italic")
    assert face_of("Р", "italic") == own("roman")
    mixed = outline(f"Andante {RUSSIAN}")
    assert mixed[: len(outline("Andante"))] == outline("Andante")
    assert len(mixed) == len(outline("Andante")) + len(outline(RUSSIAN))


def test_an_outline_is_that_of_the_font_file() -> None:
    """The ink of each letter lies where fontTools, another reader of fonts, says it does."""
    font = TTFont(own("roman").file)
    for character in "AgjQЖщωß":
        pen = BoundsPen(font.getGlyphSet())
        font.getGlyphSet()[font.getBestCmap()[ord(character)]].draw(pen)
        left, _, right, top = pen.bounds
        xs = [v for _, points in outline(character, "roman") for v in points[::2]]
        ys = [v for _, points in outline(character, "roman") for v in points[1::2]]
        assert min(xs) >= left - 60
        assert max(xs) <= right + 60
        assert (-min(ys), max(xs)) == pytest.approx((top, right), abs=1 if character not in "gQщωß" else 60)


@pytest.mark.parametrize(
    "text", ["\u200b", "\u200b\ufeff", "", " ", "\u202e\u202c"], ids=["zero width", "two", "none", "space", "marks"]
)
def test_signs_without_ink_print_nothing(text: str) -> None:
    """A word of nothing but invisible signs is an empty outline, and no error."""
    assert outline(text) == ()


@pytest.mark.parametrize("character", ["\U000f0000", "\ue050", "\U0001f3b8\ufe0f"[0], "\u5c71", "\u0e01", "★"])
def test_what_nothing_has_is_a_stand_in(character: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a machine without fonts a letter the book lacks is printed as a box, as wide as a letter."""
    monkeypatch.setattr(machine, "fonts_with", lambda _: ())
    face_of.cache_clear()
    lettering._set.cache_clear()
    try:
        assert face_of(character) is None
        assert outline(f"a{character}b")
        assert outline(character) == outline(STAND_IN) != ()
        assert width(f"a{character}") > width("a") + 200
    finally:
        face_of.cache_clear()
        lettering._set.cache_clear()


@pytest.mark.parametrize(
    "text",
    [
        "abc", "שלום", "שקט ועדין 12 forte", "a אב 12 גד b", "שיר ערש 3 Романс", "12 אב", "abc אבג 5 דה", "ab 12 cd אב",
        "سكون وهدوء 7", "3 سكون x", "אב, גד – ab", "adagio – אב", "א1ב2ג", "x1 א 1x",
    ],
)  # fmt: skip
def test_letters_stand_in_the_order_of_unicodes_algorithm(text: str) -> None:
    """Runs from left to right, each turned as it is read, give what python-bidi (UAX 9) says."""
    runs = _in_order(_runs(text, "roman", {}))
    assert "".join(run.text[::-1] if run.level % 2 else run.text for run in runs) == get_display(text)


@pytest.mark.parametrize(("text", "backward"), [("ab אב", False), ("1 אב ab", True), ("!", False), ("سلام", True)])
def test_the_first_letter_says_which_way_a_text_runs(text: str, backward: bool) -> None:
    """Figures and signs do not (UAX 9, P2 and P3)."""
    assert right_to_left(text) is backward


def test_a_cut_face_has_its_letters_and_no_others() -> None:
    """Read by fontTools, a face cut to some letters has just those; it is a small part of the file."""
    made = cut(own("roman"), "abЖω ")
    from io import BytesIO  # noqa: PLC0415

    assert set(TTFont(BytesIO(made)).getBestCmap()) == set(map(ord, "abЖω "))
    assert len(made) < Path(own("roman").file).stat().st_size / 20
    assert made == cut(own("roman"), " ωЖba")


def test_the_machines_fonts_have_what_they_are_said_to_have() -> None:
    """Whatever Fontconfig names for a letter is a file that has it; a letter of nobody has none."""
    for character in "★山שسก":
        for file, _ in machine.fonts_with(character):
            assert Path(file).is_file()
        face = face_of(character)
        assert face is None or has(face, character)
    assert machine.fonts_with("\U000fffff") == ()


def test_text_is_cleaned_to_one_line() -> None:
    """Composed letters, blanks for controls, no marks of direction, no halves of pairs."""
    assert clean("Ro\u0301mans\nза\u200bл \u202eab\u202c\ud800") == "Rómans зал ab"


def test_without_fontconfig_there_are_no_fonts_of_the_machine() -> None:
    """A machine that has no such library is one without fonts, and no error."""
    code = (
        "import ctypes\nfrom engrave.typefaces import machine, face_of\n"
        "def none(name): raise OSError(name)\n"
        "machine.ctypes.CDLL = none\nprint(machine.fonts_with('a'), face_of('山'), face_of('a') is not None)"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.split("\n")[0] == "() None True"
