"""MusicXML out: valid by the W3C's schema, read back as the same music and marks, and understood by other libraries."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import zipfile
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.axes import ORDER, vary
from engrave.exchange import to_musicxml, to_mxl
from engrave.fretting.fingered import fret
from engrave.instruments import find_hand, find_instrument, tuned
from engrave.line import built_in
from engrave.model import (
    Bar,
    Direction,
    Event,
    Given,
    Key,
    Metre,
    Note,
    Passage,
    Pitch,
    Placement,
    Slur,
    Stroke,
    Study,
    Tuplet,
    Value,
    Variation,
    with_notes,
)
from engrave.model.spelling import spell
from engrave.model.time_spelling import write
from engrave.reading import read
from tests.build import passage
from tests.exchange.reference import bars, curves, hands, music, schema_faults, tree
from tests.plates.textures import TEXTURES

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = sorted(p for p in (ROOT / "examples").iterdir() if p.suffix in (".tab", ".musicxml", ".abc"))
LINE = passage("E4/8 F4/8 E4/8 G4/8 A4/8 G4/8 E4/8 F4/8 | C4/8 B3/8 D4/8 B3/8 E4/2", title="Two bars")
SHORT = passage("F4/8 E4/8 G4/8 E4/8 C4/8 B3/8 E4/4", title="One bar")
TIES = passage("E4~/4 E4/8 F4~/8 F4/2 | C3+E3+G3/2 C3+G3/4. B3/8 | C3~+C4~/2. C3+C4/8 B3/8 | C4/1", title="Ties")


def plain(music: Passage, **changes: Any) -> Variation:
    """A passage as it stands, on a standard guitar."""
    return Variation(passage=music, instrument=find_instrument("standard"), hand=find_hand("standard"), **changes)


@cache
def fretted(music: Passage) -> Variation:
    """A passage with placements."""
    return fret(music, find_instrument("standard"), find_hand("standard"))


def document(variation: Variation, **options: Any) -> Element:
    """The document of a variation; the schema holds it."""
    data = to_musicxml(variation, **options)
    assert schema_faults(data) == []
    return tree(data)


def without_fingers(music: Passage) -> Passage:
    """A placed passage as tablature tells it: strings and frets, but no digits."""
    told = (
        replace(
            note,
            placement=None,
            given=Given(string=note.placement.string, fret=note.placement.fret, pluck=note.given.pluck),
        )
        for note in music.notes
        if note.placement is not None
    )
    return with_notes(music, {note.id: note for note in told})


def first(root: Element, path: str) -> str:
    """Text of the first element at a path, or a complaint."""
    found = root.find(path)
    assert found is not None, path
    return found.text or ""


def texts(root: Element, path: str) -> list[str]:
    """Texts of all elements at a path."""
    return [found.text or "" for found in root.iterfind(path)]


def _bar(label: str, onset: int, **changes: Any) -> Bar:
    return Bar(label=label, onset=Fraction(onset), length=Fraction(2), metre=Metre(beats=(2,), unit=4), **changes)


def _events(count: int) -> tuple[Event, ...]:
    return tuple(
        Event(
            id=f"e{i}",
            bar=i,
            voice=1,
            onset=Fraction(2 * i),
            duration=Fraction(2),
            value=Value(kind=2),
            notes=(Note(id=f"n{i}", pitch=Pitch.parse("E4")),),
        )
        for i in range(count)
    )


REPEATS = Passage(
    title="Repeats",
    bars=(
        _bar("1", 0, repeat_start=True),
        _bar("2", 2, ending="1", repeat_end=3),
        _bar("3", 4, ending="2", barline="double"),
        _bar("4", 6, barline="dashed"),
        _bar("5", 8, repeat_start=True, repeat_end=2),
        _bar("6", 10, barline="final"),
    ),
    events=_events(6),
)


SOURCES = {**TEXTURES, "Ties": TIES, "Repeats": REPEATS}


# round trips


@pytest.mark.parametrize("axis", ORDER, ids=lambda axis: axis.name)
def test_every_setting_comes_back(axis: Any) -> None:
    """Law: every setting of an axis, all in one file: valid, and read back with the same music, marks and curves."""
    line = fretted(SHORT)
    made = [vary(line, Study(**{axis.name: setting.name})) for setting in axis.settings]
    variations = [variation for variation in made if isinstance(variation, Variation)]
    assert variations
    data = to_musicxml(variations)
    assert schema_faults(data) == []
    found = read(data, "all.musicxml")
    passages = [variation.passage for variation in variations]
    assert music(found) == music(*passages)
    assert hands(found) == hands(*passages)
    assert curves(found) == curves(*passages)
    assert len(found.bars) == sum(len(p.bars) for p in passages)


@pytest.mark.parametrize("tab", [False, True], ids=["plain", "tab"])
@pytest.mark.parametrize("name", SOURCES)
def test_every_texture_comes_back(name: str, tab: bool) -> None:
    """Law: voices, chords, graces, tuplets, ties and repeats come back from the file, with or without tablature."""
    variation = fretted(SOURCES[name])
    data = to_musicxml(variation, tab=tab)
    assert schema_faults(data) == []
    found = read(data, "texture.musicxml")
    assert bars(found) == bars(variation.passage)
    assert music(found) == music(variation.passage)
    # tablature leaves the fingers to the file of notes
    written = without_fingers(variation.passage) if tab else variation.passage
    assert hands(found) == hands(written)
    assert curves(found) == curves(variation.passage)
    assert found.title == variation.passage.title
    told = ["repeats are kept as printed, not played out"] if name == "Repeats" else []
    assert [str(notice) for notice in found.notices] == told


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_every_example_comes_back(path: Path) -> None:
    """Law: the examples, with tablature so that the tuning is kept, come back with words, tempo and strings."""
    source = read(path.read_bytes(), path.name)
    instrument = tuned(source.tuning) if source.tuning else find_instrument("standard")
    variation = fret(source, instrument, find_hand("standard"))
    found = read(to_musicxml(variation, tab=True), path.name)
    assert music(found) == music(variation.passage)
    assert hands(found) == hands(without_fingers(variation.passage))
    assert (found.title, found.composer, found.rights) == (source.title, source.composer, source.rights)
    assert (found.tempo, found.tuning, found.capo) == (source.tempo, instrument.strings, 0)


def test_a_source_comes_back_unfingered() -> None:
    """A passage that no hand has been put to keeps what its source says, as directions and marks."""
    said = (
        Direction(kind="words", text="dolce", bar=0, onset=Fraction(1)),
        Direction(kind="position", text="V", bar=0, onset=Fraction(2), fret=5),
        Direction(kind="barre", text="C III", bar=1, onset=Fraction(4), fret=3),
        Direction(kind="stroke", text="rest", bar=1, onset=Fraction(6)),
    )
    source = replace(passage("E4:1.0.0/4 F4/4 G4/2 | C3+G3:3.0.0/2 E4/2"), directions=said, tempo=Fraction(72))
    found = read(to_musicxml(plain(source)), "source.musicxml")
    assert [(d.kind, d.text, d.bar, d.onset) for d in found.directions if d.kind != "tempo"] == [
        (d.kind, d.text, d.bar, d.onset) for d in said
    ]
    assert found.tempo == 72
    assert hands(found) == hands(source)


@pytest.mark.parametrize("path", [*EXAMPLES, ROOT / "shared" / "passage.tab"], ids=lambda path: path.name)
def test_an_exact_file_holds_the_passage_and_no_more(path: Path) -> None:
    """Law: written exactly, an unfingered passage comes back with tuning, tempo, directions and notices as it was."""
    source = read(path.read_bytes(), path.name)
    instrument = tuned(source.tuning) if source.tuning else find_instrument("standard")
    variation = replace(plain(source), instrument=instrument)
    data = to_musicxml(variation, exact=True)
    assert schema_faults(data) == []
    found = read(data, path.name)
    assert (bars(found), music(found)) == (bars(source), music(source))
    assert (hands(found), curves(found)) == (hands(source), curves(source))
    assert (found.title, found.tempo, found.tuning) == (source.title, source.tempo, instrument.strings)
    assert (found.directions, found.notices) == (source.directions, source.notices)


@given(
    attacks=st.lists(
        st.sampled_from([Fraction(n, d) for d in (1, 2, 3, 4, 5, 8) for n in range(1, 4 * d)]), max_size=9
    ),
    midis=st.lists(st.integers(40, 76), min_size=12, max_size=12),
    rests=st.lists(st.booleans(), min_size=12, max_size=12),
    fifths=st.integers(-5, 6),
)
@settings(max_examples=25, deadline=None)
def test_any_rhythm_comes_back(attacks: list[Fraction], midis: list[int], rests: list[bool], fifths: int) -> None:
    """Law: a bar of any rhythm that can be written is valid and comes back as it was."""
    metre = Metre(beats=(4,), unit=4)
    places = sorted({Fraction(0), *attacks})
    spans = [(b - a, rests[i % 12]) for i, (a, b) in enumerate(zip(places, [*places[1:], metre.length], strict=True))]
    try:
        written = write(spans, metre)
    except ValueError:
        return
    key = Key(fifths=fifths)
    events: list[Event] = []
    onset = Fraction(0)
    for index, (pieces, (_, rest)) in enumerate(zip(written, spans, strict=True)):
        for number, piece in enumerate(pieces):
            name = f"{index}.{number}"
            note = Note(
                id=f"n{name}",
                pitch=spell(midis[index % 12], key),
                tied_back=number > 0,
                tied_on=number < len(pieces) - 1,
            )
            events.append(
                Event(
                    id=f"e{name}",
                    bar=0,
                    voice=1,
                    onset=onset,
                    duration=piece.length,
                    value=piece.value,
                    tuplets=piece.tuplets,
                    notes=() if rest else (note,),
                )
            )
            onset += piece.length
    bar = Bar(label="1", onset=Fraction(0), length=metre.length, metre=metre, key=key, barline="final")
    source = Passage(title="Any", bars=(bar,), events=tuple(events))
    if not any(event.notes for event in events):
        return
    data = to_musicxml(plain(source))
    assert schema_faults(data) == []
    assert music(read(data, "any.musicxml")) == music(source)


# what stands in the file


def test_repeats_and_endings() -> None:
    """Repeats, their number of times, endings and bar lines stand where they belong."""
    root = document(plain(REPEATS))
    lines = [
        (
            measure.get("number"),
            line.get("location"),
            [(child.tag, *sorted(child.attrib.items())) for child in line],
            line.findtext("bar-style"),
        )
        for measure in root.iterfind("part/measure")
        for line in measure.iterfind("barline")
    ]
    style, repeat, ending = ("bar-style",), "repeat", "ending"
    assert lines == [
        ("1", "left", [style, (repeat, ("direction", "forward"))], "heavy-light"),
        ("2", "left", [(ending, ("number", "1"), ("type", "start"))], None),
        (
            "2",
            "right",
            [style, (ending, ("number", "1"), ("type", "stop")), (repeat, ("direction", "backward"), ("times", "3"))],
            "light-heavy",
        ),
        ("3", "left", [(ending, ("number", "2"), ("type", "start"))], None),
        ("3", "right", [style, (ending, ("number", "2"), ("type", "discontinue"))], "light-light"),
        ("4", "right", [style], "dashed"),
        ("5", "left", [style, (repeat, ("direction", "forward"))], "heavy-light"),
        ("5", "right", [style, (repeat, ("direction", "backward"))], "light-heavy"),
        ("6", "right", [style], "light-heavy"),
    ]


def test_hands_stand_on_their_notes() -> None:
    """Digit, letter, string and fret are the elements of the standard; an open string has its own sign."""
    source = passage("E4/4 F4/4 G4/2")
    names = [note.id for note in source.notes]
    given = dict(zip(names, source.notes, strict=True))
    changed = {
        names[0]: replace(given[names[0]], placement=Placement(string=1, fret=0, finger=0), stroke=Stroke(finger="i")),
        names[1]: replace(
            given[names[1]], placement=Placement(string=1, fret=1, finger=1), stroke=Stroke(finger="c", kind="rest")
        ),
        names[2]: replace(given[names[2]], placement=Placement(string=1, fret=3, finger=4), slurred_from=names[1]),
    }
    root = document(plain(with_notes(source, changed)), little="ch")
    found = [
        [(e.tag, e.text, e.get("type")) for e in note.iterfind("notations/technical/*")]
        for note in root.iterfind("part/measure/note")
    ]
    assert found == [
        [("open-string", None, None), ("pluck", "i", None), ("string", "1", None), ("fret", "0", None)],
        [
            ("hammer-on", "H", "start"),
            ("fingering", "1", None),
            ("pluck", "ch", None),
            ("string", "1", None),
            ("fret", "1", None),
            ("other-technical", "rest stroke", None),
        ],
        [("hammer-on", None, "stop"), ("fingering", "4", None), ("string", "1", None), ("fret", "3", None)],
    ]
    assert texts(root, "part/measure/direction/direction-type/words") == ["free stroke", "rest stroke"]
    slurs = [(slur.get("type"), slur.get("number")) for slur in root.iterfind("part/measure/note/notations/slur")]
    assert slurs == [("start", "1"), ("stop", "1")]


def test_positions_and_barres_are_words() -> None:
    """A Roman numeral stands where the hand moves; a barre has its letter, its fret and a dashed line to its end."""
    source = passage("A4/4 C5/4 F3+C4+F4/4 E4/4")
    places = {
        "A4": Placement(string=1, fret=5, finger=1, position=5),
        "C5": Placement(string=1, fret=8, finger=4, position=5),
        "F3": Placement(string=4, fret=3, finger=3, position=1),
        "C4": Placement(string=2, fret=1, finger=1, position=1, barre="half"),
        "F4": Placement(string=1, fret=1, finger=1, position=1, barre="half"),
        "E4": Placement(string=1, fret=0, finger=0, position=1),
    }
    changed = {note.id: replace(note, placement=places[str(note.pitch)]) for note in source.notes}
    root = document(plain(with_notes(source, changed)))
    said = [
        (found.findtext("direction-type/words"), [d.get("type") for d in found.iterfind("direction-type/dashes")])
        for found in root.iterfind("part/measure/direction")
    ]
    assert said == [("V", []), ("½C I", ["start"]), (None, ["stop"])]


@pytest.mark.parametrize(
    ("name", "words", "capo"),
    [
        ("standard", [], 0),
        ("drop-d", ["⑥ = D"], 0),
        ("lute", ["③ = F♯"], 2),
        ("seven-a", ["⑦ = A"], 0),
        ("dadgbd", ["⑥ = D, ① = D"], 0),
    ],
)
def test_tuning_and_capo(name: str, words: list[str], capo: int) -> None:
    """Tuning stands in words on a plain staff and line by line in tablature; the capo has its element."""
    instrument = replace(find_instrument(name), capo=capo)
    variation = replace(plain(LINE), instrument=instrument)
    root = document(variation)
    assert texts(root, "part/measure/direction/direction-type/words") == words
    assert texts(root, ".//capo") == ([str(capo)] if capo else [])
    assert root.find(".//staff-tuning") is None
    details = document(variation, tab=True).find(".//staff-details")
    assert details is not None
    assert int(first(details, "staff-lines")) == len(instrument.strings)
    lines = [
        (int(line.get("line", 0)), first(line, "tuning-step"), first(line, "tuning-octave"))
        for line in details.iterfind("staff-tuning")
    ]
    assert lines == [(n, p.step, str(p.octave)) for n, p in enumerate(reversed(instrument.strings), start=1)]


def test_the_frame() -> None:
    """Clef, divisions, key, metre, tempo, titles, rights, source and program are where readers look for them."""
    source = replace(
        LINE,
        composer="Nobody",
        rights="free",
        source="two.tab",
        cut="1-2",
        tempo=Fraction(90),
        bars=tuple(
            replace(b, key=Key(fifths=-3, mode="minor"), metre=Metre(beats=(2,), unit=2, sign="cut")) for b in LINE.bars
        ),
    )
    root = document(plain(source, title="A heading", purpose="Why.", cue="How."))
    assert root.get("version") == "4.0"
    assert [
        first(root, path)
        for path in (
            "work/work-title",
            "movement-title",
            "identification/creator",
            "identification/rights",
            "identification/source",
            "identification/miscellaneous/miscellaneous-field",
            "part-list/score-part/midi-instrument/midi-program",
            "part/measure/attributes/divisions",
            "part/measure/attributes/key/fifths",
            "part/measure/attributes/key/mode",
            "part/measure/attributes/clef/clef-octave-change",
            "part/measure/direction/direction-type/metronome/beat-unit",
            "part/measure/direction/direction-type/metronome/per-minute",
        )
    ] == [
        "Two bars",
        "A heading",
        "Nobody",
        "free",
        "two.tab, bars 1-2",
        "E2 A2 D3 G3 B3 E4",
        "25",
        "2",
        "-3",
        "minor",
        "-1",
        "half",
        "45",
    ]
    sound = root.find("part/measure/direction/sound")
    assert sound is not None
    assert sound.get("tempo") == "90"
    time = root.find("part/measure/attributes/time")
    assert time is not None
    assert time.get("symbol") == "cut"


def test_pickup_additive_metre_and_hidden_rests() -> None:
    """A pickup is implicit, a sum of beats stays one, a space is a rest that is not printed."""
    root = document(plain(passage("E4/8 | s/8 E4/4 F4/4 | F4/2 E4/8", metre="3+2/8", pickup=True)))
    assert [(m.get("number"), m.get("implicit")) for m in root.iterfind("part/measure")] == [
        ("0", "yes"),
        ("1", None),
        ("2", None),
    ]
    assert first(root, "part/measure/attributes/time/beats") == "3+2"
    assert [note.get("print-object") for note in root.iterfind("part/measure/note")][1] == "no"


def test_nested_tuplets_say_what_they_are() -> None:
    """Inner and outer brackets carry their own ratio and unit; the notes carry the product."""
    outer, inner = Tuplet(id=1, actual=3, normal=2), Tuplet(id=2, actual=5, normal=4)
    events = [
        Event(
            id=f"e{i}",
            bar=0,
            voice=1,
            onset=onset,
            duration=length,
            value=Value(kind=kind),
            tuplets=over,
            notes=(Note(id=f"n{i}", pitch=Pitch.parse("E4")),),
        )
        for i, (onset, length, kind, over) in enumerate(
            [
                (Fraction(0), Fraction(2, 3), 4, (outer,)),
                *((Fraction(2, 3) + Fraction(2, 15) * n, Fraction(2, 15), 16, (outer, inner)) for n in range(5)),
                (Fraction(4, 3), Fraction(2, 3), 4, (outer,)),
            ]
        )
    ]
    source = Passage(bars=(_bar("1", 0),), events=tuple(events))
    data = to_musicxml(plain(source))
    assert schema_faults(data) == []
    root = tree(data)
    starts = [
        (t.get("number"), first(t, "tuplet-actual/tuplet-number"), first(t, "tuplet-actual/tuplet-type"))
        for t in root.iter("tuplet")
        if t.get("type") == "start"
    ]
    assert starts == [("1", "3", "quarter"), ("2", "5", "16th")]
    assert [first(note, "time-modification/actual-notes") for note in root.iterfind("part/measure/note")][:2] == [
        "3",
        "15",
    ]
    assert music(read(data, "nested.musicxml")) == music(source)


@pytest.mark.parametrize(
    ("text", "metre", "expected"),
    [
        ("E4/8 F4/8 G4/8 F4/8 E4/4", "3/4", "begin end begin end -"),
        ("E4/8 F4/8 G4/8 F4/8 E4/8 D4/8", "6/8", "begin continue end begin continue end"),
        ("E4/16 F4/16 G4/8 r/8 F4/8 E4/4", "3/4", "begin,begin continue,end end - - -"),
        ("E4/8. F4/16 G4/16 F4/8. E4/4", "3/4", "begin end,backward hook begin,forward hook end -"),
    ],
)
def test_beams(text: str, metre: str, expected: str) -> None:
    """Short notes hang together within the groups of the metre: common practice."""
    root = document(plain(passage(text, metre=metre)))
    kinds = [",".join(texts(note, "beam")) or "-" for note in root.iterfind("part/measure/note")]
    assert " ".join(kinds) == expected


@pytest.mark.parametrize("name", TEXTURES)
def test_accidentals_stand_where_another_library_puts_them(name: str) -> None:
    """The notes that carry an accidental are those music21 shows one at, but for its courtesies after a bar line."""
    from music21 import converter  # noqa: PLC0415 - the reference

    variation = plain(TEXTURES[name])
    root = document(variation)
    notes = [note for note in root.iterfind("part/measure/note") if note.find("pitch") is not None]
    ours = [note.find("accidental") is not None for note in notes]
    score: Any = converter.parseData(to_musicxml(variation).decode(), format="musicxml")
    part: Any = score.parts[0]
    part.makeAccidentals(
        cautionaryPitchClass=False, cautionaryNotImmediateRepeat=False, overrideStatus=True, inPlace=True
    )
    pitches = [
        pitch
        for measure in part.getElementsByClass("Measure")
        for stream in ([*measure.voices] if measure.voices else [measure])
        for found in stream.notes
        for pitch in found.pitches
    ]
    key = variation.passage.bars[0].key
    for mine, pitch in zip(ours, pitches, strict=True):
        alter = int(pitch.accidental.alter) if pitch.accidental is not None else 0
        theirs = pitch.accidental is not None and pitch.accidental.displayStatus
        courtesy = theirs and alter == key.alter(pitch.step)
        assert mine == theirs or (courtesy and not mine), str(pitch)


# other libraries


def heard(score: Any) -> list[tuple[Fraction, int, Fraction]]:
    """(start, MIDI number, length) of every struck note of a music21 score, ties joined, graces left out."""
    found = []
    for note in score.stripTies().recurse().notes:
        if note.duration.isGrace:
            continue
        start = Fraction(note.getOffsetInHierarchy(score)).limit_denominator(1000)
        length = Fraction(note.quarterLength).limit_denominator(1000)
        found += [(start, pitch.midi, length) for pitch in note.pitches]
    return sorted(found)


def lasting(variation: Variation) -> list[tuple[Fraction, int, Fraction]]:
    """The same from our own values."""
    made: list[tuple[Fraction, int, Fraction]] = []
    open_ties: dict[tuple[int, int], int] = {}
    for event in variation.passage.events:
        for note in event.notes if not event.grace else ():
            key = (event.voice, note.pitch.midi)
            before = open_ties.pop(key, None) if note.tied_back else None
            if before is None:
                made.append((event.onset, note.pitch.midi, event.duration))
                before = len(made) - 1
            else:
                start, midi, length = made[before]
                made[before] = (start, midi, length + event.duration)
            if note.tied_on:
                open_ties[key] = before
    return sorted(made)


@pytest.mark.parametrize("tab", [False, True], ids=["plain", "tab"])
@pytest.mark.parametrize("name", [name for name in TEXTURES if name != "Ties"])
def test_another_library_hears_the_same(name: str, tab: bool) -> None:
    """Music21 finds the same pitches at the same times for as long (it knows no partial ties in chords)."""
    from music21 import converter  # noqa: PLC0415 - the reference

    variation = plain(TEXTURES[name])
    score = converter.parseData(to_musicxml(variation, tab=tab).decode(), format="musicxml")
    assert heard(score) == lasting(variation)


@pytest.mark.parametrize("tab", [False, True], ids=["plain", "tab"])
def test_an_engraver_has_nothing_to_say(tab: bool, capfd: pytest.CaptureFixture[str]) -> None:
    """Verovio loads every texture, with both hands and slurs, without a warning; in tablature it draws no accents."""
    import verovio  # noqa: PLC0415 - the reference

    engine: Any = verovio
    engine.enableLog(engine.LOG_WARNING)
    try:
        for name, source in SOURCES.items():
            line = fretted(source)
            slurred = vary(line, Study(slurs="left hand alone"))
            for variation in (line, slurred):
                if isinstance(variation, Variation):
                    assert engine.toolkit().loadData(to_musicxml(variation, tab=tab).decode()), name
    finally:
        engine.enableLog(engine.LOG_OFF)
    said = capfd.readouterr()
    assert said.out == ""
    assert set(said.err.splitlines()) == ({"[Error] Adding 'artic' to a 'tabGrp'"} if tab else set())


# files


def test_several_variations_in_one_file() -> None:
    """Each begins on a page of its own under its heading, with bars numbered on."""
    line = fretted(LINE)
    made = [vary(line, Study(pluck=pluck)) for pluck in ("i-m", "a-m-i")]
    variations = [variation for variation in made if isinstance(variation, Variation)]
    data = to_musicxml(variations)
    assert schema_faults(data) == []
    root = tree(data)
    assert [m.get("number") for m in root.iterfind("part/measure")] == ["1", "2", "3", "4"]
    assert [m.find("print") is not None for m in root.iterfind("part/measure")] == [False, False, True, False]
    words = texts(root, "part/measure/direction/direction-type/words")
    assert [word for word in words if word in {v.title for v in variations}] == [v.title for v in variations]


def test_the_compressed_file_holds_the_same() -> None:
    """An .mxl has its type first and uncompressed, its container, and the document; it carries no date."""
    variation = fretted(LINE)
    data = to_mxl(to_musicxml(variation))
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.namelist() == ["mimetype", "META-INF/container.xml", "score.musicxml"]
        assert archive.read("mimetype") == b"application/vnd.recordare.musicxml"
        assert archive.getinfo("mimetype").compress_type == zipfile.ZIP_STORED
        assert archive.read("score.musicxml") == to_musicxml(variation)
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    assert music(read(data, "line.mxl")) == music(variation.passage)


@pytest.mark.parametrize(
    "title",
    ["<b>&amp;</b>", "a\x00b\x1b[2J\u2028c", "x" * 10_000, "\ud800 lone", "⑥ = D שלום 你好", "]]>", "../../etc"],
    ids=["markup", "control", "long", "surrogate", "scripts", "cdata", "path"],
)
def test_any_words_stay_words(title: str) -> None:
    """Whatever stands in titles and words, the file is valid and says it as text."""
    source = replace(LINE, title=title, composer=title, rights=title, source=title)
    root = document(plain(source, title=title, purpose=title, cue=title))
    assert "title" not in {element.tag for element in root.iter()}
    assert first(root, "work/work-title").replace("\n", "")


def test_the_bytes_are_the_same_every_time() -> None:
    """Two processes with other hash seeds write the same bytes."""
    code = (
        "import hashlib; from engrave import exchange; from engrave.line import *; from engrave.model import Plan;"
        "from engrave.reading import read; line = line_of(read(*built_in()), Plan());"
        "document = exchange.to_mxl(exchange.to_musicxml(line, tab=True));"
        "print(hashlib.sha256(document + exchange.to_midi(line, click=True)).hexdigest())"
    )
    said = {
        subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            text=True,
            check=True,
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed, "TZ": zone},
        ).stdout
        for seed, zone in (("1", "UTC"), ("2", "Asia/Tokyo"))
    }
    assert len(said) == 1


def test_the_built_in_line_comes_back() -> None:
    """The line of the built-in book comes back from its file."""
    line = fretted(read(*built_in()))
    found = read(to_musicxml(line), "line.musicxml")
    assert music(found) == music(line.passage)
    assert hands(found) == hands(line.passage)
    assert found.tempo == line.passage.tempo


def test_slurs_that_overlap_are_told_apart() -> None:
    """Curves of one kind that are open together have numbers of their own."""
    source = passage("E4/4 F4/4 G4/4 A4/4")
    names = [note.id for note in source.notes]
    slurs = (
        Slur(start=names[0], stop=names[3]),
        Slur(start=names[1], stop=names[2]),
        Slur(start=names[2], stop=names[3]),
    )
    root = document(plain(replace(source, slurs=slurs)))
    found = [
        [(s.get("type"), s.get("number")) for s in note.iterfind("notations/slur")]
        for note in root.iterfind("part/measure/note")
    ]
    assert found == [
        [("start", "1")],
        [("start", "2")],
        [("stop", "2"), ("start", "2")],
        [("stop", "1"), ("stop", "2")],
    ]
    assert curves(read(to_musicxml(plain(replace(source, slurs=slurs))), "s.musicxml")) == [
        ("slur", 0, 3),
        ("slur", 1, 2),
        ("slur", 2, 3),
    ]


def test_given_marks_are_kept_where_no_hand_has_been_put() -> None:
    """Marks of the source stand in the file while there is no placement."""
    source = passage("E4/4 F4/2.")
    note = next(source.notes)
    marked = with_notes(
        source, {note.id: replace(note, given=Given(finger=2, string=2, fret=5, pluck="c", stroke="rest"))}
    )
    root = document(plain(marked), little="e")
    found = [(e.tag, e.text) for e in root.iterfind("part/measure/note/notations/technical/*")]
    assert found == [
        ("fingering", "2"),
        ("pluck", "e"),
        ("string", "2"),
        ("fret", "5"),
        ("other-technical", "rest stroke"),
    ]


def test_what_cannot_be_written_is_refused() -> None:
    """Nothing to write, and a letter that no edition uses, are errors of the caller."""
    with pytest.raises(ValueError, match="no variation"):
        to_musicxml([])
    with pytest.raises(ValueError, match="'z' is not one of c e x o q s ch"):
        to_musicxml(plain(LINE), little="z")
