"""Which notes of a page its study is about, so that what is gone round and round holds some of them."""

from __future__ import annotations

from engrave.axes import ORDER, settings
from engrave.model import TEXTURES, Variation
from engrave.textures.lookup import kind_of


def subject(variation: Variation) -> frozenset[str]:
    """Ids of the notes that a study is about: those it slurs, those it takes with rest stroke, those it reaches at all.

    Empty where it is about every note alike, or about none that is told by the note.
    """
    study, notes = variation.study, tuple(variation.passage.notes)
    asked = [s for s, axis in zip(settings(study), ORDER, strict=True) if s.name != axis.default]
    where = kind_of(variation)
    found = frozenset(note.id for note in notes)
    narrow = [set(s.fits) for s in asked if set(s.fits) < set(TEXTURES)]
    for kinds in narrow:
        found &= {name for name, span in where.items() if span.kind in kinds}
    kinds_of_work = {s.axis for s in asked}
    if "slurs" in kinds_of_work:
        found &= {note.id for note in notes if note.slurred_from}
    rests = {note.id for note in notes if note.stroke and note.stroke.kind == "rest"}
    if "stroke" in kinds_of_work and rests:
        found &= rests
    return found if len(found) < len(notes) else frozenset()
