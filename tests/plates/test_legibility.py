"""The measure of legibility: what it finds in faults put in on purpose, and that our textures have none."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import pytest

from engrave.model import Mark, Passage, Plate, with_notes
from engrave.plates import draw
from tests.benchmarks.clarity import Report, measure
from tests.benchmarks.inkwork import distance, inked
from tests.build import passage
from tests.plates.hands import line_of
from tests.plates.textures import TEXTURES

FAULTLESS = ("overlap", "wrong head", "off row", "hit", "outside", "missing owner", "tight")


def counts(report: Report) -> dict[str, int]:
    """Findings by kind."""
    return {kind: report.count(kind) for kind in FAULTLESS}


@pytest.mark.parametrize("music", TEXTURES.values(), ids=TEXTURES)
def test_no_texture_has_a_fault(music: Passage) -> None:
    """Nothing overlaps, crowds, strays or leaves the frame in any texture."""
    no_fault(music, staff=7.2)


@pytest.mark.parametrize("staff", [6.2, 9.0])
@pytest.mark.parametrize("name", ["Chords", "Graces and tuplets"])
def test_other_sizes_have_no_fault_either(name: str, staff: float) -> None:
    """Small and large print are as clear as the usual size."""
    no_fault(TEXTURES[name], staff=staff)


def test_slurs_in_tablature_that_meet_stay_apart() -> None:
    """Three notes slurred one from the other have two slurs over their numbers, which do not touch."""
    line = line_of(passage("A4/8 G4/8 F4/8 E4/8 F4/8 G4/8 F4/8 E4/8"))
    notes = list(line.passage.notes)
    changed = {b.id: replace(b, slurred_from=a.id, stroke=None) for a, b in pairwise(notes[:6])}
    report = measure(draw(replace(line, passage=with_notes(line.passage, changed)), width=90, tab=True))
    assert [str(f) for f in report.findings] == []


def no_fault(music: Passage, *, staff: float) -> None:
    """The plate of a passage has no finding at all."""
    report = measure(draw(line_of(music), width=170, staff=staff))
    assert report.marks > 10
    assert [str(f) for f in report.findings] == []


def spoiled(plate: Plate, role: str, change: Callable[[Mark, float], Mark]) -> Plate:
    """The plate with `change` done to the third mark of one role on its first system."""
    first = plate.systems[0]
    all_of_it = first.marks
    target = [mark for mark in all_of_it if mark.role == role][2]
    marks = tuple(change(mark, plate.staff / 4) if mark is target else mark for mark in all_of_it)
    return replace(plate, systems=(replace(first, over=marks, staff=None), *plate.systems[1:]))


SEEDED = {
    "overlap": ("digit", lambda m, s: replace(m, x=m.x + 1.1 * s)),
    "tight": ("digit", lambda m, s: replace(m, x=m.x + 0.12 * s)),
    "wrong head": ("digit", lambda m, s: replace(m, x=m.x - 2.2 * s)),
    "off row": ("letter", lambda m, s: replace(m, y=m.y - 0.3 * s)),
    "hit": ("letter", lambda m, s: replace(m, y=m.y + 1.7 * s)),
    "outside": ("letter", lambda m, s: replace(m, y=m.y - 40 * s)),
    "missing owner": ("digit", lambda m, _: replace(m, owner="nobody")),
}


@pytest.fixture(scope="module")
def sixteenths() -> Plate:
    """A dense plate without a fault."""
    plate = draw(line_of(TEXTURES["Sixteenths"]), width=170)
    assert set(counts(measure(plate)).values()) == {0}
    return plate


@pytest.mark.parametrize("kind", SEEDED)
def test_a_seeded_fault_is_found(kind: str, sixteenths: Plate) -> None:
    """A mark moved on purpose is found, under its own name."""
    role, change = SEEDED[kind]
    assert counts(measure(spoiled(sixteenths, role, change)))[kind] >= 1


def test_the_distance_of_two_heads_is_that_of_their_outlines() -> None:
    """Two heads a known way apart measure that way less their width, and a head lies on itself at no distance."""
    plate = draw(line_of(TEXTURES["Sixteenths"]), width=170)
    heads = [shape for shape in inked(plate, plate.systems[0]) if shape.mark.role == "head"]
    a = heads[0]
    moved = replace(plate.systems[0], over=(a.mark, replace(a.mark, x=a.mark.x + 10)), staff=None)
    one, other = inked(plate, moved)
    assert distance(one, other) == pytest.approx(10 - (one.box[2] - one.box[0]), abs=0.05)
    assert distance(one, one) == 0


def test_tuplet_brackets_stay_inside_their_system() -> None:
    """Brackets of triplets at either end of a system, with rests or without, never pass its edge."""
    luck = random.Random(3)
    pool = ["E4", "G3", "A4", "F#4", "E5", "r", "G#4", "E2"]
    forms = ("3({}/8 {}/8 {}/8)", "3({}/8 {}/4)", "3({}/4 {}/8)")
    for _ in range(12):
        bars = []
        for _ in range(2):
            beats = [luck.choice(forms) for _ in range(4)]
            bars.append(" ".join(form.format(*(luck.choice(pool) for _ in range(form.count("{}")))) for form in beats))
        line = line_of(passage(" | ".join(bars), fifths=luck.choice((0, 3, -2))))
        for width in (38.0, 60.0, 173.0):
            plate = draw(line, width=width, staff=7.2)
            for system in plate.systems:
                for shape in inked(plate, system):
                    if shape.mark.role == "tuplet":
                        x0, y0, x1, y1 = shape.box
                        assert min(x0, y0, system.width - x1, system.height - y1) >= 0
