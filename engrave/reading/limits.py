"""How much a file may ask of us, in one place. Nothing else in this room sets a bound of its own.

A file is held against these before the parser proper sees it, so that a small file cannot ask for hours or gigabytes.
`read` takes a Limits of your own where these do not fit.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Bounds of what is read. The defaults leave room for any score an engraver would print."""

    file_bytes: int = 64_000_000
    """size of a plain MusicXML file"""
    archive_bytes: int = 16_000_000
    """size of a compressed MusicXML file as handed over"""
    unpacked_bytes: int = 64_000_000
    """size of what is unpacked from it"""
    archive_files: int = 500
    """files in it"""
    text_bytes: int = 2_000_000
    """size of a text tablature or an ABC tune"""
    depth: int = 40
    """XML elements inside one another; MusicXML itself needs about twelve"""
    elements: int = 1_000_000
    """XML elements in a file"""
    names: int = 1_000
    """different names of XML elements; MusicXML knows about four hundred"""
    attributes: int = 60
    """attributes of one XML element"""
    text: int = 20_000
    """characters of text in one XML element"""
    token_bytes: int = 1_000_000
    """size of a single tag or comment"""
    note_elements: int = 200
    """XML elements inside one note"""
    parts: int = 200
    """parts in a score"""
    bars: int = 400
    """bars that become one passage"""
    notes: int = 6_000
    """notes and rests that become one passage"""
    bar_notes: int = 1_000
    """notes, rests and jumps back and forward in one bar"""
    directions: int = 2_000
    """words and other directions that become one passage"""
    voices: int = 8
    """voices of one passage"""
    bar_quarters: int = 128
    """length of one bar in quarters"""
    divisions: int = 1_000_000
    """parts a quarter may be divided into by the file"""
    tuplet: int = 64
    """notes of a tuplet"""
    tuplet_depth: int = 5
    """tuplets inside one another"""
    faults: int = 20
    """faults told of one file"""
    words: int = 300
    """characters of a title or of printed words"""


LIMITS = Limits()
"""the bounds in force"""
