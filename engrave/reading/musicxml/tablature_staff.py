"""What a tablature staff beside a plain one tells about its notes.

Rules: strings and frets go to the plain note of the same time and pitch, or of the same pitch octaves away where the
tablature is written in another octave; no note is doubled; what has no partner is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from engrave.model import Given
from engrave.model.said import say
from engrave.reading.musicxml.notations import HeadMarks
from engrave.reading.musicxml.staves import ChosenStaff
from engrave.reading.musicxml.timed_notes import NoteHead, TimedNote, Walked
from engrave.reading.tally import Tally


def merged(
    bars: Sequence[Walked], staff: ChosenStaff, marks: Mapping[str, HeadMarks], tally: Tally
) -> tuple[dict[str, HeadMarks], dict[str, str]]:
    """Marks of the plain heads enriched by the tablature, and which plain head each tablature head stands for.

    `marks` are those of the heads that are read and of every head of the tablature.
    """
    out = dict(marks)
    partners: dict[str, str] = {}
    for bar in bars if staff.tabs else ():
        told = list(_heads(bar, staff.tabs))
        plain = list(_heads(bar, (staff.number,)))
        pairs = sorted(
            (abs(one.pitch.midi - head.pitch.midi), place, one.id, head.id)
            for place, (item, head) in enumerate(told)
            for other, one in plain
            if (other.onset, other.grace) == (item.onset, item.grace) and (one.pitch.midi - head.pitch.midi) % 12 == 0
        )
        taken: set[str] = set()
        for _, _, partner, head_id in pairs:
            if partner in taken or head_id in partners:
                continue
            taken.add(partner)
            partners[head_id] = partner
            if partner in out:
                out[partner] = _joined(out[partner], marks[head_id])
        for _, head in told:
            if head.id not in partners:
                tally.add(say("left out: notes of the tablature staff that the plain staff has not"), bar.label)
    return out, partners


def _heads(bar: Walked, staves: Sequence[int]) -> Iterator[tuple[TimedNote, NoteHead]]:
    return ((item, head) for item in bar.items if item.staff in staves for head in item.heads)


def _joined(plain: HeadMarks, tab: HeadMarks) -> HeadMarks:
    mine, theirs = plain.given, tab.given
    given = Given(
        finger=theirs.finger if mine.finger is None else mine.finger,
        string=theirs.string if mine.string is None else mine.string,
        fret=theirs.fret if mine.fret is None else mine.fret,
        pluck=mine.pluck or theirs.pluck,
        stroke=mine.stroke or theirs.stroke,
    )
    return replace(plain, given=given, muted=plain.muted or tab.muted)
