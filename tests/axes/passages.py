"""Passages for the laws of the axes: our own, of every texture, and excerpts from music21's corpus, fingered."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from engrave.axes import vary
from engrave.fretting.fingered import fret
from engrave.instruments import find_hand, find_instrument
from engrave.line import built_in
from engrave.model import Declined, Passage, Study, Variation
from engrave.reading import read
from tests.build import passage

OWN: dict[str, tuple[tuple[str, ...], dict[str, object]]] = {
    "alternating": (("F4/8 E4/8 G4/8 E4/8 A4/8 E4/8 G4/8 E4/8 | C4/8 B3/8 D4/8 B3/8 E4/8 B3/8 D4/8 B3/8",), {}),
    "scale": (("E2/8 F2/8 G2/8 A2/8 B2/8 C3/8 D3/8 E3/8 | F3/8 G3/8 A3/8 B3/8 C4/8 D4/8 E4/4",), {}),
    "quick scale": (("G3/16 A3/16 B3/16 C4/16 D4/16 E4/16 F#4/16 G4/16 A4/4 G4/4",), {"fifths": 1}),
    "waltz": (("E4/4. F4/8 E4/4 | D4/4 C4/4 B3/4 | A3/2.",), {"metre": "3/4"}),
    "compound": (("E4/8 F4/8 G4/8 A4/4. | G4/8 F4/8 E4/8 D4/4 E4/8",), {"metre": "6/8"}),
    "triplets": (("3(E4/8 F4/8 G4/8) 3(A4/8 G4/8 F4/8) E4/2 | 3(D4/8 E4/8 F4/8) E4/4 E4/2",), {}),
    "pickup": (("E4/4 | A4/4 G4/4 F4/4 E4/4 | D4/2 C4/2",), {"pickup": True}),
    "ties": (("E4/4 F4~/4 F4/8 G4/8 A4~/4 | A4/4 G4~/2 G4/4",), {}),
    "graces": (("E4/4 <G4/8 F4/4 E4/4 <D#4/8 E4/4 | <A3/8 B3/2 E4/2",), {}),
    "rests": (("r/4 E4/4 r/8 F4/8 G4/4 | r/1 | E4/2 r/2",), {}),
    "chords": (("C3+G3+C4+E4/2 B2+G3+D4+F4/2 | C3+G3+C4+E4/1",), {}),
    "thirds": (("E4+G4/4 D4+F4/4 C4+E4/4 B3+D4/4 | A3+C4/2 G3+B3/2",), {}),
    "full chords": (("E2+B2+E3+G#3+B3+E4/2 A2+E3+A3+C#4+E4/2 | E2+B2+E3+G#3+B3+E4/1",), {"fifths": 4}),
    "two voices": (("E4/4 F4/4 G4/4 E4/4 | D4/4 E4/4 C4/2", "C3/2 E3/2 | G2/2 C3/2"), {}),
    "moving bass": (("E4/2 D4/2 | C4/2 B3/2", "A2/8 B2/8 C3/8 A2/8 B2/8 C3/8 D3/8 B2/8 | A2/4 E3/4 E2/2"), {}),
    "syncopated": (("E4/8 F4/4 G4/4 F4/4 E4/8 | E4/8 A4/4. G4/2", "A2/2 A2/2 | E3/2 C3/2"), {}),
    "high": (("A4/8 B4/8 C5/8 D5/8 E5/4 C5/4 | B4/8 A4/8 G#4/8 A4/8 A4/2",), {}),
    "flats": (("Bb3/8 C4/8 D4/8 Eb4/8 F4/8 G4/8 A4/8 Bb4/8 | F4/4 D4/4 Bb3/2",), {"fifths": -2}),
    "one note": (("E4/1",), {}),
    "five-four": (("E4/4 F4/4 G4/4 A4/4 G4/4 | F4/2 E4/2.",), {"metre": "3+2/4"}),
}

CORPUS = (
    ("bach/bwv66.6.mxl", "1", "1-8"),
    ("bach/bwv1.6.mxl", "1", "1-8"),
    ("bach/bwv269.mxl", "2", "1-8"),
    ("bach/bwv248.42-4.mxl", "1", "1-6"),
    ("bach/bwv347.mxl", "1", "1-8"),
    ("haydn/opus1no1/movement1.mxl", "1", "1-8"),
    ("haydn/opus1no1/movement1.mxl", "3", "1-8"),
    ("mozart/k80/movement2.mxl", "2", "1-8"),
    ("mozart/k155/movement1.mxl", "2", "1-8"),
    ("beethoven/opus18no1/movement1.mxl", "3", "1-12"),
    ("haydn/opus74no1/movement3.mxl", "2", "1-8"),
)


def fingered(music: Passage) -> Variation:
    """`music` on the standard guitar, as the line brings it to the axes."""
    return fret(music, find_instrument("standard"), find_hand("standard"))


@cache
def own() -> dict[str, Variation]:
    """Our own passages by name, and the built-in one."""
    lines = {name: fingered(passage(*voices, **more)) for name, (voices, more) in OWN.items()}  # type: ignore[arg-type]
    lines["built in"] = fingered(read(*built_in()))
    return lines


@cache
def broken() -> dict[str, Variation]:
    """A broken chord of six notes and a tremolo, each over basses that change."""
    chords = "C3/16 G3/16 C4/16 E4/16 C4/16 G3/16 D3/16 A3/16 D4/16 F4/16 D4/16 A3/16"
    tremolo = "A2/32 C4/32 C4/32 C4/32 E3/32 C4/32 C4/32 C4/32 G2/32 B3/32 B3/32 B3/32 D3/32 B3/32 B3/32 B3/32"
    return {
        "arpeggio": fingered(passage(f"{chords} | {chords}", metre="3/4")),
        "tremolo": fingered(passage(f"{tremolo} | {tremolo}", metre="2/4")),
    }


@cache
def barred() -> Variation:
    """Chords between open strings and barres, full and half, such that one lies on and others are left."""
    chords = (
        "G2+B2+D3+G3+B3+G4/4 D3+A3+D4+F#4/4 C3+E3+G3+C4+E4/4 | F2+C3+F3+A3+C4+F4/4 E2+B2+E3+G#3+B3+E4/4 "
        "A2+E3+A3+C4+E4+A4/4 | G2+D3+G3+B3+D4+G4/4 D3+A3+D4+F#4/4 A2+E3+A3+C4+E4/4"
    )
    return fingered(passage(chords, metre="3/4", fifths=1))


@cache
def under(name: str, axis: str, setting: str) -> Variation | Declined:
    """One of our own passages under one setting."""
    return vary(own()[name], Study(**{axis: setting}))  # type: ignore[arg-type]


@cache
def corpus() -> dict[str, Variation]:
    """Excerpts of the corpus that fit the guitar, by path and part."""
    import music21  # noqa: PLC0415 only here: half a second

    folder = Path(music21.__file__).parent / "corpus"
    return {
        f"{path} {part}": fingered(read((folder / path).read_bytes(), path, part=part, bars=bars))
        for path, part, bars in CORPUS
    }
