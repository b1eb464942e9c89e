"""Short passages in the public domain with the marks of named editions, typed by hand.

Each is a few bars in the words of tests.build: `E5:..2` is printed with finger 2, `F#4:2..4` on string 2 with finger
4, `A3:..2.i` plucked i. What is not printed is not given. "After" names the print that the fingered public-domain
setting was made from; the setting's digits are its own. The weights were learnt from rows of the same pieces, but for
Sor's: what is held here is that they still do as well, not how they do on music they never saw
(tests/benchmarks/fingering_agreement.py --leave-one-out says that). `least` is what the engine reaches on each,
rounded down: chromatic lines with one finger sliding, and shapes held high on the neck, are where editors and the
engine differ most.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from engrave.model import Event, Given, Passage
from tests.build import passage


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A passage as an edition prints it."""

    name: str
    edition: str
    era: str
    texture: str
    voices: tuple[str, ...]
    metre: str
    fifths: int
    digits: int
    """digits that are printed"""
    least: float
    """share of the digits that our own fingering must meet"""
    letters: int = 0
    """plucking letters that are printed; ours must meet all of them"""
    instrument: str = "standard"

    @property
    def passage(self) -> Passage:
        """The passage with the printed marks."""
        return passage(*self.voices, metre=self.metre, fifths=self.fifths, title=self.name)


PRINTED = (
    Printed(
        name="Dowland, Fantasia 7, opening",
        edition="set for guitar and fingered by Conway, yawnoc/guitar at fe48dbba46, CC0 1.0",
        era="renaissance",
        texture="two voices",
        voices=(
            "B4:..4/2 G#4/4 B4/4 | A4/4 G#4/4 F#4:2..4/2 | E4:..2/4 G#4:..1/4 F#4:..4/4 E4~:..0/4 | "
            "E4/8 F#4:..1/8 D#4:..4/4 E4:..0/4. D#4/8 | "
            "C#4/8. D#4/16 E4:..0/8 D#4/16 E4/16 F#4:..1/8. G#4/16 A4/8 G#4/16 F#4/16",
            "s/1 | s/1 | s/1 | B3:3..3/2 G#3:..1/4 B3:..3/4 | A3/4 G#3:..1/4 F#3:..3/2",
        ),
        metre="4/4",
        fifths=4,
        digits=16,
        least=0.81,
    ),
    Printed(
        name="Mozart, Ah vous dirai-je maman, variation V, bars 9-16",
        edition="first guitar of a setting for two, Mutopia Project at 2144afd6f5, public domain; after Paris: Porro, "
        "plate 79",
        era="classical",
        texture="line",
        voices=(
            "G4:..4/4 r/8 G4:..4/8 | F#4:..4/4 r/8 F4:..3/8 | E4:..3/4 r/8 D#4:..2/8 | D4:..2/4 r/8 G3:4..1/8 | "
            "G4:..4/4 r/8 G4:..4/16 F#4:..4/16 | F4:..3/4 r/8 F4:..3/16 E4:..3/16 | "
            "D#4:..2/4 r/8 F#4:..2/16 G4:..2/16 | D4:..1/4 r/8 F4:..2/16 D4:..3/16",
        ),
        metre="2/4",
        fifths=0,
        digits=20,
        least=0.2,
    ),
    Printed(
        name="Sor, op. 35 no. 13, three bars",
        edition="fingered by Conway, yawnoc/guitar at fe48dbba46, CC0 1.0",
        era="classical",
        texture="melody, broken chords and bass",
        voices=(
            "D4:..4/8 C4:..1/8 E4:..0/8 G4:..4/8 | G4:..4/8 F4:..1/8 F4:..1/8 F4:..1/8 | F4:..1/4 E4:..0/4",
            "s/16 G3/16 E3:..2/16 G3/16 E3/16 G3/16 E3/16 G3/16 | "
            "s/16 B3:..0/16 G3:..0/16 B3:..0/16 s/16 D4:..4/16 G3:..0/16 D4:..4/16 | "
            "s/16 D4:..4/16 G3:..0/16 D4:..4/16 G3:..0/16 C4:..1/16 E3:..2/16 G3:..0/16",
            "C3:..3/2 | D3:..0/4 B2:..2/4 | C3:..3/2",
        ),
        metre="2/4",
        fifths=0,
        digits=28,
        least=0.9,
    ),
    Printed(
        name="Carcassi, Méthode complète op. 59, prelude in C",
        edition="Bryn Mawr: Oliver Ditson Company, 1906",
        era="romantic",
        texture="broken chords in eighths",
        voices=(
            "s/8 G3:...i/8 C4:..1.m/8 E4:...a/8 s/8 G3/8 C4/8 E4/8 | s/8 A3:..2/8 C4/8 E4/8 s/8 A3/8 C4/8 E4/8 | "
            "s/8 A3/8 D4:..4/8 F4:..1/8 s/8 A3/8 D4/8 F4/8 | s/8 G3/8 B3/8 F4/8 s/8 G3/8 D4:..4/8 F4/8 | "
            "s/8 G3/8 C4:..1/8 E4/8 s/8 G3/8 C#4:..3/8 E4/8 | s/8 A3:..2/8 D4:..4/8 F4:..1/8 s/8 A3/8 D4/8 F4/8 | "
            "s/8 G3/8 C4:..1/8 E4/8 s/8 G3/8 B3/8 F4:..1/8",
            "C3:..3/2 E3:..2/2 | A2/2 C3:..3/2 | D3/2 F3:..3/2 | G2:..3/2 B2:..2/2 | C3:..3/2 A2/2 | D3/2 F3:..3/2 | "
            "G2:..3/2 G2/2",
        ),
        metre="4/4",
        fifths=0,
        digits=21,
        least=0.9,
        letters=3,
    ),
    Printed(
        name="Carcassi, Méthode complète op. 59, prelude in D",
        edition="Bryn Mawr: Oliver Ditson Company, 1906",
        era="romantic",
        texture="broken chords in sixteenths",
        voices=(
            "s/16 A3:..2.i/16 D4:..4.m/16 A3:...i/16 F#4:..3.a/16 A3:...i/16 D4:...m/16 A3:...i/16 "
            "s/16 A3/16 B3/16 A3/16 F#4/16 A3/16 B3/16 A3/16 | "
            "s/16 G3/16 B3/16 G3/16 G4:..3/16 G3/16 B3/16 G3/16 "
            "s/16 A3:..1/16 C#4:..1/16 A3/16 G4:..2/16 A3/16 C#4/16 A3/16 | "
            "s/16 A3:..1/16 C#4:..2/16 A3/16 E4/16 A3/16 C#4/16 A3/16 "
            "s/16 A3/16 D4:..3/16 A3/16 F#4:..2/16 A3/16 D4/16 A3/16 | "
            "s/16 A3:..2/16 C4:..1/16 A3/16 F#4:..3/16 A3/16 C4/16 A3/16 "
            "s/16 G3/16 B3/16 G3/16 G4:..3/16 G3/16 B3/16 G3/16",
            "D3:...p/2 D#3:..1/2 | E3:..1/2 A2/2 | A2/2 D3/2 | D3/2 G2:..2/2",
        ),
        metre="4/4",
        fifths=2,
        digits=18,
        least=0.33,
        letters=8,
    ),
    Printed(
        name="Beethoven, Claro de luna, set for guitar by Tárrega, bars 4, 16 and 17",
        edition="Madrid: Ildefonso Alier, plate 5754",
        era="romantic",
        texture="broken chords in triplets",
        voices=(
            "3(A3:..2/8 C#4:..3/8 G4:..4/8) 3(A3:..2/8 D4:..4/8 F4/8) 3(A3/8 D4/8 E4/8) 3(G3/8 C#4/8 E4/8) | "
            "3(Db4:..3/8 F4:..4/8 Ab4:..2/8) 3(Db4/8 F4:..4/8 Ab4:..2/8) 3(Db4:3../8 F4:2../8 Ab4/8) "
            "3(B3/8 F4/8 Ab4/8) | 3(C4/8 E4/8 G4/8) 3(C4/8 E4/8 G4/8) 3(C4/8 E4/8 G4/8) 3(C4/8 E4/8 G4/8)",
            "A2/2 A2/2 | C3:..1/4 F3:..1/4 Ab3:4../4 F3/4 | C3/2. C3/4",
        ),
        metre="4/4",
        fifths=-1,
        digits=12,
        least=0.3,
        instrument="drop-d",
    ),
    Printed(
        name="Tárrega, Adelita, bars 1-4",
        edition="first guitar of a setting for two, Mutopia Project at 2144afd6f5, public domain; after Valencia: "
        "Antich y Tena, plate A.y.T. 361",
        era="late romantic",
        texture="line, high on the neck",
        voices=(
            "E5:..2/8 D#5:..1/8 B4:2..2/2 | D5:..4/8 C5:..2/8 F#4:2..1/2 | C5:..2/8 B4:..1/8 D#4:3..2/4 G4:2..3/4 | "
            "F#4:..1/8 E4:3..4/8 B3:..0/8 E4:..0/8 G4:..3/8 B4:..2/8",
        ),
        metre="3/4",
        fifths=1,
        digits=16,
        least=0.5,
    ),
)


def unmarked(music: Passage) -> Passage:
    """The passage without the marks of its edition."""

    def bare(event: Event) -> Event:
        return replace(event, notes=tuple(replace(note, given=Given()) for note in event.notes))

    return replace(music, events=tuple(map(bare, music.events)))
