"""First scales, chords and broken chords as methods print them, as rows that a fit may not forget.

Editions finger the hard places of hard pieces; a fit on them alone teaches plain lines their habits (4 for 3 on the
second string, a finger that slides from fret to fret). These rows say what every method agrees on. Common practice,
from memory; they are learnt from and never counted.
"""

from __future__ import annotations

from engrave.model import Pitch
from tests.benchmarks.fingering_rows import Row

GROUP = "textbook"
LINES = {
    "C3 D3 E3 F3 G3 A3 B3 C4 D4 E4 F4 G4 A4 B4 C5": "302302013013134",
    "G2 A2 B2 C3 D3 E3 F#3 G3 A3 B3 C4 D4 E4 F#4 G4": "302302402013024",
    "A2 B2 C3 D3 E3 F#3 G#3 A3 B3 C4 D4 E4 F#4 G#4 A4": "023024120130134",
    "E2 F2 F#2 G2 G#2 A2 A#2 B2 C3 C#3 D3 D#3 E3 F3 F#3 G3 G#3 A3 A#3 B3 C4 C#4 D4 D#4 E4 F4 F#4 G4 G#4": (
        "01234012340123401230123401234"
    ),
    "F3 G3 A3 Bb3 C4 D4 E4 F4": "30231301",
    "D3 E3 F#3 G3 A3 B3 C#4 D4": "02402023",
    "A2 B2 C#3 D3 E3 F#3 G#3 A3": "02402412",
    "E2 F#2 G2 A2 B2 C3 D3 E3": "02302302",
    "E4 F4 G4 F4 E4 F4 G4 E4": "01310130",
    "B3 C4 D4 C4 B3 D4 C4 B3": "01310310",
    "B3 C4 D4 E4 D4 C4 B3 C4": "01303101",
    "G3 A3 B3 C4 D4 E4 F4 G4": "02013013",
    "E4 F4 G4 A4 G4 F4 E4 F4": "01343101",
    "D3 E3 F3 E3 D3 F3 E3 D3": "02320320",
    "A2 B2 C3 B2 A2 B2 C3 D3": "02320230",
    "E2 F2 G2 F2 E2 G2 F2 E2": "01310310",
    "A3 B3 C4 D4 E4 D4 C4 B3": "20130310",
    "C4 D4 E4 F4 G4 F4 E4 D4": "13013103",
    "E3 F3 G3 A3 G3 F3 E3 G3": "23020320",
    "E3 G3 A3 C4 A3 G3 E3 G3": "20212020",
    "A3 C4 E4 A4 E4 C4 A3 C4": "21040121",
    "B3 D4 B3 C4 B3 D#4 B3 B3": "03010400",
    "E4 F4 G#4 A4 G#4 A4 G#4 E4": "01343430",
    "C5 B4 A4 G#4 A4 G#4 A4 C5": "43212124",
    "C3 E3 G3 C4 E4 C4 G3 E3": "32010102",
    "A2 E3 A3 C4 E4 C4 A3 E3": "02310132",
    "E2 B2 E3 G#3 B3 E4 B3 G#3": "02310001",
    "G2 B2 D3 G3 B3 G4 B3 G3": "32000400",
    "G2 B2 D3 G3 B3 F4 B3 G3": "32000100",
    "D3 A3 D4 F#4 D4 A3 D4 F#4": "01323132",
    "D3 A3 D4 F4 D4 A3 D4 F4": "02313231",
    "A2 E3 A3 C#4 E4 C#4 A3 E3": "01230321",
    "B2 F#3 B3 D4 F#4 D4 B3 F#3": "13421243",
    "F2 C3 F3 A3 C4 F4 C4 A3": "13421112",
    "C3 E3 Bb3 C4 E4 C4 Bb3 E3": "32410142",
    "C3 G3 Bb3 E4 G4 E4 Bb3 G3": "13141413",
    "A2 F4 F4 F4 A3 F4 F4 F4 F3 F4 F4 F4": "011121113111",
    "E2 D4 D4 D4 E3 D4 D4 D4 G#3 B3 B3 B3": "033323331000",
    "E2 G#4 G#4 G#4 G#3 G#4 G#4 G#4 E3 G#4 G#4 G#4": "044414442444",
}
"""pitches in eighths → digits; scales come down as they went up"""
CHORDS = {
    "C3 E3 G3 C4 E4": "32010",
    "A2 E3 A3 C4 E4": "02310",
    "D3 A3 D4 F#4": "0132",
    "E2 B2 E3 G#3 B3 E4": "023100",
    "D3 A3 D4 F4": "0231",
    "G2 B2 D3 G3 B3 G4": "320004",
    "A2 E3 A3 C#4 E4": "01230",
    "E2 B2 E3 G3 B3 E4": "012000",
    "C3 E3 Bb3 C4 E4": "32410",
    "G2 B2 D3 G3 B3 F4": "320001",
    "E2 B2 D3 G#3 B3 E4": "020100",
    "B2 D#3 A3 B3 F#4": "21304",
    "D3 A3 C4 F#4": "0213",
    "F2 C3 F3 A3 C4 F4": "134211",
    "G2 D3 G3 Bb3 D4 G4": "134111",
    "B2 F#3 B3 D4 F#4": "13421",
    "F#2 C#3 F#3 A3 C#4 F#4": "134111",
    "C3 G3 C4 Eb4 G4": "13421",
    "C3 G3 Bb3 E4 G4": "13141",
    "F3 A3 C4 F4": "3211",
}
"""block chord → digits from the bass up"""
CHANGES = (
    ("A2 E3 A3 C4 E4", "E2 B2 E3 G#3 B3 E4", "A2 E3 A3 C4 E4"),
    ("F2 C3 F3 A3 C4 F4", "E2 B2 E3 G#3 B3 E4", "A2 E3 A3 C4 E4"),
    ("C3 E3 G3 C4 E4", "G2 B2 D3 G3 B3 F4", "C3 E3 G3 C4 E4"),
    ("G2 B2 D3 G3 B3 G4", "C3 E3 G3 C4 E4", "G2 B2 D3 G3 B3 G4"),
    ("D3 A3 D4 F4", "A2 E3 A3 C4 E4", "E2 B2 E3 G#3 B3 E4"),
    ("A2 E3 A3 C#4 E4", "D3 A3 D4 F#4", "A2 E3 A3 C#4 E4"),
    ("D3 A3 D4 F#4", "A2 E3 A3 C#4 E4", "D3 A3 D4 F#4"),
    ("E2 B2 E3 G3 B3 E4", "A2 E3 A3 C4 E4", "D3 A3 D4 F4"),
)
"""chords one after the other, each with its digits of CHORDS"""
_SCALES = 8
"""how many of LINES are scales"""


def rows() -> list[Row]:
    """All of it as rows for the fit."""
    made = []
    for number, (names, digits) in enumerate(LINES.items()):
        up = list(zip(names.split(), digits, strict=True))
        made.append(_row(up + (up[-2::-1] if number < _SCALES else []), 0.5))
    made += [_row(_stopped(chord), 0.0) for chord in CHORDS]
    return made + [_joined([_row(_stopped(chord), 0.0) for chord in change]) for change in CHANGES]


def _stopped(chord: str) -> list[tuple[str, str]]:
    """The pitches of a chord with their digits."""
    return list(zip(chord.split(), CHORDS[chord], strict=True))


def _joined(chords: list[Row]) -> Row:
    """Chords a quarter apart."""
    notes = [{**note, "onset": float(at)} for at, chord in enumerate(chords) for note in chord["notes"]]
    return {**chords[0], "notes": notes}


def _row(notes: list[tuple[str, str]], step: float) -> Row:
    """A row of notes `step` quarters apart; 0: together."""
    made = [
        {"onset": at * step, "dur": step or 1.0, "midi": Pitch.parse(name).midi, "finger": int(digit)}
        for at, (name, digit) in enumerate(notes)
    ]
    return {
        "composer": GROUP,
        "piece": GROUP,
        "texture": GROUP,
        "tuning": [40, 45, 50, 55, 59, 64],
        "notes": made,
    }
