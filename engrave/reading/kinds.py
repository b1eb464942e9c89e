"""What a file is that no reader of ours takes, told by name with the way out; and what only claims to be music.

Marks of formats are those of their own documentation, or of `file(1)`'s list; the endings are common practice.
"""

from __future__ import annotations

import re

from engrave.model import ReadError
from engrave.reading.tablature.page import string_like

MIDI = b"MThd"
"""begins a Standard MIDI File"""
WAY_OUT = "export the score as MusicXML; ABC, MEI, kern, MIDI and text tablature are read, too"
_EXPORT = "open it in the program it came from and export it as MusicXML"
_FROM_PRINT = "give the score it was printed from, as MusicXML"
_OWN = "a notation program's own file"
_CONTENT = (
    ((b"%PDF",), "a PDF", _FROM_PRINT),
    ((b"\x89PNG", b"\xff\xd8\xff", b"GIF8"), "a picture", _FROM_PRINT),
    ((b"\x1f\x8b",), "a gzip file", "unpack it first"),
    ((b"7z\xbc\xaf", b"Rar!"), "a packed archive", "unpack it first"),
    ((b"RIFF", b"ID3", b"OggS", b"fLaC"), "a recording", "give the score, as MusicXML; MIDI is read, too"),
    ((b"{\\rtf",), "a word processor's text", "save it as plain text (.txt)"),
    ((b"\xd0\xcf\x11\xe0",), "an office document", "save a tablature as plain text (.txt), a score as MusicXML"),
    ((b"\x0fSIBELIUS", b"ENIGMA BINARY FILE", b"FICHIER GUITAR", b"BCFZ", b"BCFS", b"ptab"), _OWN, _EXPORT),
)
"""(first bytes, what it is, way out)"""
_INSIDE = (
    ((b"[Content_Types].xml",), "an office document", "save a tablature as plain text (.txt), a score as MusicXML"),
    ((b".mscx", b"score.gpif", b"score_style.mss"), _OWN, _EXPORT),
    ((b"mimetypeapplication/epub",), "an electronic book", _FROM_PRINT),
    ((b"mimetypeapplication/vnd.oasis",), "an office document", "save a tablature as plain text (.txt)"),
)
"""(names of a file inside a zip, what the zip is, way out)"""
_ENDINGS = {
    (".musicxml", ".xml"): "XML",
    (".mei",): "XML",
    (".mxl",): "a zip",
    (".mid", ".midi", ".smf"): "MIDI",
}
"""endings of formats that are told by their content: what such a file must be"""
_BESIDE = {
    ".toml": ("this is a plan, not a passage", "name the passage first, and the plan with --plan"),
    ".csv": ("this is a table, not a passage", "name the passage first, and a practice log with --log"),
}
"""endings of what goes with a passage: what it is, and how it is given"""
_PROGRAMS = (".mscz", ".mscx", ".sib", ".mus", ".musx", ".gp", ".gp3", ".gp4", ".gp5", ".gpx", ".ptb", ".cap", ".capx")
_LILYPOND = re.compile(r"\\(?:version\s*\"|relative\b|new\s+(?:Staff|Voice|TabStaff|Score)|score\s*\{|header\s*\{)")
_MARKDOWN = re.compile(r"\\(?:documentclass|begin\{)|^#!|^(?:import|from) \w+", re.MULTILINE)
_ABC_LINE = re.compile(r"^[A-Z]:", re.MULTILINE)
_KERN = re.compile(r"^\*\*\w+", re.MULTILINE)


def refuse_by_content(data: bytes, name: str) -> None:
    """Raise ReadError where the first bytes of a file are those of something else."""
    for first, what, hint in _CONTENT:
        if data[:40].lstrip(b"\x00\x18").startswith(first):
            raise ReadError.at(name, f"this is {what}, not a score", hint)
    if data.startswith(b"PK"):
        for names, what, hint in _INSIDE:
            if any(inside in data[:2000] or inside in data[-20_000:] for inside in names):
                raise ReadError.at(name, f"this is {what}, not a score", hint)
    if b"<museScore" in data[:500]:
        raise ReadError.at(name, f"this is {_OWN}, not a score", _EXPORT)


def refuse_by_ending(name: str) -> None:
    """Raise ReadError where a file that is neither XML, zip nor MIDI is called one by its name, or a program's own."""
    lower = name.lower()
    for endings, what in _ENDINGS.items():
        if lower.endswith(endings):
            fact = f"the file is not {what}, as its name says: it is damaged, or another kind"
            raise ReadError.at(name, fact, "fetch or save it again; export the score as MusicXML")
    if lower.endswith(_PROGRAMS):
        raise ReadError.at(name, f"this is {_OWN}, not a score", _EXPORT)


def refuse_other_texts(text: str, name: str) -> None:
    """Raise ReadError for a text that is neither ABC nor has the lines of a tablature, saying what it is."""
    if _LILYPOND.search(text) or name.lower().endswith((".ly", ".ily")):
        hint = "export the score as MusicXML or MIDI: LilyPond's \\midi block writes one"
        raise ReadError.at(name, "this is LilyPond input, which is a program, not a score", hint)
    if _KERN.search(text) or name.lower().endswith(".krn"):
        raise ReadError.at(name, "there is no spine of **kern in the Humdrum file", "notes are read from **kern only")
    if any(string_like(line) for line in text.splitlines()):
        return
    if ending := next((one for one in _BESIDE if name.lower().endswith(one)), ""):
        raise ReadError.at(name, *_BESIDE[ending])
    if _ABC_LINE.search(text):
        fact = "this looks like an ABC tune without its number or its key"
        raise ReadError.at(name, fact, "write X:1 first and K: last before the notes")
    if _MARKDOWN.search(text):
        raise ReadError.at(name, "this is a program or a typesetter's text, not music", WAY_OUT)
    raise ReadError.at(name, "this is text without music in it: no tablature, no ABC tune", WAY_OUT)
