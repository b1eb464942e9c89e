"""Which reader a file goes to, by its content first and its name second."""

from __future__ import annotations

import re
from dataclasses import replace

from engrave.model import Notice, Passage, ReadError
from engrave.model.errors import one_line
from engrave.reading.kinds import MIDI, WAY_OUT, refuse_by_content, refuse_by_ending, refuse_other_texts
from engrave.reading.limits import LIMITS, Limits, allow
from engrave.reading.tablature.page import string_like

_ABC_FIELD = re.compile(r"^\s*X:\s*\d", re.MULTILINE)
_ABC_KEY = re.compile(r"^\s*K:", re.MULTILINE)
_ROOT = re.compile(r"<(?:[\w.-]+:)?(\w[\w.-]*)")


def read(
    data: bytes, name: str, *, part: str = "", voice: str = "", bars: str = "", limits: Limits = LIMITS
) -> Passage:
    """The passage in a file: MusicXML (compressed or not), MEI, Humdrum kern, MIDI, ABC or text tablature.

    Args:
        data: the bytes of the file.
        name: its name, for messages and for what the content does not tell; "-" for standard input.
        part: where there are parts: id, name, abbreviation or number of one; "NAME/2" for its second staff.
        voice: number of a voice as the file counts, or several with commas.
        bars: printed numbers such as "5-8" or "5"; a pickup is 0.
        limits: bounds of what is read.

    Raises:
        ReadError: with one fault a line; nothing else.
    """
    if not data.strip():
        raise ReadError.at(name, "the file is empty", "check that it was saved")
    refuse_by_content(data, name)
    if data[:4] in (b"PK\x03\x04", b"PK\x05\x06"):
        from engrave.reading.musicxml.archive import unpack  # noqa: PLC0415

        data = unpack(data, name, limits)
    text = ""
    if not data.startswith(MIDI) and not _looks_like_xml(data):
        refuse_by_ending(name)
        text = _text(data, name, limits)
    made, said = _as_musicxml(data, text, name, limits)
    if made is None:
        return _typed(text, name, part=part, voice=voice, bars=bars, limits=limits)
    from engrave.reading.musicxml.reader import read_musicxml  # noqa: PLC0415

    passage = read_musicxml(made, name, part=part, voice=voice, bars=bars, limits=limits)
    return replace(passage, notices=(Notice(text=said), *passage.notices)) if said else passage


def _as_musicxml(data: bytes, text: str, name: str, limits: Limits) -> tuple[bytes | None, str]:
    """A score as MusicXML and what to say about it; None where it is a text that only we read."""
    if data.startswith(MIDI):
        from engrave.reading.converted.midi import SAID, midi_as_musicxml  # noqa: PLC0415

        return midi_as_musicxml(data, name, limits), SAID
    if text:
        from engrave.reading.converted.kern import MARK, kern_as_musicxml  # noqa: PLC0415

        return (kern_as_musicxml(text, name, limits) if MARK in text[:20_000] else None), ""
    if _root(data) in ("mei", "music"):
        from engrave.reading.converted.mei import mei_as_musicxml  # noqa: PLC0415

        return mei_as_musicxml(data, decoded(data, name), name, limits), ""
    return data, ""


def _text(data: bytes, name: str, limits: Limits) -> str:
    if len(data) > limits.text_bytes:
        fact = f"the text is {len(data):,} bytes long, the limit is {limits.text_bytes:,}"
        raise ReadError.at(name, fact, f"keep the passage only; {allow('text_bytes', len(data))}")
    return decoded(data, name)


def _typed(text: str, name: str, *, part: str, voice: str, bars: str, limits: Limits) -> Passage:
    """The passage of an ABC tune or a tablature."""
    from engrave.reading.cut import cut  # noqa: PLC0415

    if name.lower().endswith(".abc") or (_ABC_FIELD.search(text) and _ABC_KEY.search(text)):
        from engrave.reading.abc.reader import read_abc  # noqa: PLC0415

        passage = read_abc(text, name, limits)
    else:
        refuse_other_texts(text, name)
        from engrave.reading.tablature.reader import read_tablature  # noqa: PLC0415

        passage = read_tablature(text, name, limits)
    if part.strip():
        fact = f"part {one_line(part, 60)!r} is not in the file, which has only one"
        raise ReadError.at(name, fact, "leave --part out")
    return cut(passage, voice=voice, bars=bars)


def part_names(data: bytes, name: str, limits: Limits = LIMITS) -> list[str]:
    """Names of the parts with notes of a score in MusicXML, in its order; none for other kinds. Raises ReadError."""
    from engrave.reading.musicxml.archive import unpack  # noqa: PLC0415 (as above)
    from engrave.reading.musicxml.parts import all_parts, partwise  # noqa: PLC0415
    from engrave.reading.safe_xml import parse  # noqa: PLC0415

    if data[:4] == b"PK\x03\x04":
        data = unpack(data, name, limits)
    if not _looks_like_xml(data) or _root(data) not in ("score-partwise", "score-timewise"):
        return []
    parts = all_parts(partwise(parse(data, name, limits), name), name, limits)
    return list(dict.fromkeys(part.label for part in parts if part.has_notes()))


def without_music(data: bytes, name: str) -> bool:
    """Whether a file is plain text without a line of tablature, ABC or kern: notes that lie beside the music."""
    if not name.lower().endswith(".txt") or _looks_like_xml(data):
        return False
    try:
        refuse_by_content(data, name)
        text = _text(data, name, LIMITS)
    except ReadError:
        return False
    from engrave.reading.converted.kern import MARK  # noqa: PLC0415 (as above)

    tune = _ABC_FIELD.search(text) or _ABC_KEY.search(text)
    return not (tune or MARK in text or any(string_like(line) for line in text.splitlines()))


def _root(data: bytes) -> str:
    """The name of the first element of an XML file, without its name space."""
    head = data[:4000].replace(b"\x00", b"").decode("latin-1")
    return match[1] if (match := _ROOT.search(head)) else ""


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
        raise ReadError.at(name, "this is no kind of music we know: neither a score nor text", WAY_OUT)
    return text
