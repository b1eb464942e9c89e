"""The plate as a whole: what is drawn, how large, and that importing the room loads no engraver."""

from __future__ import annotations

import subprocess
import sys

from engrave.plates import draw
from tests.build import passage
from tests.plates.hands import line_of


def test_every_note_gets_its_digit_and_its_letter() -> None:
    """A plate prints one fretting digit and one plucking letter a note, each owned by its note."""
    line = line_of(passage("E4/8 F#4/8 G4/8 A4/8 B4/4 C5/4 | E2/2 G2/2"))
    plate = draw(line, width=180)
    marks = [mark for system in plate.systems for mark in system.marks]
    ids = [note.id for note in line.passage.notes]
    for role, said in (("digit", "finger"), ("letter", "stroke")):
        owners = {mark.owner: mark.text for mark in marks if mark.role == role}
        assert sorted(owners) == sorted(ids)
        for note in line.passage.notes:
            assert note.placement is not None
            assert note.stroke is not None
            meant = str(note.placement.finger) if said == "finger" else note.stroke.finger
            assert owners[note.id] == meant


def test_the_staff_is_as_high_as_asked() -> None:
    """The five staff lines of a plate span the height asked for, in mm."""
    plate = draw(line_of(passage("E4/4 F4/4 G4/4 A4/4")), width=170, staff=7.0)
    lines = sorted(mark.path[0][1][1] for mark in plate.systems[0].marks if mark.role == "staff")
    assert len(lines) == 5
    assert abs(lines[-1] - lines[0] - 7.0) < 1e-6
    assert plate.staff == 7.0


def test_importing_the_room_loads_no_engraver() -> None:
    """Neither verovio nor the font reader loads before there is a plate to draw."""
    check = "import sys, engrave.plates; print(sorted({'verovio', 'fontTools'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", check], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
