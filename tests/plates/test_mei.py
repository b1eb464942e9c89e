"""The bars as MEI: what is beamed, which signs are printed, what is tied."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engrave.plates.mei import beams, mei, shown_accidentals, tied_pairs
from tests.build import passage
from tests.plates.textures import TEXTURES

MEI = "{http://www.music-encoding.org/ns/mei}"


@pytest.mark.parametrize(
    ("metre", "text", "runs"),
    [
        ("4/4", "E4/8 E4/8 E4/8 E4/8 E4/4 E4/8 E4/8", [(0, 1), (2, 3), (5, 6)]),
        ("3/4", "E4/8 E4/8 E4/8 E4/8 E4/8 E4/8", [(0, 1), (2, 3), (4, 5)]),
        ("6/8", "E4/8 E4/8 E4/8 E4/8 E4/8 E4/8", [(0, 2), (3, 5)]),
        ("3+2/8", "E4/8 E4/8 E4/8 E4/8 E4/8", [(0, 2), (3, 4)]),
        ("3/8", "E4/8 E4/16 E4/16 E4/8", [(0, 3)]),
        ("2/4", "E4/16 r/16 E4/16 E4/16 <F4/16 E4/8 E4/8", [(2, 3), (5, 6)]),
        ("4/4", "E4/8 E4/4 E4/8 E4/2", []),
    ],
)
def test_beams_keep_to_the_groups_of_the_metre(metre: str, text: str, runs: list[tuple[int, int]]) -> None:
    """A beam joins what lies in one group of the metre and breaks at rests and longer notes (common practice)."""
    music = passage(text, metre=metre)
    assert beams(music.bars[0], music.events) == runs


def test_a_pickup_beams_as_the_end_of_its_bar() -> None:
    """A pickup of three eighths in 4/4 has its first eighth alone: it is the end of the third beat."""
    music = passage("E4/8 E4/8 E4/8 | E4/1", pickup=True)
    assert beams(music.bars[0], music.events[:3]) == [(1, 2)]


def test_a_sign_is_printed_once_a_bar_and_undone_when_it_ends() -> None:
    """A sign holds for its place to the end of the bar, in every voice; a natural undoes it; a tie needs none."""
    music = passage("F#4/4 F#4/4 F4/4 F#3/4 | F#4/2 F#4~/2 | F#4/2 F#4/2", "s/1 | s/2 F#3/2 | s/1")
    shown = shown_accidentals(music)
    told = [(str(n.pitch), shown.get(n.id)) for n in music.notes]
    assert told == [
        ("F♯4", 1),
        ("F♯4", None),
        ("F4", 0),
        ("F♯3", 1),
        ("F♯4", 1),
        ("F♯4", None),
        ("F♯3", 1),
        ("F♯4", None),
        ("F♯4", 1),
    ]


def test_the_key_holds_where_no_sign_does() -> None:
    """Notes of the key carry no sign, others do."""
    music = passage("F#4/4 C#4/4 F4/4 G4/4", fifths=2)
    assert list(shown_accidentals(music).values()) == [0]


def test_a_tie_joins_the_same_pitch_across_the_bar_line() -> None:
    """Each tied pair is found once, bar lines or not, and its two ends are the same pitch."""
    music = passage("E4~/2 E4~/2 | E4/2 C4+G4~/2 | C4+G4/1")
    pairs = tied_pairs(music)
    assert [(str(a.pitch), str(b.pitch)) for a, b in pairs] == [("E4", "E4"), ("E4", "E4"), ("G4", "G4")]


@pytest.mark.parametrize("music", TEXTURES.values(), ids=TEXTURES)
def test_every_note_and_bar_is_written(music: object) -> None:
    """The MEI is well formed and holds each bar and each note once, by our own ids."""
    assert hasattr(music, "notes")
    root = ET.fromstring(mei(music))  # type: ignore[arg-type] # noqa: S314 (our own text)
    heads = [e for e in root.iter() if e.tag in (f"{MEI}note",)]
    assert len(heads) == len(list(music.notes))
    assert len(list(root.iter(f"{MEI}measure"))) == len(music.bars)  # type: ignore[attr-defined]


@given(st.lists(st.sampled_from(["E4/16", "F4/8", "r/8", "G4/8.", "A4/4", "B4/16"]), min_size=1, max_size=24))
def test_beams_hold_only_short_notes_of_one_group(words: list[str]) -> None:
    """Whatever the rhythm, a beam's notes are an eighth or shorter, touch one another and start in one beat."""
    music = passage(" ".join(words), pickup=True)
    bar = replace(music.bars[0], offset=Fraction(0))
    for first, last in beams(bar, music.events):
        inside = music.events[first : last + 1]
        assert len(inside) > 1
        assert all(e.notes and e.value.kind >= 8 for e in inside)
        assert len({e.onset // 1 for e in inside}) == 1
