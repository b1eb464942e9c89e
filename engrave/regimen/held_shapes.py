"""What the fretting hand holds down at once while a chord is broken or a note repeated over its bass."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from engrave.model import Variation
from engrave.model.texture import BROKEN, TREMOLO
from engrave.textures.lookup import stretches
from engrave.textures.onsets import Sound

Touch = tuple[int, int, int]
"""string, fret and finger"""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldShapes:
    """What the fretting hand holds down while a chord is broken."""

    numbers: Mapping[str, int]
    """note → number of its shape"""
    touches: tuple[Mapping[Touch, str], ...]
    """of each shape, with the note that is the first to be struck there"""
    chords: frozenset[int]
    """shapes of chords; the others are a bass with what is repeated over it"""

    def at(self, sound: Sound) -> int | None:
        """The shape that a note belongs to; None in a line."""
        return self.numbers.get(sound.note.id)


def touch(sound: Sound) -> Touch:
    """Where a stopped note lies."""
    where = sound.placement
    return where.string, where.fret, where.finger


def shapes_held(variation: Variation) -> HeldShapes:
    """The chords that are broken, and the basses with what is repeated over them: what the hand holds down at once."""
    figures = [(f, span.kind) for span in stretches(variation) if span.kind in (BROKEN, TREMOLO) for f in span.figures]
    lying = {
        note.id: (note.placement.string, note.placement.fret, note.placement.finger)
        for note in variation.passage.notes
        if note.placement is not None and note.placement.finger
    }
    return HeldShapes(
        numbers={name: number for number, (figure, _) in enumerate(figures) for name in figure},
        touches=tuple({lying[name]: name for name in reversed(figure) if name in lying} for figure, _ in figures),
        chords=frozenset(number for number, (_, kind) in enumerate(figures) if kind == BROKEN),
    )
