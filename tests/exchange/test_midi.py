"""MIDI out: the right notes at the right time, loudness by accents and slurs, clicks, ladders; read back by others."""

from __future__ import annotations

import io
from dataclasses import replace
from fractions import Fraction
from typing import Any

import mido  # type: ignore[import-untyped,unused-ignore]
import pytest

from engrave.axes import vary
from engrave.exchange import to_midi
from engrave.exchange.midi import TICKS
from engrave.exchange.sounds import sounds
from engrave.fretting.fingered import fret
from engrave.instruments import find_hand, find_instrument
from engrave.model import Key, Note, Passage, Placement, Study, Variation, with_notes
from tests.build import passage
from tests.exchange.reference import struck
from tests.plates.textures import TEXTURES

LINE = passage("E4/8 F4/8 E4/8 G4/8 A4/4> G4/4 | C4/8 B3/8 D4/8 B3/8 E4/2", title="Two bars")


def plain(music: Passage, **changes: Any) -> Variation:
    """A passage as it stands, on a standard guitar."""
    return Variation(passage=music, instrument=find_instrument("standard"), hand=find_hand("standard"), **changes)


def fretted(music: Passage) -> Variation:
    """A passage with placements."""
    return fret(music, find_instrument("standard"), find_hand("standard"))


def parsed(data: bytes) -> Any:
    """The file as mido reads it."""
    return mido.MidiFile(file=io.BytesIO(data), charset="utf-8")


def timed(track: Any) -> list[tuple[int, Any]]:
    """(tick, message) of a track."""
    now, found = 0, []
    for message in track:
        now += message.time
        found.append((now, message))
    return found


def played(data: bytes) -> list[tuple[Fraction, int]]:
    """(quarters, MIDI number) of each note that begins on the guitar's track, in order."""
    track = parsed(data).tracks[1]
    return sorted((Fraction(tick, TICKS), m.note) for tick, m in timed(track) if m.type == "note_on")


def clicks(data: bytes) -> list[tuple[Fraction, int]]:
    """(quarters, velocity) of each click."""
    track = parsed(data).tracks[2]
    return [(Fraction(tick, TICKS), m.velocity) for tick, m in timed(track) if m.type == "note_on"]


@pytest.mark.parametrize("name", TEXTURES)
def test_every_note_begins_in_time(name: str) -> None:
    """Law: each struck note begins at its onset with its pitch, to the tick; behind graces it begins after them."""
    variation = plain(TEXTURES[name])
    graces = sum(len(e.notes) for e in variation.passage.events if e.grace)
    found = played(to_midi(variation))
    if graces:
        assert sorted(m for _, m in found) == sorted(n.pitch.midi for n in variation.passage.notes if not n.tied_back)
        return
    assert found == [(Fraction(round(at * TICKS), TICKS), note) for at, note in struck(variation)]


# music21's grid has no place for graces and fifths: tick by tick they are tested above
ON_ITS_GRID = [n for n, v in TEXTURES.items() if not any(e.grace or e.tuplets for e in plain(v).passage.events)]


@pytest.mark.parametrize("name", ON_ITS_GRID)
def test_another_library_hears_the_same(name: str) -> None:
    """Music21's MIDI reader finds the same pitches in the same order (times to a 64th, which is its grid)."""
    from music21 import converter  # noqa: PLC0415 - the reference

    variation = plain(TEXTURES[name])
    score: Any = converter.parseData(to_midi(variation), format="midi", quarterLengthDivisors=(16, 12))
    theirs = sorted(
        (Fraction(note.getOffsetInHierarchy(score)).limit_denominator(64), pitch.midi)
        for note in score.stripTies().recurse().notes
        for pitch in note.pitches
    )
    assert theirs == struck(variation)


@pytest.mark.parametrize("channels", [False, True])
@pytest.mark.parametrize("name", TEXTURES)
def test_every_note_ends_before_it_begins_again(name: str, channels: bool) -> None:
    """Law: no pitch begins on a channel where it still sounds, and every one ends."""
    for track in parsed(to_midi(fretted(TEXTURES[name]), channels=channels, ladders=[(60, 90)])).tracks[1:]:
        on: set[tuple[int, int]] = set()
        for message in track:
            if message.type == "note_on":
                assert (message.channel, message.note) not in on
                on.add((message.channel, message.note))
            elif message.type == "note_off":
                on.remove((message.channel, message.note))
        assert not on


def test_tied_notes_are_one_sound() -> None:
    """A tied note sounds on and is not struck again."""
    heard = sounds(plain(passage("E4/4~ E4/2 F4/4".replace("E4/4~", "E4~/4"))))
    assert [(s.start, s.length, s.midi) for s in heard] == [
        (Fraction(0), Fraction(3), 64),
        (Fraction(3), Fraction(1), 65),
    ]


def test_accents_are_louder_and_slurred_notes_softer() -> None:
    """Accent, plain, slurred, damped: in this order of loudness."""
    source = passage("E4/4 F4/4> G4/4 E4/4")
    names = [note.id for note in source.notes]
    notes = {note.id: note for note in source.notes}
    changed = {
        names[2]: replace(notes[names[2]], slurred_from=names[1]),
        names[3]: replace(notes[names[3]], muted=True),
    }
    heard = sounds(plain(with_notes(source, changed)))
    velocities = [sound.velocity for sound in heard]
    assert velocities[1] > velocities[0] > velocities[2] > velocities[3]
    assert heard[3].length < 1


def test_staccato_is_short_and_a_rolled_chord_spreads() -> None:
    """Staccato lasts half; a rolled chord begins with its lowest note and ends together."""
    source = passage("E4/4 C3+E3+G3/4 r/2")
    marks = {0: ("staccato",), 1: ("arpeggio",)}
    events = tuple(replace(e, marks=marks.get(i, ())) for i, e in enumerate(source.events))
    heard = sounds(plain(replace(source, events=events)))
    assert heard[0].length == Fraction(1, 2)
    chord = heard[1:]
    assert [s.midi for s in chord] == [48, 52, 55]
    assert chord[0].start == 1 < chord[1].start < chord[2].start
    assert {s.start + s.length for s in chord} == {Fraction(2)}


def test_graces_take_their_time_from_their_note() -> None:
    """Two graces and their note fill the time of the note."""
    heard = sounds(plain(passage("<D4/16 <E4/16 F4/4 E4/2.")))
    assert [(s.start, s.midi) for s in heard] == [(0, 62), (Fraction(1, 8), 64), (Fraction(1, 4), 65), (1, 64)]
    assert heard[2].start + heard[2].length == 1


def test_a_string_sounds_one_note_at_a_time() -> None:
    """A held note ends where its string is struck again."""
    source = passage("E4/4 F4/4 r/2", "C4/1")
    strings = {"E4": 1, "F4": 2, "C4": 2}

    def placed(note: Note) -> Note:
        string = strings[str(note.pitch)]
        fret_ = note.pitch.midi - find_instrument("standard").strings[string - 1].midi
        return replace(note, placement=Placement(string=string, fret=fret_, finger=min(fret_, 4)))

    heard = sounds(plain(with_notes(source, {note.id: placed(note) for note in source.notes})))
    assert [(s.midi, s.start, s.length) for s in heard] == [
        (60, Fraction(0), Fraction(1)),
        (64, Fraction(0), Fraction(1)),
        (65, Fraction(1), Fraction(1)),
    ]


def test_each_string_may_have_its_channel() -> None:
    """With channels each note is on the channel of its string, with a nylon guitar on each; else all on the first."""
    variation = fretted(LINE)
    track = parsed(to_midi(variation, channels=True)).tracks[1]
    strings = [note.placement.string for note in variation.passage.notes if note.placement is not None]
    assert [m.channel + 1 for m in track if m.type == "note_on"] == strings
    assert [(m.channel, m.program) for m in track if m.type == "program_change"] == [(n, 24) for n in range(6)]
    alone = parsed(to_midi(variation)).tracks[1]
    assert {m.channel for m in alone if m.type in ("note_on", "program_change")} == {0}


def test_a_ladder_of_tempi_is_one_file() -> None:
    """Everything is played once at each step; the seconds add up (mido's own clock)."""
    source = passage("E4/4. F4/4. | G4/2.", metre="6/8")
    data = to_midi(plain(source), ladders=[(40, 60, 80)])
    assert len(played(data)) == 9
    seconds = sum(4 * 60 / beats for beats in (40, 60, 80))
    assert parsed(data).length == pytest.approx(seconds, abs=1e-3)
    said = [m.text for m in parsed(data).tracks[0] if m.type == "marker"]
    assert said == ["40 beats a minute", "60 beats a minute", "80 beats a minute"]


@pytest.mark.parametrize(
    ("tempo", "seconds"), [(None, 4.0), (Fraction(90), 4 * 60 / 90), (Fraction(1), 4 * 60 / 3.5763)]
)
def test_the_tempo_is_the_passages(tempo: Fraction | None, seconds: float) -> None:
    """Without steps the passage's tempo holds, else 60 quarters a minute; no file goes slower than 3.6."""
    data = to_midi(plain(replace(passage("E4/1"), tempo=tempo)))
    assert parsed(data).length == pytest.approx(seconds, rel=1e-3)


@pytest.mark.parametrize(
    ("text", "metre", "bars", "expected", "start"),
    [
        ("E4/1", "4/4", 1, "0 1 2 3", 4),
        ("E4/1", "4/4", 2, "0 1 2 3 4 5 6 7", 8),
        ("E4/2.", "6/8", 1, "0 3/2", 3),
        ("E4/4 | E4/2.", "3/4", 1, "0 1", 2),
        ("E4/2 | E4/2.", "3/4", 1, "0 1 2 3", 4),
    ],
)
def test_a_count_in_leads_to_the_first_note(text: str, metre: str, bars: int, expected: str, start: int) -> None:
    """Clicks on the beats of the metre before the music; a pickup begins where its beat would be clicked."""
    data = to_midi(plain(passage(text, metre=metre, pickup="|" in text)), count_in=bars)
    assert [at for at, _ in clicks(data)] == [Fraction(x) for x in expected.split()]
    assert played(data)[0][0] == start
    assert clicks(data)[0][1] > clicks(data)[1][1]


def test_clicks_stand_on_every_beat() -> None:
    """Clicks keep to the beat of the metre, strong on the first of a bar, from the pickup on."""
    data = to_midi(plain(passage("E4/8 | E4/4. F4/4. | G4/2.", metre="6/8", pickup=True)), click=True)
    loud = max(velocity for _, velocity in clicks(data))
    assert [(at, velocity == loud) for at, velocity in clicks(data)] == [
        (Fraction(1, 2), True),
        (Fraction(2), False),
        (Fraction(7, 2), True),
        (Fraction(5), False),
    ]


@pytest.mark.parametrize("fifths", range(-7, 8))
@pytest.mark.parametrize("mode", ["", "major", "minor"])
def test_keys_and_metres_are_named(fifths: int, mode: str) -> None:
    """Every key signature and metre can be said in a file; the names are those of music21's circle of fifths."""
    from music21 import key  # noqa: PLC0415 - the reference

    bars = tuple(replace(b, key=Key(fifths=fifths, mode=mode)) for b in LINE.bars)
    found = parsed(to_midi(plain(replace(LINE, bars=bars))))
    said = [m.key for m in found.tracks[0] if m.type == "key_signature"]
    name = key.KeySignature(fifths).asKey("minor" if mode == "minor" else "major").tonic.name.replace("-", "b")
    assert said == [name + ("m" if mode == "minor" else "")]
    assert [(m.numerator, m.denominator) for m in found.tracks[0] if m.type == "time_signature"] == [(4, 4)]


def test_several_variations_follow_each_other() -> None:
    """Each variation is named and begins where the one before ends."""
    line = fretted(LINE)
    made = [vary(line, Study(pluck=pluck)) for pluck in ("i-m", "a-m-i")]
    variations = [variation for variation in made if isinstance(variation, Variation)]
    data = to_midi(variations)
    both = played(data)
    assert len(both) == 2 * len(played(to_midi(line)))
    assert both[len(both) // 2][0] == 8
    texts = [m.text for m in parsed(data).tracks[0] if m.type == "text"]
    assert texts == [variation.title for variation in variations]


@pytest.mark.parametrize("title", ["Лютня 琵琶 \x00\x1b", "x" * 5000, "", "\ud800"])
def test_any_title_can_be_written(title: str) -> None:
    """Titles in any script, of any length, are in the file as one line."""
    data = to_midi(plain(replace(LINE, title=title)))
    name = next(m.name for m in parsed(data).tracks[0] if m.type == "track_name")
    assert len(name) <= 300
    assert "\x1b" not in name


def test_numbers_out_of_range_are_refused() -> None:
    """Nothing to play, tempi and counts nobody plays, are errors of the caller."""
    with pytest.raises(ValueError, match="no variation"):
        to_midi([])
    with pytest.raises(ValueError, match="not within 5 to 500"):
        to_midi(plain(LINE), ladders=[(0,)])
    with pytest.raises(ValueError, match="not within 0 to 8"):
        to_midi(plain(LINE), count_in=9)
