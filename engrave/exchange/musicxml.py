"""MusicXML 4.0 (W3C), partwise: one part, one staff, several variations one after another if asked.

A document is notes or tablature, never both: MusicXML has no staff that other programs would take for a second picture
of the same notes (`staff-type` "alternate" is read by none we know), so that they count and play what stands on both
twice. Strings and frets stand on the notes of either.

Conventions: pitches sound and stand under a treble clef with an 8 below; `fingering` is the fretting hand's, `pluck`
the plucking hand's letter as it is printed, `string` 1 the highest; open strings have `open-string`. Positions, barres
and kinds of stroke have no element of their own and are words. Nothing in a file depends on the day it was written.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from engrave.exchange.beams import beams
from engrave.exchange.frame import attributes, begin, left_line, part_list, right_line
from engrave.exchange.notes import NoteWriter, accidentals, brackets, event_notes
from engrave.exchange.numbered_curves import ends
from engrave.exchange.signs import Sign, direction, signs
from engrave.exchange.tree import Element, add, add_text, written
from engrave.model import PLUCKING, Bar, Event, Passage, Variation

LETTERS = ("c", "e", "x", "o", "q", "s", "ch")
"""letters editions print for the little finger; all but ch, which is common practice, are glyphs of SMuFL"""
_CONTAINER = (
    b'<?xml version="1.0" encoding="UTF-8"?>\n<container><rootfiles>'
    b'<rootfile full-path="score.musicxml" media-type="application/vnd.recordare.musicxml+xml"/>'
    b"</rootfiles></container>\n"
)
"""the container and the media types of "Compressed .mxl files", W3C MusicXML 4.0"""
_BETWEEN = "\n    "
"""between the bars of a part"""
_NEW_PAGE = '\n      <print new-page="yes" />\n'
"""behind the first line of a bar that begins a page"""
_EPOCH = (1980, 1, 1, 0, 0, 0)
"""the first date a zip file can hold; stands for no date"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Manner:
    """How a document is written."""

    tab: bool
    exact: bool
    letters: Mapping[str, str]
    single: bool
    """whether it holds one variation only"""
    divisions: int
    """parts of a quarter, the same in all of it: some programs read no document in which they change"""


def to_musicxml(
    variations: Variation | Sequence[Variation],
    *,
    tab: bool = False,
    exact: bool = False,
    little: str = "c",
) -> bytes:
    """A variation, or several one after another in one part, as a MusicXML 4.0 document in UTF-8.

    Args:
        variations: what to write; several begin on pages of their own, headed by their titles, their bars numbered on.
        tab: write tablature instead of notes: the same music under a TAB clef, without digits of fingers.
        exact: for reading back rather than for printing: the tuning stands in elements, tempo and tuning are not said
            in words. (On a plain staff some programs take a tuning for a sign of tablature.)
        little: the letter for the little finger, one of LETTERS.

    Raises:
        ValueError: no variation, or another letter.
    """
    many = (variations,) if isinstance(variations, Variation) else tuple(variations)
    if not many:
        raise ValueError("there is no variation to write")
    if little not in LETTERS:
        raise ValueError(f"the little finger's letter {little!r} is not one of {' '.join(LETTERS)}")
    letters = {finger: little if finger == "c" else finger for finger in PLUCKING}
    root = Element("score-partwise", version="4.0")
    part_list(root, many)
    add(root, "part", id="P1")
    manner = _Manner(tab=tab, exact=exact, letters=letters, single=len(many) == 1, divisions=_divisions(many))
    bars = [_bars(variation, manner) for variation in many]
    start, end = written(root).split('<part id="P1" />')
    music = _BETWEEN.join([start + '<part id="P1">', *(bars[0] if manner.single else _numbered_on(bars))])
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{music}\n  </part>{end}\n'.encode()


def _numbered_on(bars: Sequence[Sequence[str]]) -> Iterator[str]:
    """Bars of several variations, numbered through; each but the first variation begins on a new page."""
    before = 0
    for row in bars:
        for index, bar in enumerate(row, start=1):
            numbered = bar.replace(f'number="{index}"', f'number="{before + index}"', 1)
            yield numbered.replace("\n", _NEW_PAGE, 1) if before and index == 1 else numbered
        before += len(row)


def to_mxl(document: bytes) -> bytes:
    """A MusicXML document as a compressed file (.mxl), with no date in it."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        kinds = zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_DEFLATED
        files = (
            ("mimetype", b"application/vnd.recordare.musicxml"),
            ("META-INF/container.xml", _CONTAINER),
            ("score.musicxml", document),
        )
        for (name, data), kind in zip(files, kinds, strict=True):
            entry = zipfile.ZipInfo(name, date_time=_EPOCH)
            entry.compress_type = kind
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, data)
    return out.getvalue()


def _swept(passage: Passage) -> frozenset[str]:
    """The lowest of the notes of each chord that the thumb takes in one stroke, by id."""
    thumb = ([n for n in e.notes if n.stroke is not None and n.stroke.finger == "p"] for e in passage.events)
    return frozenset(notes[0].id for notes in thumb if len(notes) > 1)


def _bars(variation: Variation, manner: _Manner) -> list[str]:
    """The bars of one variation as they are written; where there are others, numbered from 1."""
    passage = variation.passage
    writer = NoteWriter(
        divisions=manner.divisions,
        ends=ends(passage),
        brackets=brackets(passage.events),
        letters=manner.letters,
        tab=manner.tab,
        swept=_swept(passage),
    )
    rows: list[list[Event]] = [[] for _ in passage.bars]
    for event in passage.events:
        rows[event.bar].append(event)
    said: dict[int, list[Sign]] = {}
    for sign in signs(variation, heading="" if manner.single else variation.title, exact=manner.exact):
        said.setdefault(sign.bar, []).append(sign)
    made: list[str] = []
    bars = passage.bars
    for index, (before, bar, after) in enumerate(zip((None, *bars), bars, (*bars[1:], None), strict=False)):
        label = bar.label if manner.single else str(index + 1)
        short = bar.length < bar.metre.length and (index == 0 or bar.offset > 0)
        measure = Element("measure", number=label, **({"implicit": "yes"} if short else {}))
        frame = attributes(bar, before)
        if index == 0:
            begin(frame, variation.instrument, divisions=writer.divisions, tab=manner.tab, exact=manner.exact)
        if len(frame):
            measure.append(frame)
        left_line(measure, bar, before)
        _bar(measure, rows[index], bar, writer, said.get(index, ()))
        right_line(measure, bar, after)
        made.append(written(measure, level=2))
    return made


def _divisions(variations: Sequence[Variation]) -> int:
    """Parts a quarter must be cut into for every length to be a whole number of them."""
    parts = {
        length.denominator
        for variation in variations
        for length in (
            *(bar.length for bar in variation.passage.bars),
            *(time for event in variation.passage.events for time in (event.onset, event.duration)),
        )
    }
    return lcm(*parts)


def _bar(measure: Element, events: Sequence[Event], bar: Bar, writer: NoteWriter, said: Sequence[Sign]) -> None:
    """The voices of a bar one after another, with a way back between them."""
    voices = sorted({event.voice for event in events})
    waiting = list(said)
    signs_here = {} if writer.tab else accidentals(events, bar.key)
    for voice in voices:
        row = [event for event in events if event.voice == voice]
        if voice != voices[0]:
            _jump(measure, "backup", bar.length, writer)
        joined = beams(row, bar)
        stem = "" if len(voices) == 1 else "up" if voice == voices[0] else "down"
        for event in row:
            while waiting and (waiting[0].onset <= event.onset or waiting[0].onset < event.end):
                sign = waiting.pop(0)
                late = max(sign.onset - event.onset, Fraction(0))
                direction(measure, sign, offset=writer.duration(late))
            event_notes(measure, event, writer, signs_here, beams=joined.get(event.id, ()), stem=stem)
        for sign in waiting:
            direction(measure, sign)
        waiting = []
    if not voices:
        _jump(measure, "forward", bar.length, writer)


def _jump(measure: Element, tag: str, length: Fraction, writer: NoteWriter) -> None:
    add_text(add(measure, tag), "duration", writer.duration(length))
