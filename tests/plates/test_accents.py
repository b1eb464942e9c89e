"""Accents: their side, their order, and that lines which differ in them alone share one plain staff."""

from __future__ import annotations

from dataclasses import replace

import pytest

from engrave.model import Mark, Passage, Plate, Stroke, with_notes
from engrave.model.outlines import bounds
from engrave.plates import draw, svg
from tests.benchmarks.clarity import measure
from tests.build import passage
from tests.plates.hands import line_of

ONE = passage("E3/8 G4/8 B3/8 A5/8 E2/4 C4+E4+G4/4 | B4/2 C4/2 | G4/1 | E5/16 F5/16 G5/16 A5/16 E3/8 F3/8 B3/4 r/4")
TWO = passage("E5/8 G4/8 B4/8 A4/8 E4/4 C5+E5/4 | B4/2 r/2", "E3/4 G3/4 C3/4 D3/8 E3/8 | E2/2 B2/2")
LEDGER = passage("E5/8 F5/8 G5/8 A5/8 E2/8 F2/8 G2/8 A2/8")


def accented(music: Passage, marks: tuple[str, ...], every: int = 1) -> Passage:
    """`music` with these marks on every so many events."""
    events = [replace(e, marks=marks) if e.notes and not k % every else e for k, e in enumerate(music.events)]
    return replace(music, events=tuple(events))


def levels(plate: Plate, role: str) -> dict[str, tuple[float, float]]:
    """Owner → top and bottom of its mark of one role in mm, lowest note's head for a chord."""
    found = {}
    for system in plate.systems:
        for mark in system.marks:
            if mark.role == role:
                _, top, _, bottom = bounds(plate.outlines[mark.outline])
                found[mark.owner] = (mark.y + top * mark.scale, mark.y + bottom * mark.scale)
    return found


def of_event(music: Passage, found: dict[str, tuple[float, float]]) -> dict[str, tuple[float, float]]:
    """The same by event, over all its notes."""
    made = {}
    for event in music.events:
        mine = [found[name] for name in (event.id, *(n.id for n in event.notes)) if name in found]
        if mine:
            made[event.id] = (min(a for a, _ in mine), max(b for _, b in mine))
    return made


@pytest.mark.parametrize("music", [ONE, TWO, LEDGER], ids=["one voice", "two voices", "ledger lines"])
@pytest.mark.parametrize(
    "marks", [("accent",), ("marcato",), ("accent", "staccato"), ("accent", "tenuto"), ("accent", "marcato")]
)
def test_accents_stand_clear_on_their_side(music: Passage, marks: tuple[str, ...]) -> None:
    """Each event has its signs outside staff and heads, a second voice below; a dot stands nearer (common practice)."""
    music = accented(music, marks)
    plate = draw(line_of(music), width=200)
    assert [str(f) for f in measure(plate).findings] == []
    signs, heads = of_event(music, levels(plate, "accent")), of_event(music, levels(plate, "head"))
    dots = of_event(music, levels(plate, "articulation"))
    assert signs.keys() == heads.keys()
    lines = [mark.path[0][1][1] for mark in plate.systems[0].marks if mark.role == "staff"]
    several = len({event.voice for event in music.events}) > 1
    for event in music.events:
        if not event.notes or event.id not in signs:
            continue
        top, bottom = signs[event.id]
        over = bottom <= heads[event.id][0]
        assert over or top >= heads[event.id][1]
        if len(plate.systems) == 1:
            assert bottom < min(lines) if over else top > max(lines)
        if several:
            assert over == (event.voice == 1)
        if event.id in dots and several:
            assert bottom <= dots[event.id][0] if over else top >= dots[event.id][1]


def test_lines_that_differ_in_accents_share_a_staff() -> None:
    """The plain staff is engraved once, and what one line lays over it is not found on the other."""
    plates = [draw(line_of(accented(LEDGER, ("accent",), every)), width=200) for every in (2, 3, 100)]
    assert len({id(system.staff) for plate in plates for system in plate.systems}) == len(plates[0].systems)
    counts = [sum(mark.role == "accent" for system in plate.systems for mark in system.marks) for plate in plates]
    assert counts == [4, 3, 1]
    again = draw(line_of(accented(LEDGER, ("accent",), 2)), width=200)
    assert svg(again) == svg(plates[0])


def test_other_notes_are_another_staff() -> None:
    """Names, widths and bars tell staves apart, not their look alone."""
    line = line_of(LEDGER)
    renamed = replace(LEDGER, events=tuple(replace(e, id=f"x{e.id}") for e in LEDGER.events))
    one, two, other = draw(line, width=200), draw(line, width=190), draw(line_of(renamed), width=200)
    assert len({one.systems[0].staff, two.systems[0].staff, other.systems[0].staff}) == 3
    owners = {mark.owner for mark in other.systems[0].marks if mark.role == "stem"}
    assert owners <= {note.id for event in renamed.events for note in event.notes}


def test_a_system_says_all_its_ink_from_its_own_top() -> None:
    """Marks of the shared staff stand where the system has its staff."""
    system = draw(line_of(LEDGER), width=200).systems[0]
    assert system.staff is not None
    first: Mark = next(mark for mark in system.staff.marks if mark.role == "staff")
    lowered = next(mark for mark in system.marks if mark.role == "staff")
    assert lowered.path[0][1][1] == pytest.approx(first.path[0][1][1] + system.down)
    assert len(system.marks) == len(system.staff.marks) + len(system.over)


def test_accents_stand_over_the_fingers_and_beside_the_thumb() -> None:
    """An accent on a note of a finger is above its head, though the stem points up; the thumb's is beside its head."""
    music = accented(passage("E3/4 F3/4 G3/4 F3/4"), ("accent",))
    line = line_of(music)
    for finger, above in (("i", True), ("p", False)):
        notes = {n.id: replace(n, stroke=Stroke(finger=finger)) for n in line.passage.notes}
        plate = draw(replace(line, passage=with_notes(line.passage, notes)), width=200)
        signs, heads = of_event(music, levels(plate, "accent")), of_event(music, levels(plate, "head"))
        assert signs.keys() == heads.keys()
        assert all((signs[name] < heads[name]) is above for name in signs)
