"""Nothing is lost: what goes in is printed, moved to another place that is said, or named in a notice."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from functools import cache

import pytest

from engrave import axes
from engrave.line import line_of
from engrave.model import Declined, Marks, Plan, Study, Variation
from engrave.reading import read
from tests.axes.passages import OWN
from tests.build import passage
from tests.reading.xml import notes, score
from tests.trust.fuzz import assert_printed

TEXTURES = ("graces", "two voices", "full chords", "triplets", "ties")
SETTINGS = [(axis.name, setting.name) for axis in axes.ORDER for setting in axis.settings]


@cache
def line(name: str) -> Variation:
    """A passage of the axes' tests with both hands."""
    voices, more = OWN[name]
    return line_of(passage(*voices, **more), Plan())  # type: ignore[arg-type]


@pytest.mark.parametrize("axis", [axis.name for axis in axes.ORDER])
@pytest.mark.parametrize("name", TEXTURES)
def test_every_note_of_every_study_is_accounted_for(name: str, axis: str) -> None:
    """Under each setting each note of the line is there at its pitch, or moved with the line, or named as left out."""
    before = {note.id: note.pitch.midi for note in line(name).passage.notes}
    tied = {note.id for note in line(name).passage.notes if note.tied_back}
    applied = 0
    for wanted, setting in SETTINGS:
        if wanted != axis:
            continue
        made = axes.vary(line(name), Study(**{axis: setting}))  # type: ignore[arg-type]
        if isinstance(made, Declined):
            assert made.reason
            continue
        applied += 1
        after = {note.id: note.pitch.midi for note in made.passage.notes}
        # the second head of a tie is no note of its own: it goes where its sound is written in one
        lost = before.keys() - after.keys() - tied
        assert not lost or made.notices, (setting, lost)
        if axis != "strings":
            assert {key: after[key] for key in before.keys() & after.keys()} == {
                key: midi for key, midi in before.items() if key in after
            }, setting
        # whatever is added sounds what a note of the line sounds, or an open string
        known = {*before.values(), *(pitch.midi for pitch in made.instrument.strings)}
        assert axis == "strings" or {after[key] for key in after.keys() - before.keys()} <= known, setting
        assert_printed(made, Marks())
    assert applied


def test_what_the_reader_leaves_out_is_named() -> None:
    """Of two parts, two staves' worth of voices, cues and words: what is not in the passage is in a notice."""
    back = "<backup><duration>96</duration></backup>"
    cue = notes("E5/4").replace("<note>", "<note><cue/>")
    inside = notes("E4/4 F4/4 G4/4", voice="1") + cue + back + notes("C3/2 E3/2", voice="2")
    sung = inside.replace("</note>", "<lyric><text>la</text></lyric></note>", 1)
    flute = f'<part id="P2"><measure number="1">{notes("E5/1")}</measure></part>'
    listed = '<score-part id="P2"><part-name>Flute</part-name></score-part>'
    data = score(sung, others=flute, listed=listed)
    there = sum(1 for note in ET.fromstring(data).iter("note") if note.find("pitch") is not None)  # noqa: S314
    made = read(data, "x.xml", part="Guitar", voice="1")
    said = " / ".join(str(notice) for notice in made.notices)
    assert [str(note.pitch) for note in made.notes] == ["E4", "F4", "G4"]
    # three notes are read; a cue, two notes of voice 2 and one of the flute are not
    assert there == 3 + 1 + 2 + 1
    for named in ("cue", "voice 2", "Flute", "lyrics"):
        assert named in said, (named, said)
