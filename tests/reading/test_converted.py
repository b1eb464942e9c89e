"""MIDI, kern and MEI, held against what other libraries read in the same files.

Sources: the MIDI files, the kern scores and the MEI files that music21 (PyPI) carries for its own tests and as its
corpus; MIDI is read with mido, kern and MEI with music21 itself, without the way over MusicXML that ours goes.
"""

from __future__ import annotations

import importlib
import io
import random
import warnings
from collections import Counter
from fractions import Fraction
from pathlib import Path
from typing import Any

import music21
import pytest

from engrave.exchange import to_midi
from engrave.line import line_of
from engrave.model import Passage, Plan, ReadError
from engrave.reading import read
from engrave.reading.converted.written_out import Heard, Line, Metres, musicxml_of
from engrave.reading.limits import Limits

_MIDO: Any = importlib.import_module("mido")
_HOUSE = Path(music21.__file__).parent
_LONG = ("test04", "test09")
_MIDI = [path for path in sorted((_HOUSE / "midi/testPrimitive").glob("*.mid")) if path.stem not in _LONG]
_EXAMPLES = Path(__file__).parents[2] / "examples"


def _struck(passage: Passage) -> Counter[tuple[Fraction, int]]:
    return Counter(
        (event.onset, note.pitch.midi)
        for event in passage.events
        if not event.grace
        for note in event.notes
        if not note.tied_back
    )


def _channels(data: bytes) -> list[list[int]]:
    """Pitches begun in each channel of each track, sorted, by mido."""
    found = []
    for track in _MIDO.MidiFile(file=io.BytesIO(data), clip=True).tracks:
        begun = [message for message in track if message.type == "note_on" and message.velocity]
        for channel in sorted({message.channel for message in begun}):
            found.append(sorted(message.note for message in begun if message.channel == channel))
    return found


@pytest.mark.parametrize("path", _MIDI, ids=lambda p: p.stem)
def test_the_pitches_of_a_midi_file_are_those_another_library_reads(path: Path) -> None:
    """Part N holds the pitches of the N-th channel with notes, each as often, but for notes begun twice at once."""
    data = path.read_bytes()
    expected = _channels(data)
    for number, pitches in enumerate(expected, start=1):
        passage = read(data, path.name, part=str(number))
        ours = Counter(midi for _, midi in _struck(passage).elements())
        lost = Counter(pitches) - ours
        assert not ours - Counter(pitches)
        assert sum(lost.values()) <= max(1, len(pitches) // 20), lost
        assert "read from MIDI" in passage.notices[0].text


@pytest.mark.parametrize("name", ["two-lanterns.musicxml", "harbour-steps.musicxml", "slow-barge.tab"])
def test_what_we_write_as_midi_reads_back(name: str) -> None:
    """Every pitch at its onset, of lines, chords, two voices and triplets."""
    passage = read((_EXAMPLES / name).read_bytes(), name)
    data = to_midi(line_of(passage, Plan()), ladders=[(60,)])
    assert _struck(read(data, "x.mid")) == _struck(passage)


def test_what_was_played_unevenly_is_brought_to_the_grid() -> None:
    """Sixteenths and triplets played up to 20 ms early or late at 60 beats a minute are written as they were meant."""
    draw = random.Random(1)
    meant = [Fraction(n, 4) for n in range(8)] + [2 + Fraction(n, 3) for n in range(6)]
    heard = []
    for place, onset in enumerate(meant):
        early = Fraction(draw.randint(-20, 20), 1000)
        after = meant[place + 1] if place + 1 < len(meant) else Fraction(4)
        heard.append(Heard(start=max(onset + early, Fraction(0)), end=after - Fraction(1, 20), midi=60 + place % 5))
    written = musicxml_of(
        [Line(name="Guitar", program=25, notes=tuple(heard))],
        Metres(),
        most_bars=8_000,
        most_notes=30_000,
    )
    passage = read(written, "x.musicxml")
    assert [event.onset for event in passage.events if event.notes] == meant
    assert sum(event.duration for event in passage.events if event.notes) == 4
    assert len(passage.voices) == 1


def _by_parser(score: Any, part: int) -> Counter[tuple[Fraction, int]]:
    line = score.parts[part].stripTies()
    found: Counter[tuple[Fraction, int]] = Counter()
    for element in line.flatten().notes:
        if not element.duration.isGrace:
            onset = Fraction(element.offset).limit_denominator(5040)
            found.update((onset, pitch.midi) for pitch in element.pitches)
    return found


@pytest.mark.parametrize(
    "path", ["corpus/palestrina/Kyrie_79.krn", "mei/test/notes_in_utf8.mei", "mei/test/notes_in_utf16.mei"]
)
def test_a_score_sounds_as_the_parser_reads_it(path: str) -> None:
    """Kern and MEI: every pitch of the first part at its onset."""
    converter: Any = importlib.import_module("music21.converter")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = _by_parser(converter.parse(_HOUSE / path, forceSource=True), 0)
    assert _struck(read((_HOUSE / path).read_bytes(), path)) == theirs


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"**kern\n*M4/4\n" + b"4c\n" * 30 + b"*-\n", "30 notes, rests and empty places, the limit is 20"),
        (b"MThd\0\0\0\6\0\0\0\1\xe7\x28MTrk\0\0\0\4\0\xff\x2f\0", "times are in seconds"),
        (b"MThd\0\0\0\6\0\0\0\1\0\x60MTrk\0\0\0\4\0\xff\x2f\0", "no note with a pitch"),
        (b"MThd\0\0\0\6\0\0\0\1\0\x60MTrk\0\0\0\x0c\0\x90\x3c\x40\xff\xff\xff\x7f\x80\x3c\0\0\xff\x2f\0", "it lasts"),
        (b"**kern\n*M4/4\n4c\n64\n*-\n", "line 4: '64' cannot be read"),
        (b"**kern\n=1\n2c\n6d\n=2\n4e\n=\n*-\n", "bar 1: a bar of 8/3 quarters before any metre"),
        (b"**kern\n*M4/4\n4c\t4d\n*-\n", "the kern cannot be followed"),
        (b'<mei xmlns="http://www.music-encoding.org/ns/mei"><music/></mei>', "the MEI cannot be followed"),
        (b'<!DOCTYPE mei [<!ENTITY a "b">]><mei>&a;</mei>', "an entity is declared"),
    ],
)
def test_what_cannot_be_read_is_one_line(data: bytes, said: str) -> None:
    """Bounds come first, and whatever the parser stumbles over is a fault of the file."""
    with pytest.raises(ReadError) as caught:
        read(data, "x", limits=Limits(notes=5))
    assert said in str(caught.value)
    assert len(caught.value.faults) == 1


def test_a_bar_before_any_metre_gets_one_from_its_length() -> None:
    """Kern may leave the metre out; a bar lasts what its notes last, with triplets too."""
    passage = read(b"**kern\n=1\n4c\n12d\n12e\n12f\n=2\n4g\n4a\n4b\n=3\n4cc\n4b\n4a\n==\n*-\n", "x.krn")
    assert [(*bar.metre.beats, bar.metre.unit, int(bar.length)) for bar in passage.bars] == [
        (2, 4, 2),
        (3, 4, 3),
        (3, 4, 3),
    ]


def test_a_note_over_a_million_bars_is_refused_at_once() -> None:
    """Forty bytes of MIDI cannot ask for a hundred thousand bars: refused by their number before any is made."""
    track = bytes.fromhex("00ff58040105180800903c40") + bytes.fromhex("9fff7f803c0000ff2f00")
    data = (
        b"MThd"
        + bytes.fromhex("000000060000000100 18".replace(" ", ""))
        + b"MTrk"
        + len(track).to_bytes(4, "big")
        + track
    )
    with pytest.raises(ReadError) as caught:
        read(data, "long.mid")
    assert str(caught.value) == "long.mid: it lasts 21,845 quarters, more than 400 bars (keep the passage only)"
    shorter = data.replace(bytes.fromhex("9fff7f"), bytes.fromhex("87ff7f"))
    with pytest.raises(ReadError) as caught:
        read(shorter, "long.mid")
    assert str(caught.value) == "long.mid: more than 8,000 bars in all parts (keep the passage only)"
