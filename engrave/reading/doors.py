"""Which reader a file goes to, by its content first and its name second."""

from __future__ import annotations

import re

from engrave.model import Fault, Passage, Place, ReadError
from engrave.model.errors import one_line
from engrave.reading.limits import LIMITS, Limits, allow

_ABC_FIELD = re.compile(r"^\s*X:\s*\d", re.MULTILINE)
_ABC_KEY = re.compile(r"^\s*K:", re.MULTILINE)
_BINARY = (
    (b"MThd", "a MIDI file", "export the score as MusicXML"),
    (b"%PDF", "a PDF", "give the score it was printed from, as MusicXML"),
    (b"\x89PNG", "a picture", "give the score as MusicXML"),
    (b"\xff\xd8\xff", "a picture", "give the score as MusicXML"),
    (b"\x1f\x8b", "a gzip file", "unpack it first"),
)


def read(
    data: bytes, name: str, *, part: str = "", voice: str = "", bars: str = "", limits: Limits = LIMITS
) -> Passage:
    """The passage in a file: MusicXML, compressed MusicXML, ABC or text tablature.

    Args:
        data: the bytes of the file.
        name: its name, for messages and for what the content does not tell; "-" for standard input.
        part: MusicXML: id, name, abbreviation or number of a part; "NAME/2" for its second staff.
        voice: number of a voice as the file counts, or several with commas.
        bars: printed numbers such as "5-8" or "5"; a pickup is 0.
        limits: bounds of what is read.

    Raises:
        ReadError: with one fault a line; nothing else.
    """
    place = Place(file=name)
    if not data.strip():
        raise ReadError(Fault(fact="the file is empty", hint="check that it was saved", place=place))
    for magic, what, hint in _BINARY:
        if data.startswith(magic):
            raise ReadError(Fault(fact=f"this is {what}, not a score", hint=hint, place=place))
    if data[:4] in (b"PK\x03\x04", b"PK\x05\x06"):
        from engrave.reading.musicxml.archive import unpack  # noqa: PLC0415

        data = unpack(data, name, limits)
    elif not _looks_like_xml(data):
        return _no_xml(data, name, part=part, voice=voice, bars=bars, limits=limits)
    from engrave.reading.musicxml.reader import read_musicxml  # noqa: PLC0415

    return read_musicxml(data, name, part=part, voice=voice, bars=bars, limits=limits)


def _no_xml(data: bytes, name: str, *, part: str, voice: str, bars: str, limits: Limits) -> Passage:
    place = Place(file=name)
    if name.lower().endswith((".musicxml", ".xml", ".mxl")):
        what = "a zip" if name.lower().endswith(".mxl") else "XML"
        raise ReadError(Fault(fact=f"the file is not {what}", hint="export the score as MusicXML", place=place))
    if len(data) > limits.text_bytes:
        fact = f"the text is {len(data):,} bytes long, the limit is {limits.text_bytes:,}"
        raise ReadError(Fault(fact=fact, hint=f"keep the passage only; {allow('text_bytes', len(data))}", place=place))
    text = decoded(data, name)
    from engrave.reading.cut import cut  # noqa: PLC0415

    if name.lower().endswith(".abc") or (_ABC_FIELD.search(text) and _ABC_KEY.search(text)):
        from engrave.reading.abc.reader import read_abc  # noqa: PLC0415

        passage = read_abc(text, name, limits)
    else:
        from engrave.reading.tablature.reader import read_tablature  # noqa: PLC0415

        passage = read_tablature(text, name, limits)
    if part.strip():
        fact = f"part {one_line(part, 60)!r} is not in the file, which has only one"
        raise ReadError(Fault(fact=fact, hint="leave --part out", place=place))
    return cut(passage, voice=voice, bars=bars)


def _looks_like_xml(data: bytes) -> bool:
    """Whether the first sign of a text is a bracket, in any of the encodings XML allows without being told."""
    head = data[:400].removeprefix(b"\xef\xbb\xbf").removeprefix(b"\xff\xfe").removeprefix(b"\xfe\xff")
    return head.replace(b"\x00", b"").lstrip().startswith(b"<")


def decoded(data: bytes, name: str) -> str:
    """Text of a file: UTF-8, UTF-16 with its mark, else Windows-1252. Raises ReadError where it is no text."""
    try:
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            return data.decode("utf-16")
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
    if "\x00" in text:
        hint = "give MusicXML, ABC or a tablature"
        raise ReadError(Fault(fact="the file is not text", hint=hint, place=Place(file=name)))
    return text
