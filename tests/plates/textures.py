"""Passages of our own, one for each texture: what the marks of both hands must be legible on."""

from __future__ import annotations

from dataclasses import replace

from engrave.model import Passage
from tests.build import passage

_RUN = (
    "E3/16 G#3/16 B3/16 E4/16 G#4/16 F#4/16 E4/16 D#4/16 C#4/16 B3/16 A3/16 G#3/16 F#3/16 E3/16 D#3/16 E3/16"
    " | B3/16 E4/16 C#4/16 E4/16 D#4/16 E4/16 F#4/16 E4/16 G#4/16 E4/16 A4/16 E4/16 B4/16 A4/16 G#4/16 F#4/16"
)

SIXTEENTHS = passage(" | ".join([_RUN] * 4), fifths=4, title="Sixteenths")
TWO_VOICES = passage(
    "r/8 G4/8 F#4/8 G4/8 B4/4 A4/8 G4/8 | F#4/8. E4/16 D4/8 E4/8 C5/4 B4/4 | A4/8 B4/8 C5/8 A4/8 F#4/2 | G4/1",
    "E3/2 D3/2 | C3/4 A2/4 B2/2 | A2/4 E3/4 B2/4 D#3/4 | E2/2 B2/4 E2/4",
    fifths=1,
    title="Two voices",
)
CHORDS = passage(
    "E2+B2+E3+G#3/4 A2+E3+A3+C#4/4 B2+F#3+A3+D#4/4 E2+B2+E3+G#3+B3+E4/4"
    " | F2+C3+F3+Ab3+C4/2 G2+D3+G3+B3/4 C3+E3+G3+C4/4 | D3+A3+D4+F4/8 D3+G3+Bb3/8 C#3+A3+E4/4 D3+A3+D4+F#4/2",
    title="Chords",
)
ARPEGGIO = passage(
    "r/16 B3/16 E4/16 G4/16 B4/16 G4/16 E4/16 B3/16 r/16 C4/16 E4/16 A4/16 C5/16 A4/16 E4/16 C4/16"
    " | r/16 B3/16 D#4/16 F#4/16 A4/16 F#4/16 D#4/16 B3/16 G4/4 E4/4",
    "E2/2 A2/2 | B2/2 E3/4 E2/4",
    fifths=1,
    title="Arpeggio",
)
HIGH_AND_LOW = passage(
    "E5/8 F#5/8 G5/8 A5/8 B5/4 A5/8 G#5/8"
    " | E2/8 F2/8 F#2/8 G2/8 Ab2/4 E2/4 | E5/16 Eb5/16 D5/16 C#5/16 C5/4 E2/8 E5/8 B4/4",
    title="High and low",
)
GRACES = passage(
    "<D4/8 E4/4 <F4/16 <G4/16 A4/4 3(G4/8 F4/8 E4/8) 3(D4/4 C4/8)"
    " | 5(E4/16 F4/16 G4/16 A4/16 B4/16) <G#4/8 A4/8. A4/16 B4/4> C5/4",
    metre="4/4",
    title="Graces and tuplets",
)
THREE_VOICES = passage(
    "E4/4 G4/8 F#4/8 E4/4 D#4/4 | E4/2 r/2",
    "B3/2 A3/4 B3/4 | G3/4 B3/4 G3/2",
    "E3/2 C3/4 B2/4 | E2/1",
    fifths=1,
    title="Three voices",
)
TIES = passage(
    "E4~/4 E4/8 F4~/8 F4/2 | C3+E3+G3~/2 C3+G3/4. B3/8 | C4~/2. C4/8 B3/8 | C4/1",
    title="Ties",
)

TEXTURES: dict[str, Passage] = {
    music.title: music for music in (SIXTEENTHS, TWO_VOICES, CHORDS, ARPEGGIO, HIGH_AND_LOW, GRACES, THREE_VOICES, TIES)
}


def repeated(music: Passage) -> Passage:
    """The same with repeats and two endings in its last bars."""
    bars = list(music.bars)
    bars[0] = replace(bars[0], repeat_start=True)
    bars[-2] = replace(bars[-2], repeat_end=2, ending="1")
    bars[-1] = replace(bars[-1], ending="2")
    return replace(music, bars=tuple(bars))
