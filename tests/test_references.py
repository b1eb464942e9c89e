"""Our truth against what nobody here wrote: standards, published tables, and facts of the trade.

Each check names its source. "Common practice" marks facts that players share and nobody can be named for.
"""

from __future__ import annotations

import io
import json
import re
import zipfile
from importlib import import_module
from importlib.util import find_spec
from itertools import permutations
from math import lcm
from pathlib import Path
from typing import Any

import pytest

from engrave import reading
from engrave.axes import ORDER, axis, vary
from engrave.axes.defaults import HABITS
from engrave.exchange import frame, to_musicxml, to_mxl
from engrave.instruments import find_instrument
from engrave.line import built_in, line_of
from engrave.model import Declined, Plan, Study, Variation
from engrave.pages.paper import SIZES
from tests.build import passage

ROOT = Path(__file__).resolve().parent.parent


def test_glyphs_are_what_smufl_calls_them() -> None:
    """Code points that plates are read by bear the names we take them for (SMuFL glyphnames.json, PyPI `smufolib`)."""
    spec = find_spec("smufolib")
    assert spec is not None
    assert spec.origin is not None
    names = json.loads((Path(spec.origin).parent / "metadata/glyphnames.json").read_text(encoding="utf-8"))
    meant = {
        "E052": "gClef8vb",
        "E260": "accidentalFlat",
        "E261": "accidentalNatural",
        "E262": "accidentalSharp",
        "E263": "accidentalDoubleSharp",
        "E264": "accidentalDoubleFlat",
        "E4A0": "articAccentAbove",
        "E4A1": "articAccentBelow",
        "E4AC": "articMarcatoAbove",
        "E4AD": "articMarcatoBelow",
    }
    for code, name in meant.items():
        assert names[name]["codepoint"] == f"U+{code}"
    readers = [*sorted((ROOT / "engrave/plates").glob("*.py")), ROOT / "tests/plates/readback.py"]
    sources = "".join(p.read_text(encoding="utf-8") for p in readers)
    assert set(re.findall(r'"(E[0-9A-F]{3})"', sources)) == meant.keys()


@pytest.mark.parametrize(
    ("string", "hertz"), [(1, 329.63), (2, 246.94), (3, 196.00), (4, 146.83), (5, 110.00), (6, 82.41)]
)
def test_open_strings_sound_as_published(string: int, hertz: float) -> None:
    """Open strings in Hz to two decimals: equal temperament (frequency ratio 2^(1/12)) at A4 = 440 Hz (ISO 16)."""
    midi = find_instrument("standard").midi(string, 0)
    assert round(440 * 2 ** ((midi - 69) / 12), 2) == hertz


def test_frets_lie_where_the_rule_of_the_twelfth_root_puts_them() -> None:
    """Fret places of a 650 mm string in mm, from L(1 - 2^(-n/12)); builders' divisor 17.817 gives the first."""
    table = [36.5, 70.9, 103.4, 134.1, 163.1, 190.4, 216.2, 240.5, 263.5, 285.2, 305.7, 325.0]
    guitar = find_instrument("standard")
    assert [round(guitar.mm(fret), 1) for fret in range(1, 13)] == table
    assert abs(guitar.mm(1) - 650 / 17.817) < 0.01


@pytest.mark.parametrize("fret", range(1, 20))
def test_what_is_left_of_the_string_sounds_the_pitch_of_the_fret(fret: int) -> None:
    """A string's frequency goes with one over its length (Mersenne, 1636); pitches as music21 sounds them."""
    from music21.pitch import Pitch as Sounding  # noqa: PLC0415 only here: half a second

    guitar = find_instrument("standard")
    ratio = Sounding(midi=64 + fret).frequency / Sounding(midi=64).frequency
    assert 650 / (650 - guitar.mm(fret)) == pytest.approx(ratio, rel=1e-9)


def line(*voices: str) -> Variation:
    """A line of a test passage with both hands."""
    return line_of(passage(*voices), Plan())


def varied(base: Variation, **settings: str) -> Variation:
    """`base` under the study of these settings, which must apply."""
    made = vary(base, Study(**settings))  # type: ignore[arg-type]
    assert isinstance(made, Variation), made
    return made


def letters(made: Variation) -> list[str]:
    """Plucking letters in order."""
    return [note.stroke.finger for note in made.passage.notes if note.stroke]


def test_there_are_ten_pairs_and_twenty_with_a_start() -> None:
    """Five plucking fingers make ten pairs, twenty with the starting finger (arithmetic; common practice)."""
    names = {setting.name for setting in axis("pluck").settings}
    pairs = {f"{a}-{b}" for a, b in permutations("pimac", 2)}
    assert pairs <= names
    assert len(pairs) == 20
    assert len({frozenset(pair.split("-")) for pair in pairs}) == 10


def test_a_m_i_over_alternate_notes_comes_round_after_six() -> None:
    """Accents of a-m-i on every other note fall on a, i, m and return after six notes (common practice; lcm(3, 2))."""
    twos = "F4:1.1.1/8 E4:1.0/8 G4:1.3.3/8 E4:1.0/8 F4:1.1.1/8 E4:1.0/8 G4:1.3.3/8 E4:1.0/8"
    made = varied(line(f"{twos} | {twos} | {twos}"), pluck="a-m-i", accent="fretted notes")
    assert letters(made)[:7] == ["a", "m", "i", "a", "m", "i", "a"]
    accents = [
        note.stroke.finger for e in made.passage.events if "accent" in e.marks for note in e.notes if note.stroke
    ]
    assert accents == ["a", "i", "m"] * (len(accents) // (lcm(3, 2) // 2))


def test_the_tremolo_goes_p_a_m_i() -> None:
    """Tremolo order is p, a, m, i (common practice)."""
    made = varied(line("C3/4 D3/4 E3/4 F3/4"), pluck="tremolo p-a-m-i")
    assert letters(made) == ["p", "a", "m", "i"] * 4


def test_a_box_is_four_fingers_over_four_frets() -> None:
    """One finger a fret: in a position n finger k stops fret n + k - 1 (common practice)."""
    made = varied(line("F4/4 F#4/4 G4/4 G#4/4"), fret="box")
    placed = [note.placement for note in made.passage.notes]
    assert [p.finger for p in placed if p] == [1, 2, 3, 4]
    assert all(p is not None and p.fret == p.position + p.finger - 1 for p in placed)


def test_the_built_in_line_can_be_played_on_every_string() -> None:
    """One line is studied on all six strings (common practice): the built-in one as far down as its two strings go."""
    data, name = built_in()
    base = line_of(reading.read(data, name), Plan())
    reached: set[int] = set()
    for string in range(1, 7):
        made = vary(base, Study(strings=f"shape on {string}"))
        if not isinstance(made, Declined):
            reached |= {note.placement.string for note in made.passage.notes if note.placement}
    reached |= {note.placement.string for note in base.passage.notes if note.placement}
    assert reached == {1, 2, 3, 4, 5, 6}


def test_times_through_are_those_of_the_trade() -> None:
    """One to three times keeps a technique in view, ten and more studies it (common practice): defaults stay within."""
    assert all(1 <= habit.times <= 30 for habit in HABITS.values())


@pytest.mark.parametrize("formula", ["p-i-m", "p-i-m-i", "p-i-m-a", "p-i-m-a-m-i"])
def test_a_formula_prints_its_letters(formula: str) -> None:
    """A formula over a chord gives its letters in order, p on the lowest string."""
    made = varied(line("C3+G3+C4+E4/1"), pluck=f"arpeggio {formula}")
    assert letters(made) == formula.split("-")
    strings = [note.placement.string for note in made.passage.notes if note.placement]
    assert strings[0] == max(strings)


def test_a_printed_right_hand_formula_comes_out() -> None:
    """Carcassi's chord of D (p i m i a i m i, op. 59, prelude in D; Ditson, 1906) is broken as he letters it."""
    made = varied(line("D3+A3+D4+F#4/1"), pluck="arpeggio p-i-m-i-a-i-m-i")
    printed = [("D3", "p"), ("A3", "i"), ("D4", "m"), ("A3", "i"), ("F♯4", "a"), ("A3", "i"), ("D4", "m"), ("A3", "i")]
    assert [(str(n.pitch), n.stroke.finger) for n in made.passage.notes if n.stroke] == printed


@pytest.mark.parametrize(("size", "printed"), [("A4", (210, 297))])
def test_paper_has_the_measures_of_its_standard(size: str, printed: tuple[int, int]) -> None:
    """ISO 216: A0 has a square metre with sides as 1 to the root of 2, each next is half the one before, whole mm."""
    number = int(size[1:])
    side = 1000 * 2 ** (-1 / 4 - number / 2)
    assert (int(side + 0.2), int(side * 2**0.5 + 0.2)) == printed == SIZES[size]
    assert tuple(round(inches * 25.4, 1) for inches in (8.5, 11)) == SIZES["Letter"]


def test_the_sound_is_the_nylon_guitar_of_general_midi() -> None:
    """General MIDI Level 1 (MMA, 1991): program 25, from 1, is "Acoustic Guitar (nylon)"; music21 has it, too."""
    other: Any = import_module("music21.instrument")
    assert other.AcousticGuitar().midiProgram == frame.NYLON - 1 == import_module("engrave.exchange.midi").NYLON == 24


def test_the_compressed_file_names_itself_as_the_w3c_says() -> None:
    """MusicXML 4.0, "Compressed .mxl files": a first entry "mimetype", stored as it is, and the root file's type."""
    data = to_mxl(to_musicxml([line("E4/1")]))
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        first = archive.infolist()[0]
        assert (first.filename, first.compress_type) == ("mimetype", zipfile.ZIP_STORED)
        assert archive.read(first) == b"application/vnd.recordare.musicxml"
        assert b'media-type="application/vnd.recordare.musicxml+xml"' in archive.read("META-INF/container.xml")


def test_axes_apply_in_the_order_stated() -> None:
    """A later axis sees what an earlier one did: a slurred note takes no stroke from the pluck axis."""
    assert [known.name for known in ORDER] == ["strings", "rhythm", "fret", "slurs", "pluck", "stroke", "accent"]
    made = varied(line("F4:1.1/4 E4:1.0/4 G4:1.3/4 E4:1.0/4"), slurs="to open", pluck="i-m")
    assert [bool(note.stroke) for note in made.passage.notes] == [True, False, True, False]
    assert letters(made) == ["i", "m"]
