"""Faces: which has a letter, how wide and of what shape it is there, and a face cut to some letters.

Units: 1,000 to the em, y up, whatever the file counts in.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from engrave.typefaces import machine

EM = 1000
FACES = {"roman": "Regular", "italic": "It", "bold": "Semibold", "bold italic": "SemiboldIt"}
"""our names of the faces → the package's files"""
STAND_IN = "▯"
"""printed for a letter that no face has"""
_UPRIGHT = {"roman": "roman", "italic": "roman", "bold": "bold", "bold italic": "bold"}
"""the italics have Latin letters only, the upright faces Greek and Cyrillic too"""


@dataclass(frozen=True, slots=True)
class Face:
    """A face in a file of fonts."""

    file: str
    index: int = 0


@cache
def own(name: str) -> Face:
    """A face of the book's family, by its name in FACES."""
    import font_source_serif_pro  # noqa: PLC0415 (loaded only when text is printed)

    return Face(str(Path(font_source_serif_pro.font_directory) / f"SourceSerifPro-{FACES[name]}.otf"))


@cache
def face_of(character: str, name: str = "roman") -> Face | None:
    """The face that prints a character: `name`, else the upright one, else one of the machine's; none: no face has it.

    A combining mark stands in whichever face the letter before it stands in; ask for that.
    """
    for ours in (name, _UPRIGHT[name]):
        if has(own(ours), character):
            return own(ours)
    for file, index in machine.fonts_with(character):
        found = Face(file, index)
        if has(found, character):
            return found
    return None


def has(face: Face, character: str) -> bool:
    """Whether a face has a character."""
    return ord(character) in _characters(face)


def lenders(characters: Iterable[str]) -> dict[Face, str]:
    """Faces of the machine that print what the book's own family lacks, each with those characters."""
    ours = {own(name) for name in FACES}
    found: dict[Face, str] = {}
    for character in sorted(set(characters)):
        face = face_of(character)
        if face is not None and face not in ours:
            found[face] = found.get(face, "") + character
    return found


def advance(character: str, name: str = "roman") -> float:
    """Width of a character set in the face `name`."""
    face = face_of(character, name)
    if face is None:
        return advance("m", name)
    font = opened(face)
    return float(font.get_glyph_h_advance(font.get_nominal_glyph(ord(character))))


def draw(character: str, pen: Any, name: str = "roman") -> None:
    """Draw a character's outline with a fontTools pen."""
    face = face_of(character, name)
    if face is not None:
        font = opened(face)
        font.draw_glyph_with_pen(font.get_nominal_glyph(ord(character)), pen)


def cut(face: Face, characters: Iterable[str]) -> bytes:
    """A face as an OpenType file that has these characters of it and no others, with all they need to be joined."""
    import uharfbuzz  # noqa: PLC0415 (loaded only when text is printed)

    wanted = uharfbuzz.SubsetInput()
    wanted.unicode_set.update(ord(character) for character in characters)
    wanted.pin_all_axes_to_default(opened(face).face)
    return bytes(uharfbuzz.subset(opened(face).face, wanted).blob.data)


@cache
def opened(face: Face) -> Any:
    """The face as HarfBuzz's font, EM units to the em."""
    import uharfbuzz  # noqa: PLC0415 (loaded only when text is printed)

    font = uharfbuzz.Font(uharfbuzz.Face(uharfbuzz.Blob.from_file_path(face.file), face.index))
    font.scale = (EM, EM)
    return font


@cache
def _characters(face: Face) -> frozenset[int]:
    return frozenset(opened(face).face.unicodes)
