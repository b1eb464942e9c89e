"""Notes with times become bars, voices and values, as MusicXML without any fingering.

Rules: a beat is cut into four sixteenths or three triplet eighths, whichever lies nearer to what was played; a note
begins on the nearest of these places and lasts at least one of them; one that ends less than a sixteenth, or less than
a third of its length, before the next of its voice is held until that; a voice takes a note where it is free, the
nearest in pitch first.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import islice, pairwise, takewhile
from xml.etree.ElementTree import Element, SubElement, tostring

from engrave.model import Key, Pitch
from engrave.model.spelling import likely_key, spell

_SIXTEENTH, _THIRD = Fraction(1, 4), Fraction(1, 3)
_APART = 10
"""semitones from which a note below others is a bass of its own; ours"""
DIVISIONS = 12
"""parts of a quarter: both grids fall on whole ones"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """One note; times in quarters."""

    start: Fraction
    end: Fraction
    midi: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One part."""

    name: str
    program: int | None
    """General MIDI program from 1"""
    notes: tuple[Heard, ...]


@dataclass(slots=True)
class Metres:
    """What the file says of metre, key and tempo."""

    at: dict[Fraction, tuple[int, int]] = field(default_factory=dict)
    """quarter → beats and unit"""
    key: Key | None = None
    tempo: Fraction | None = None
    """quarters a minute at the start"""

    def take(self, kind: str, data: bytes, now: Fraction) -> None:
        """Note one event of the file: what is no metre, key or tempo is passed over."""
        if kind == "TIME_SIGNATURE" and len(data) >= 2 and 1 <= data[0] <= 32 and data[1] <= 5:
            self.at[now] = (data[0], 1 << data[1])
        elif kind == "KEY_SIGNATURE" and len(data) >= 2 and self.key is None:
            fifths = data[0] - 256 if data[0] > 127 else data[0]
            self.key = Key(fifths=fifths, mode="minor" if data[1] else "major") if -7 <= fifths <= 7 else None
        elif kind == "SET_TEMPO" and len(data) >= 3 and self.tempo is None and int.from_bytes(data[:3], "big"):
            self.tempo = Fraction(60_000_000, int.from_bytes(data[:3], "big"))

    def bars(self, end: Fraction) -> Iterator[tuple[Fraction, Fraction, tuple[int, int]]]:
        """(start, length, beats and unit) of each bar up to `end`; a metre counts from the first bar at or after it."""
        start, changes, metre = Fraction(0), sorted(self.at), (4, 4)
        while start < end or not start:
            place = bisect_right(changes, start)
            metre = self.at[changes[place - 1]] if place else metre
            length = Fraction(4 * metre[0], metre[1])
            yield start, length, metre
            start += length


def musicxml_of(lines: Sequence[Line], metres: Metres, *, most_bars: int, most_notes: int) -> bytes:
    """The parts as one MusicXML score.

    Raises ValueError, saying what there is too much of, for more bars (of all parts together) or more notes (tied ones
    counted in every bar) than these: a few bytes can ask for a note over a million bars.
    """
    root = Element("score-partwise", version="4.0")
    listed = SubElement(root, "part-list")
    played = [_on_grid(line.notes) for line in lines]
    end = max(note.end for notes in played for note in notes)
    bars = list(islice(metres.bars(end), most_bars // len(lines) + 1))
    if len(bars) * len(lines) > most_bars:
        raise ValueError(f"more than {most_bars:,} bars in all parts")
    starts = [start for start, _, _ in bars]
    tied = (bisect_right(starts, note.end) - bisect_right(starts, note.start) + 1 for part in played for note in part)
    if sum(tied) > most_notes:
        raise ValueError(f"more than {most_notes:,} notes, those that last over a bar line counted in every bar")
    for number, (line, notes) in enumerate(zip(lines, played, strict=True), start=1):
        part = SubElement(listed, "score-part", id=f"P{number}")
        SubElement(part, "part-name").text = line.name
        if line.program is not None:
            SubElement(SubElement(part, "midi-instrument", id=f"P{number}-I1"), "midi-program").text = str(line.program)
        _part(SubElement(root, "part", id=f"P{number}"), _voices(notes), bars, metres)
    written: bytes = tostring(root, encoding="utf-8", xml_declaration=True)
    return written


def _on_grid(notes: Sequence[Heard]) -> list[Heard]:
    """The notes on the grid that each beat keeps to."""
    strayed: dict[int, list[Fraction]] = {}
    for note in notes:
        beat = int(note.start + _SIXTEENTH / 4)
        four, three = (abs(note.start - round(note.start / step) * step) for step in (_SIXTEENTH, _THIRD))
        sums = strayed.setdefault(beat, [Fraction(0), Fraction(0)])
        sums[0] += four
        sums[1] += three
    steps = {beat: _SIXTEENTH if four <= three else _THIRD for beat, (four, three) in strayed.items()}

    def placed(at: Fraction, beat: int) -> Fraction:
        step = steps.get(beat, _SIXTEENTH)
        return round(at / step) * step

    made: dict[tuple[Fraction, int], Heard] = {}
    for note in notes:
        beat = int(note.start + _SIXTEENTH / 4)
        start = placed(note.start, beat)
        end = max(placed(note.end, int(note.end)), start + steps[beat])
        before = made.get((start, note.midi))
        end = max(end, before.end) if before else end
        made[start, note.midi] = Heard(start=start, end=end, midi=note.midi)
    return sorted(made.values(), key=lambda note: (note.start, -note.midi))


def _voices(notes: Sequence[Heard]) -> list[list[list[Heard]]]:
    """Voices of chords: notes that begin together, end together and do not lie far apart are one chord."""
    chords: list[list[Heard]] = []
    for note in notes:
        before = chords[-1][-1] if chords else None
        if before and (before.start, before.end) == (note.start, note.end) and before.midi - note.midi < _APART:
            chords[-1].append(note)
        else:
            chords.append([note])
    voices: list[list[list[Heard]]] = []
    for chord in chords:
        start, top = chord[0].start, chord[0].midi
        free = [voice for voice in voices if voice[-1][0].end <= start or _yields(voice[-1][0], start)]
        if free:
            voice = min(free, key=lambda voice: abs(voice[-1][0].midi - top))
            if voice[-1][0].end > start:
                voice[-1] = [replace(note, end=start) for note in voice[-1]]
            voice.append(chord)
        else:
            voices.append([chord])
    for voice in voices:
        for index, (chord, after) in enumerate(list(pairwise(voice))):
            gap = after[0].start - chord[0].end
            if 0 < gap < max(_SIXTEENTH + _SIXTEENTH / 2, (chord[0].end - chord[0].start) / 3):
                voice[index] = [replace(note, end=after[0].start) for note in chord]
    return sorted(voices, key=lambda voice: -sum(chord[0].midi for chord in voice) / len(voice))


def _yields(note: Heard, start: Fraction) -> bool:
    """Whether a note overlaps the next by so little that it was only let go late."""
    return note.start < start and note.end - start <= min(_SIXTEENTH, (note.end - note.start) / 4)


def _part(
    part: Element,
    voices: Sequence[Sequence[Sequence[Heard]]],
    bars: Sequence[tuple[Fraction, Fraction, tuple[int, int]]],
    metres: Metres,
) -> None:
    """Write the bars of one part."""
    key = metres.key or likely_key([note.midi for voice in voices for chord in voice for note in chord])
    queues = [[piece for chord in voice for piece in _cut(chord, bars)] for voice in voices]
    places = [0] * len(queues)
    before: tuple[int, int] | None = None
    for number, (start, length, metre) in enumerate(bars, start=1):
        bar = SubElement(part, "measure", number=str(number))
        _attributes(bar, key if number == 1 else None, metre if metre != before else None)
        if number == 1 and metres.tempo:
            direction = SubElement(bar, "direction")
            SubElement(direction, "direction-type")
            SubElement(direction, "sound", tempo=str(round(float(metres.tempo), 2)))
        before = metre
        used = 0
        for voice, queue in enumerate(queues):
            first = places[voice]
            while places[voice] < len(queue) and queue[places[voice]].start < start + length:
                places[voice] += 1
            inside = queue[first : places[voice]]
            if not inside and not (voice == len(queues) - 1 and not used):
                continue
            if used:
                _jump(bar, "backup", length)
            used += 1
            _voice(bar, inside, voice + 1, (start, length), key)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Piece:
    """A chord, or as much of it as one bar or one beat of triplets has."""

    start: Fraction
    end: Fraction
    midis: tuple[int, ...]
    tied_back: bool
    tied_on: bool


def _cut(chord: Sequence[Heard], bars: Sequence[tuple[Fraction, Fraction, tuple[int, int]]]) -> Iterator[_Piece]:
    """The pieces of a chord: cut at the bar lines, and at the beats where it begins or ends among triplets."""
    start, end = chord[0].start, chord[0].end
    place = bisect_right(bars, start, key=lambda bar: bar[0])
    lines = takewhile(lambda begun: begun < end, (bar[0] for bar in bars[place:]))
    for first, last in _parts(start, end, lines):
        midis = tuple(sorted(note.midi for note in chord))
        yield _Piece(start=first, end=last, midis=midis, tied_back=first > start, tied_on=last < end)


def _attributes(bar: Element, key: Key | None, metre: tuple[int, int] | None) -> None:
    if key is None and metre is None:
        return
    made = SubElement(bar, "attributes")
    if key is not None:
        SubElement(made, "divisions").text = str(DIVISIONS)
        SubElement(SubElement(made, "key"), "fifths").text = str(key.fifths)
    if metre is not None:
        time = SubElement(made, "time")
        SubElement(time, "beats").text, SubElement(time, "beat-type").text = str(metre[0]), str(metre[1])
    if key is not None:  # MIDI counts sounding pitches, as this clef says
        clef = SubElement(made, "clef")
        SubElement(clef, "sign").text, SubElement(clef, "line").text = "G", "2"
        SubElement(clef, "clef-octave-change").text = "-1"


def _jump(bar: Element, tag: str, length: Fraction) -> None:
    SubElement(SubElement(bar, tag), "duration").text = str(int(length * DIVISIONS))


def _voice(bar: Element, pieces: Sequence[_Piece], voice: int, span: tuple[Fraction, Fraction], key: Key) -> None:
    """Write what one voice has in a bar, rests between."""
    here, end = span[0], span[0] + span[1]
    for piece in pieces:
        for first, last in _parts(here, piece.start):
            _note(bar, None, last - first, voice)
        for place, midi in enumerate(piece.midis):
            note = _note(bar, spell(midi, key), piece.end - piece.start, voice, chord=place > 0)
            for tied, kind in ((piece.tied_back, "stop"), (piece.tied_on, "start")):
                if tied:
                    SubElement(note, "tie", type=kind)
        here = piece.end
    for first, last in _parts(here, end):
        _note(bar, None, last - first, voice)


def _parts(start: Fraction, end: Fraction, lines: Iterable[Fraction] = ()) -> Iterator[tuple[Fraction, Fraction]]:
    """A stretch, cut at these bar lines, and at the beats where it begins or ends among triplets."""
    off = [int(edge) for edge in (start, end) if (edge * 4).denominator != 1]
    beats = [Fraction(beat) for edge in off for beat in (edge, edge + 1) if start < beat < end]
    return pairwise(sorted({start, *lines, *beats, end}))


_THIRDS = {Fraction(1, 3): "eighth", Fraction(2, 3): "quarter"}
"""length in quarters → the value that is written under a triplet"""


def _note(bar: Element, pitch: Pitch | None, length: Fraction, voice: int, *, chord: bool = False) -> Element:
    note = SubElement(bar, "note")
    if chord:
        SubElement(note, "chord")
    if pitch is None:
        SubElement(note, "rest")
    else:
        named = SubElement(note, "pitch")
        SubElement(named, "step").text, SubElement(named, "alter").text = pitch.step, str(pitch.alter)
        SubElement(named, "octave").text = str(pitch.octave)
    SubElement(note, "duration").text = str(int(length * DIVISIONS))
    SubElement(note, "voice").text = str(voice)
    # a gap between the two grids within one beat has no value of its own: its duration alone says how long it is
    if length in _THIRDS:
        SubElement(note, "type").text = _THIRDS[length]
        ratio = SubElement(note, "time-modification")
        SubElement(ratio, "actual-notes").text, SubElement(ratio, "normal-notes").text = "3", "2"
    return note
