"""Asking a variation for its textures."""

from __future__ import annotations

from collections.abc import Collection
from fractions import Fraction

from engrave.model import Texture, Variation
from engrave.model.texture import LAYERS
from engrave.textures.finding import found
from engrave.textures.onsets import Sound, onset_groups, remembered


def stretches(variation: Variation) -> tuple[Texture, ...]:
    """The textures of a variation, in order: those it carries, else those found in it."""
    return variation.textures or _found(variation)


@remembered
def _found(variation: Variation) -> tuple[Texture, ...]:
    return found(variation)


def kind_of(variation: Variation) -> dict[str, Texture]:
    """Id of each note that begins in a stretch → that stretch."""
    return {name: span for span in stretches(variation) for figure in span.figures for name in figure}


def share(variation: Variation, kinds: Collection[str]) -> Fraction:
    """Of the plucked notes, the part that lies in stretches of these textures; 0 where none is plucked."""
    where = kind_of(variation)
    plucked = [s.note.id for group in onset_groups(variation.passage) for s in group.plucked]
    inside = sum(name in where and where[name].kind in kinds for name in plucked)
    return Fraction(inside, len(plucked)) if plucked else Fraction(0)


def leading(variation: Variation) -> tuple[Sound, ...]:
    """The plucked notes that are heard as the line, one an onset group, in order.

    Of what is struck together the highest string; under a melody, a bass alone is none of them.
    """
    where = kind_of(variation)
    found = []
    for group in onset_groups(variation.passage):
        own = [s for s in group.plucked if s.note.id not in _basses(where.get(s.note.id))]
        found += own[-1:]
    return tuple(found)


def _basses(span: Texture | None) -> frozenset[str]:
    return span.basses if span is not None and span.kind == LAYERS else frozenset()
