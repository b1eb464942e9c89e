"""Which notes of a page its study is about, so that what is gone round and round holds some of them."""

from __future__ import annotations

from engrave.axes import changed
from engrave.model import TEXTURES, Variation
from engrave.textures.lookup import kind_of


def subject(variation: Variation) -> frozenset[str]:
    """Ids of the notes that a study is about: those it slurs, those it takes with rest stroke, those it reaches at all.

    Empty where it is about every note alike, or about none that is told by the note.
    """
    asked, notes = changed(variation.study), tuple(variation.passage.notes)
    found = frozenset(note.id for note in notes)
    for setting in asked:
        if set(setting.fits) < set(TEXTURES):
            found &= {name for name, span in kind_of(variation).items() if span.kind in setting.fits}
    axes = {setting.axis for setting in asked}
    if "slurs" in axes:
        found &= {note.id for note in notes if note.slurred_from}
    rests = {note.id for note in notes if note.stroke and note.stroke.kind == "rest"}
    if "stroke" in axes and rests:
        found &= rests
    return found if len(found) < len(notes) else frozenset()
