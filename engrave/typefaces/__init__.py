"""Typefaces: which file has a letter, how text is set in it, and a font cut to the letters a book needs.

The book's own family comes from the package font-source-serif-pro (SIL Open Font License). Where it lacks a letter, a
font of the machine lends it; where that has none either, a stand-in is printed, and whoever prints text says so.
The only room that opens fonts to read them; HarfBuzz does the work.
"""

from engrave.typefaces.faces import EM, FACES, STAND_IN, Face, advance, cut, draw, face_of, has, lenders, own
from engrave.typefaces.shaping import Drawn, Outline, OutlinePen, clean, outline, right_to_left

__all__ = [
    "EM",
    "FACES",
    "STAND_IN",
    "Drawn",
    "Face",
    "Outline",
    "OutlinePen",
    "advance",
    "clean",
    "cut",
    "draw",
    "face_of",
    "has",
    "lenders",
    "outline",
    "own",
    "right_to_left",
]
