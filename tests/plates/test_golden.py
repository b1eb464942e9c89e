"""Small plates against pictures kept beside this file; look at the pictures when they change.

Rewrite them with: pytest tests/plates/test_golden.py --rewrite-plates
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from engrave.model import (
    Direction,
    Key,
    Marks,
    Metre,
    Passage,
    Slur,
    Stroke,
    Variation,
    with_notes,
)
from engrave.plates import draw, svg
from tests.build import passage
from tests.plates.hands import line_of
from tests.plates.textures import repeated

GOLDEN = Path(__file__).parent / "golden"


def slurred(music: Passage, *pairs: tuple[int, int], slide: bool = False) -> Variation:
    """A line in which the second note of each pair (counted from 0) is sounded from the first."""
    line = line_of(music)
    notes = list(line.passage.notes)
    changed = {notes[b].id: replace(notes[b], slurred_from=notes[a].id, stroke=None, slide=slide) for a, b in pairs}
    return replace(line, passage=with_notes(line.passage, changed))


def marked(music: Passage, **marks: tuple[str, ...]) -> Variation:
    """A line with marks on events, by index in reading order: e1=("fermata",)."""
    events = tuple(replace(e, marks=marks.get(f"e{k}", e.marks)) for k, e in enumerate(music.events))
    return line_of(replace(music, events=events))


def muted(music: Passage) -> Variation:
    """A line whose second note is damped."""
    line = line_of(music)
    note = list(line.passage.notes)[1]
    return replace(line, passage=with_notes(line.passage, {note.id: replace(note, muted=True)}))


def barred(music: Passage, kind: str) -> Variation:
    """A line in which finger 1 lies over every string it stops at the first fret."""
    line = line_of(music)
    changed = {
        n.id: replace(n, placement=replace(n.placement, barre=kind))
        for n in line.passage.notes
        if n.placement is not None and n.placement.fret == 1
    }
    return replace(line, passage=with_notes(line.passage, changed))


def changing() -> Variation:
    """A line that changes key and metre between its bars."""
    first = passage("D4/4 E4/4 F#4/4 G4/4 | A4/4 B4/4 C#5/4 A4/4", fifths=2)
    waltz = Metre(beats=(3,), unit=4)
    bars = (
        first.bars[0],
        replace(first.bars[1], metre=waltz, key=Key(fifths=-1), length=Fraction(3), onset=Fraction(4)),
    )
    events = tuple(e for e in first.events if e.end <= 7)
    return line_of(replace(first, bars=bars, events=events))


def guided() -> Variation:
    """Finger 1 keeps its string from the first fret to the fifth."""
    music = passage("F4:1.1.1/4 A4:1.5.1/4 C5:1.8.4/4 A4:1.5.1/4")
    return line_of(music)


def little_finger() -> Variation:
    """A line plucked with the little finger."""
    line = line_of(passage("E4/4 F4/4 G4/4 A4/4"))
    changed = {n.id: replace(n, stroke=Stroke(finger="c")) for n in line.passage.notes}
    return replace(line, passage=with_notes(line.passage, changed))


def rested() -> Variation:
    """Two kinds of stroke, changing in the middle."""
    line = line_of(passage("E4/4 F4/4 G4/4 A4/4"))
    kinds = ("rest", "rest", "free", "free")
    changed = {
        n.id: replace(n, stroke=Stroke(finger="im"[k % 2], kind=kinds[k])) for k, n in enumerate(line.passage.notes)
    }
    return replace(line, passage=with_notes(line.passage, changed))


SCALE = "E4/8 F4/8 G4/8 A4/8 B4/8 C5/8 B4/8 A4/8"
CASES: dict[str, tuple[Variation, dict[str, object]]] = {}


def case(name: str, line: Variation, **options: object) -> None:
    """Add a case; `options` go to draw."""
    CASES[name] = (line, options)


case("scale", line_of(passage(SCALE)))
case("low E", line_of(passage("E2/4 F2/4 G2/8 F#2/8 E2/4")))
case("high notes", line_of(passage("E5/4 F#5/4 G5/8 A5/8 B5/4")))
case("flats", line_of(passage("Eb4/4 Ab3/4 Db4/4 Gb4/4", fifths=-5)))
case("signs", line_of(passage("F#4/8 F4/8 G#4/8 Bb4/8 B4/4 C#4/4")))
case("sixteenths", line_of(passage("E4/16 F#4/16 G4/16 A4/16 B4/16 A4/16 G4/16 F#4/16 E4/2", fifths=1)))
case("dots and rests", line_of(passage("E4/4. r/8 F4/8. G4/16 r/4")))
case("triplets", line_of(passage("3(E4/8 F4/8 G4/8) 3(A4/4 G4/8) 5(E4/16 F4/16 G4/16 A4/16 B4/16) A4/4")), width=85.0)
case(
    "bar in two parts",
    line_of(passage("F#4/16 G4/16 A4/16 F4/16 E4/16 F4/16 G4/16 F#4/16 F4/16 E4/16 D4/16 E4/16 F4/4")),
)
case("graces", line_of(passage("<D4/8 E4/4 <F4/16 <G4/16 A4/4 G4/2")))
case("ties", line_of(passage("E4/4 F#4~/4 F#4/4 G4~/4 | G4/2 C3+E3+G3/2")))
case("chords", line_of(passage("C3+E3+G3+C4/4 D3+A3+D4+F#4/4 E2+B2+E3+G#3+B3+E4/2")))
case("chord of seconds", line_of(passage("F4+G4/2 E3+B3+D4+E4/2")))
case("two voices", line_of(passage("G4/8 F#4/8 E4/4 D4/2", "E3/2 B2/4 D3/4", fifths=1)))
case("three voices", line_of(passage("E4/4 G4/4 F#4/2", "B3/2 A3/2", "E3/2 B2/2", fifths=1)))
case("two voices with rests", line_of(passage("r/4 E4/4 r/4 D4/4", "E3/2 r/2")))
case(
    "accents", marked(passage("E4/4 F4/4 G4/4 A4/4"), e0=("accent",), e1=("staccato",), e2=("tenuto",), e3=("fermata",))
)
case("arpeggio", marked(passage("E2+B2+E3+G#3/2 A2+E3+A3/2"), e0=("arpeggio",)))
case("slurs", slurred(passage("G4/8 F4/8 E4/8 F4/8 B4/16 A4/16 G4/16 F4/16 E4/4"), (0, 1), (2, 3), (4, 5), (5, 6)))
case("slide", slurred(passage("F4:1.1.1/4 A4:1.5.1/4 G4/2"), (0, 1), slide=True))
case("guide finger", guided())
case(
    "phrase",
    replace(
        line := line_of(passage(SCALE)),
        passage=replace(
            line.passage, slurs=(Slur(start=next(line.passage.notes).id, stop=[*line.passage.notes][6].id),)
        ),
    ),
)
case("muted", muted(passage("E4/4 E4/4 F4/2")))
case("full barre", barred(passage("F2+C3+F3+Ab3+C4+F4/2 F2+C3+F3+Ab3/2"), "full"))
case("positions", line_of(passage("E4/4 A4:1.5.1/4 C5:1.8.4/4 E4:2.5.1/4")))
case("strings always", line_of(passage("E4/4 F4/4 D4/4 G3/4")), marks=Marks(strings="always"))
case(
    "few marks",
    replace(line_of(passage(SCALE)), cycle=("i", "m")),
    marks=Marks(digits="moves", letters="first", strings="never"),
)
case("another little finger", little_finger(), marks=Marks(little="ch"))
case("strokes", rested())
case("repeats", line_of(repeated(passage("E4/2 F4/2 | G4/1 | A4/1"))), width=100.0)
case("changes", changing(), width=100.0)
case("pickup", line_of(passage("E4/8 F4/8 | G4/4 A4/4 B4/4", metre="3/4", pickup=True)))
case("sum of metres", line_of(passage("E4/8 F4/8 G4/8 A4/8 B4/8", metre="3+2/8")))
case("two lines", line_of(passage(" | ".join([SCALE] * 3))), width=75.0)
case("tablature", slurred(passage("E4/8 F4/8 <G4/16 A4/8 B3/8 G3~/4 G3/4"), (0, 1)), tab=True)
case("tablature of seven strings", line_of(passage("B1/4 E2/4 C3+G3+E4/2"), instrument="seven"), tab=True)
case("large print", line_of(passage("E4/4 F4/4 G4/8 A4/8 B4/4")), staff=9.0)
case("small", line_of(passage("E4/4 F4/4 G4/8 A4/8 B4/4")), staff=6.2)
case(
    "words of the source",
    line_of(
        replace(passage(SCALE), directions=(Direction(kind="tempo", text="Calmly ♩ = 72", bar=0, onset=Fraction(0)),))
    ),
)


@pytest.mark.parametrize("name", CASES)
def test_the_plate_looks_as_it_did(name: str, request: pytest.FixtureRequest) -> None:
    """Each small plate is the picture kept for it, coordinates rounded to a hundredth of a mm."""
    line, options = CASES[name]
    picture = svg(draw(line, **({"width": 60.0} | options)))  # type: ignore[arg-type]
    file = GOLDEN / f"{name.replace(' ', '-')}.svg"
    if request.config.getoption("--rewrite-plates"):
        GOLDEN.mkdir(exist_ok=True)
        file.write_text(picture, encoding="utf-8")
    assert file.exists(), f"no picture for {name}: run with --rewrite-plates and look at it"
    assert picture == file.read_text(encoding="utf-8")


def test_no_picture_is_left_over() -> None:
    """Every picture in the folder belongs to a case."""
    kept = {file.stem for file in GOLDEN.glob("*.svg")}
    assert kept == {name.replace(" ", "-") for name in CASES}
