"""Standard MIDI files: a variation to listen to, or a ladder of tempi to play along with.

A file of type 1 with 960 ticks a quarter: a track of tempi, metres, keys and names, the notes, and clicks if asked.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from importlib import import_module
from typing import Any

from engrave.exchange.sounds import HeardNote, sounds
from engrave.model import Bar, Metre, Passage, Variation
from engrave.model.errors import one_line
from engrave.model.pitch import on_line

TICKS = 960
"""ticks a quarter: thirds, fifths and 64ths are exact, sevenths to half a tick"""
DEFAULT = Fraction(60)
"""quarters a minute where neither the call nor the passage says so; a house default"""
NYLON = 24
"""the nylon-string guitar among the programs of General MIDI System Level 1 (MMA, 1991), counted from 0"""
CLICKS = 9
"""channel of percussion in General MIDI, counted from 0"""
_HIGH, _LOW = 76, 77
"""high and low wood block in General MIDI"""


@dataclass(slots=True)
class _Tracks:
    """Messages with their absolute ticks; the number keeps the order of what happens at one tick."""

    frame: list[tuple[int, int, Any]] = field(default_factory=list)
    notes: list[tuple[int, int, Any]] = field(default_factory=list)
    clicks: list[tuple[int, int, Any]] = field(default_factory=list)


def to_midi(
    variations: Variation | Sequence[Variation],
    *,
    ladders: Sequence[Sequence[int]] = (),
    count_in: int = 0,
    click: bool = False,
    channels: bool = False,
) -> bytes:
    """A variation, or several one after another, as a Standard MIDI file.

    Args:
        variations: what is played; repeats once, as printed.
        ladders: for each variation beats a minute, each from 5 to 500: it is played once at each step, in this order;
            none: as the passage says. The beat is that of the metre of the first bar.
        count_in: bars of clicks before each time through, 0 to 8.
        click: click on every beat while the music plays.
        channels: a channel for each string, so that each can be heard apart; else all on the first.

    Raises:
        ValueError: no variation, or a number out of its range.
    """
    mido: Any = import_module("mido")  # late: only those who listen need it
    many = (variations,) if isinstance(variations, Variation) else tuple(variations)
    if not many:
        raise ValueError("there is no variation to play")
    steps = ladders or [()] * len(many)
    if len(steps) != len(many):
        raise ValueError(f"{len(steps)} ladders of tempi for {len(many)} variations")
    if wrong := [beats for ladder in steps for beats in ladder if not 5 <= beats <= 500]:
        raise ValueError(f"tempo {wrong[0]} is not within 5 to 500 beats a minute")
    if not 0 <= count_in <= 8:
        raise ValueError(f"a count-in of {count_in} bars is not within 0 to 8")
    tracks = _Tracks()
    at = 0
    for variation, ladder in zip(many, steps, strict=True):
        passage = variation.passage
        tracks.frame.append((at, 0, mido.MetaMessage("text", text=_said(variation.title or passage.title))))
        for speed in _speeds(passage, ladder):
            per_quarter = mido.bpm2tempo(float(speed))
            tracks.frame.append((at, 1, mido.MetaMessage("set_tempo", tempo=min(per_quarter, 2**24 - 1))))
            tracks.frame.append((at, 2, mido.MetaMessage("marker", text=f"{_beats(passage, speed)} beats a minute")))
            _signatures(mido, tracks, passage.bars[0], None, at)
            at = _count_in(mido, tracks, passage.bars[0], at, count_in)
            _play(mido, tracks, variation, at, channels=channels)
            at = _bars(mido, tracks, passage.bars, at, click=click)
    return _file(mido, many[0], tracks, at, channels=channels)


def _said(text: str) -> str:
    """Text in one line, as UTF-8 can hold it."""
    return one_line(text).encode("utf-8", errors="replace").decode("utf-8")


def _speeds(passage: Passage, tempo: Sequence[int]) -> list[Fraction]:
    """Quarters a minute of each time through."""
    beat = passage.bars[0].metre.beat
    return [beats * beat for beats in tempo] or [passage.tempo or DEFAULT]


def _beats(passage: Passage, speed: Fraction) -> str:
    beats = speed / passage.bars[0].metre.beat
    return str(beats) if beats.denominator == 1 else f"{float(beats):.1f}"


def _ticks(quarters: Fraction) -> int:
    return round(quarters * TICKS)


def _clicks(mido: Any, tracks: _Tracks, metre: Metre, start: Fraction, stop: Fraction, *, at: int) -> None:
    """Click on every beat from `start` to `stop`, counted from a full bar's start; `at` is the tick of `start`."""
    place = -(-start // metre.beat) * metre.beat
    while place < stop:
        strong = place % metre.length == 0
        note, tick = _HIGH if strong else _LOW, at + _ticks(place - start)
        on = mido.Message("note_on", channel=CLICKS, note=note, velocity=100 if strong else 70)
        off = mido.Message("note_off", channel=CLICKS, note=note, velocity=0)
        tracks.clicks += [(tick, 1, on), (tick + TICKS // 8, 0, off)]
        place += metre.beat


def _count_in(mido: Any, tracks: _Tracks, first: Bar, at: int, bars: int) -> int:
    """Clicks before the music; a pickup begins within the last bar counted. The tick where the music starts."""
    if not bars:
        return at
    metre = first.metre
    length = metre.length * (bars - 1) + (first.offset or metre.length)
    if length < metre.length / 2:
        length += metre.length
    _clicks(mido, tracks, metre, Fraction(0), length, at=at)
    return at + _ticks(length)


def _signatures(mido: Any, tracks: _Tracks, bar: Bar, before: Bar | None, at: int) -> None:
    """Metre and key of a bar where they are not those of the bar before."""
    if before is None or bar.metre != before.metre:
        beats = min(sum(bar.metre.beats), 255)
        tracks.frame.append((at, 3, mido.MetaMessage("time_signature", numerator=beats, denominator=bar.metre.unit)))
    if before is None or bar.key != before.key:
        tracks.frame.append((at, 4, mido.MetaMessage("key_signature", key=_key(bar))))


def _bars(mido: Any, tracks: _Tracks, bars: Sequence[Bar], at: int, *, click: bool) -> int:
    """Metres and keys where they change, and clicks; the tick where the last bar ends."""
    before = bars[0]
    for bar in bars:
        start = at + _ticks(bar.onset)
        _signatures(mido, tracks, bar, before, start)
        if click:
            _clicks(mido, tracks, bar.metre, bar.offset, bar.offset + bar.length, at=start)
        before = bar
    return at + _ticks(bars[-1].end)


def _key(bar: Bar) -> str:
    """The key as a MIDI file names it."""
    minor = bar.key.mode == "minor"
    tonic = on_line(bar.key.fifths + (3 if minor else 0))
    return f"{tonic.step}{'#' * tonic.alter}{'b' * -tonic.alter}{'m' if minor else ''}"


def _channel(string: int, *, channels: bool) -> int:
    """Channels 0 to 15 by string, without that of percussion."""
    if not channels:
        return 0
    string = max(string, 1)
    return string - 1 if string <= CLICKS else min(string, 15)


def _play(mido: Any, tracks: _Tracks, variation: Variation, at: int, *, channels: bool) -> None:
    """The notes of one time through; two strings in unison on one channel are one note, as long as the longer."""
    together: dict[tuple[int, int, int], HeardNote] = {}
    for sound in sounds(variation):
        place = (_ticks(sound.start), _channel(sound.string, channels=channels), sound.midi)
        if place not in together or together[place].length < sound.length:
            together[place] = sound
    for (start, channel, note), sound in together.items():
        stop = max(_ticks(sound.start + sound.length), start + 1)
        on = mido.Message("note_on", channel=channel, note=note, velocity=sound.velocity)
        off = mido.Message("note_off", channel=channel, note=note, velocity=0)
        tracks.notes += [(at + start, 1, on), (at + stop, 0, off)]


def _file(mido: Any, variation: Variation, tracks: _Tracks, end: int, *, channels: bool) -> bytes:
    """The tracks as a file: what ends comes before what begins at the same tick."""
    out = mido.MidiFile(type=1, ticks_per_beat=TICKS, charset="utf-8")
    strings = len(variation.instrument.strings)
    used = sorted({_channel(string, channels=channels) for string in range(1, strings + 1)})
    programs = [(0, -1, mido.Message("program_change", channel=channel, program=NYLON)) for channel in used]
    title = _said(variation.passage.title or variation.title) or "engrave"
    for name, messages in ((title, tracks.frame), ("guitar", programs + tracks.notes), ("clicks", tracks.clicks)):
        if name == "clicks" and not messages:
            continue
        track = mido.MidiTrack()
        track.append(mido.MetaMessage("track_name", name=name, time=0))
        now = 0
        for tick, _, message in sorted(messages, key=lambda m: m[:2]):
            track.append(message.copy(time=tick - now))
            now = tick
        track.append(mido.MetaMessage("end_of_track", time=max(0, end - now)))
        out.tracks.append(track)
    data = io.BytesIO()
    out.save(file=data)
    return data.getvalue()
