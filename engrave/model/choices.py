"""Words that may be chosen among, in plans and on the command line alike."""

from __future__ import annotations

DEPTHS = ("short", "standard", "complete", "fewest")
"""how many variations a book holds; `fewest` is the smallest book that still trains everything"""
LEVELS = ("beginner", "intermediate", "advanced")
"""how far a player is: length of the book, tempi, and what is asked of the hands"""
FORMS = ("book", "handout", "week")
"""what is printed"""
FORMATS = ("musicxml", "mxl", "midi")
"""what an export writes for other programs"""
PICTURES = ("svg", "png")
"""what an export draws"""
LANGUAGES = ("en", "de", "es", "fr", "it")
"""languages pages can be printed in"""
