"""MIDI files (Standard MIDI File 1.0): what was played, brought to what can be written.

Rules: each beat is cut into four or into three, whichever its notes keep to more closely; a note that is let go shortly
before the next of its voice lasts until that; notes of one channel of one track are one part. Only times, pitches, the
metre, the key and the tempo are taken; MIDI knows no spelling, no fingering and no voices.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from engrave.model import ReadError
from engrave.model.errors import one_line
from engrave.model.said import say
from engrave.reading.converted.by_music21 import music21
from engrave.reading.converted.written_out import Heard, Line, Metres, musicxml_of
from engrave.reading.limits import LIMITS, Limits, allow

SAID = say("read from MIDI: lengths are brought to sixteenths and triplets, names of notes and voices are ours")
_DRUMS = 10
"""the channel of General MIDI that has no pitches"""
_EVENTS = 20
"""events of a file for each note that may become a passage, at most"""
_BARS, _NOTES = 20, 5
"""bars of all parts, and notes of the whole file, for each that may become a passage"""


@dataclass(slots=True)
class _Track:
    """One channel of one track while it is read."""

    name: str
    channel: int
    program: int | None
    notes: list[tuple[int, int, int]]
    """(start and end in ticks, MIDI note number)"""


def midi_as_musicxml(data: bytes, name: str, limits: Limits = LIMITS) -> bytes:
    """The MusicXML of a MIDI file, its lengths brought to sixteenths and triplets of eighths. Raises ReadError."""
    if len(data) > limits.text_bytes:
        hint = f"keep the passage only; {allow('text_bytes', len(data))}"
        raise ReadError.at(name, f"the file is {len(data):,} bytes long, the limit is {limits.text_bytes:,}", hint)
    ticks = int.from_bytes(data[12:14], "big")
    if not 1 <= ticks < 0x8000:
        raise ReadError.at(name, "its times are in seconds (SMPTE), not in beats", "save it with a tempo and beats")
    parsed = _parsed(data, name)
    if sum(len(track.events) for track in parsed.tracks) > _EVENTS * limits.notes:
        raise ReadError.at(name, f"more than {_EVENTS * limits.notes:,} events", "keep the passage only")
    metres = Metres()
    tracks = [made for track in parsed.tracks for made in _channels(track, ticks, metres)]
    tracks = [track for track in tracks if track.notes and track.channel != _DRUMS]
    if not tracks:
        raise ReadError.at(name, "there is no note with a pitch in the MIDI file")
    last = max(end for track in tracks for _, end, _ in track.notes)
    if last > ticks * 4 * 8 * limits.bars:
        fact = f"it lasts {last // ticks:,} quarters, more than {limits.bars} bars"
        raise ReadError.at(name, fact, "keep the passage only")
    lines = [
        Line(
            name=track.name or (f"Channel {track.channel}" if len(tracks) > 1 else "Part 1"),
            program=track.program,
            notes=tuple(
                Heard(start=Fraction(start, ticks), end=Fraction(end, ticks), midi=midi)
                for start, end, midi in sorted(track.notes)
            ),
        )
        for track in tracks
    ]
    try:
        return musicxml_of(lines, metres, most_bars=_BARS * limits.bars, most_notes=_NOTES * limits.notes)
    except ValueError as problem:
        raise ReadError.at(name, str(problem), "keep the passage only") from None


def _parsed(data: bytes, name: str) -> Any:
    made = music21("midi").MidiFile()
    try:
        made.readstr(data)
    except Exception:
        raise ReadError.at(name, "the MIDI file is damaged or cut off", "save or fetch it again") from None
    return made


def _channels(track: Any, ticks: int, metres: Metres) -> list[_Track]:
    """The parts of one track, a channel each; metre, key and tempo go to `metres`."""
    made: dict[int, _Track] = {}
    sounding: dict[tuple[int, int], int] = {}
    now, title = 0, ""
    for event in track.events:
        if event.isDeltaTime():
            now += event.time
            continue
        kind = event.type.name
        if kind == "SEQUENCE_TRACK_NAME":
            title = one_line(bytes(event.data or b"").decode("utf-8", errors="replace"), 60)
        elif kind in ("TIME_SIGNATURE", "KEY_SIGNATURE", "SET_TEMPO"):
            metres.take(kind, bytes(event.data or b""), Fraction(now, ticks))
        if event.channel is None:
            continue
        part = made.setdefault(event.channel, _Track(title, event.channel, None, []))
        if kind == "PROGRAM_CHANGE" and part.program is None and event.data is not None:
            part.program = int(event.data) + 1
        elif kind in ("NOTE_ON", "NOTE_OFF") and event.pitch is not None:
            begun = sounding.pop((event.channel, event.pitch), None)
            if begun is not None and now > begun:
                part.notes.append((begun, now, event.pitch))
            if kind == "NOTE_ON" and event.velocity:
                sounding[event.channel, event.pitch] = now
    for part in made.values():
        part.name = title if len(made) == 1 else f"{title} {part.channel}".strip()
    return list(made.values())
