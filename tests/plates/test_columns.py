"""A chord's digits: one column, in the order of the heads, as near to them as can be."""

from __future__ import annotations

import random
from itertools import pairwise

import pytest

from engrave.model import Mark, Plate
from engrave.plates import draw
from engrave.plates.columns import spread
from tests.build import passage
from tests.plates.hands import line_of
from tests.plates.textures import TEXTURES


def chords(plate: Plate, owners: dict[str, str]) -> list[list[Mark]]:
    """The digits of a plate by the event of their notes, those of three or more."""
    found: dict[str, list[Mark]] = {}
    for system in plate.systems:
        for mark in system.marks:
            if mark.role == "digit":
                found.setdefault(owners[mark.owner], []).append(mark)
    return [marks for marks in found.values() if len(marks) >= 3]


@pytest.mark.parametrize("staff", [6.2, 8.5])
@pytest.mark.parametrize(
    "music",
    [
        passage("C3+E3+G3+C4/2 G3+B3+D4/2 | E2+B2+E3+G#3+B3+E4/1"),
        passage("F2+C3+F3+A3+C4+F4/4 G2+B2+D3+G3+B3+G4/4 A2+E3+A3+C4+E4/2"),
        TEXTURES["Chords"],
    ],
    ids=["triads", "six strings", "chords"],
)
def test_a_chord_has_its_digits_in_one_column(music: object, staff: float) -> None:
    """Digits of a chord stand one over the other, left of it, and from top to bottom in the order of its notes."""
    line = line_of(music)  # type: ignore[arg-type]
    owners = {note.id: event.id for event in line.passage.events for note in event.notes}
    sounds = {note.id: note.pitch.midi for note in line.passage.notes}
    found = chords(draw(line, width=170, staff=staff), owners)
    assert found
    for marks in found:
        high = sorted(marks, key=lambda mark: -sounds[mark.owner])
        assert all(above.y < below.y for above, below in pairwise(high))
        assert max(mark.x for mark in marks) - min(mark.x for mark in marks) < 0.35 * staff / 4
        assert len({mark.scale for mark in marks}) == 1


@pytest.mark.parametrize("width", [125, 130, 140, 150, 160])
def test_no_digit_stands_in_the_bar_before(width: float) -> None:
    """Of a full chord close behind a bar line every digit is right of that line, be it over or under the staff."""
    upper = (
        "A4:1.5.4+C4:2.1.1/8 r/8 G4:1.3.4/16 r/16 F4:1.1.1/16 r/16 E4:1.0.0/16 r/16 F4:1.1.1/16 r/16 | "
        "D4:2.3.4+F3:4.3.3/8 r/8 C#4:2.2.2+E3:4.2.1/8. r/16 r/8 D4:2.3.3/16 r/16 | "
        "F3:4.3.2+A3:3.2.1+D4:2.3.3/4. r/8 r/4"
    )
    line = line_of(passage(upper, "F2:6.1.1/2 C3:5.3.3/4 | G2:6.3.2/4 A2:5.0.0/2 | D3:5.5.4/2.", metre="3/4"))
    bar = {note.id: event.bar for event in line.passage.events for note in event.notes}
    (system,) = draw(line, width=width, staff=6.6).systems
    lines = sorted({x for mark in system.marks if mark.role == "barline" for _, point in mark.path for x in point[:1]})
    digits = [mark for mark in system.marks if mark.role == "digit" and bar[mark.owner] == 2]
    assert len(digits) == 4
    assert all(mark.x > lines[1] for mark in digits)


def test_a_column_is_spread_no_more_than_it_must() -> None:
    """Pieces keep their order and their room, and no other place is nearer to their levels (sum of squares)."""
    luck = random.Random(7)
    for _ in range(200):
        levels = [round(luck.uniform(-2, 6), 1) for _ in range(luck.randint(1, 6))]
        heights = [round(luck.uniform(0.5, 1.6), 1) for _ in levels]
        found = spread(levels, heights)
        order = sorted(range(len(levels)), key=lambda at: levels[at])
        rooms = [(heights[a] + heights[b]) / 2 for a, b in pairwise(order)]
        assert all(found[b] - found[a] >= room - 1e-9 for (a, b), room in zip(pairwise(order), rooms, strict=True))
        off = sum((y - level) ** 2 for y, level in zip(found, levels, strict=True))
        for start in range(len(order)):
            for end in range(start, len(order)):
                for by in (-0.02, 0.02):
                    other = list(found)
                    for at in order[start : end + 1]:
                        other[at] += by
                    if all(other[b] - other[a] >= r for (a, b), r in zip(pairwise(order), rooms, strict=True)):
                        assert sum((y - v) ** 2 for y, v in zip(other, levels, strict=True)) >= off - 1e-9
