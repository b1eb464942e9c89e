"""Exports read by two other MusicXML readers, which share no code with music21, with ours or with one another.

They are verovio's, and that of partitura (PyPI, 1.9.0), a library for analysis that counts every note of a file.
"""

from __future__ import annotations

import importlib
import io
import warnings
from collections.abc import Iterator
from fractions import Fraction
from typing import Any
from xml.etree.ElementTree import Element

import pytest

from engrave.axes import vary
from engrave.editions import written
from engrave.exchange import to_musicxml
from engrave.line import line_of
from engrave.model import Plan, Study, Variation
from tests.exchange.reference import struck, tree
from tests.exchange.test_musicxml import LINE, SOURCES, fretted

MEI = "{http://www.music-encoding.org/ns/mei}"
STEPS = {"c": 0, "d": 2, "e": 4, "f": 5, "g": 7, "a": 9, "b": 11}
Row = tuple[int, int, Fraction, str, Fraction, int, int, int]
"""bar and voice from 1, onset in the bar and length in quarters, step and octave, string, fret and finger"""


def seen(data: bytes) -> Element:
    """The document as verovio understands it."""
    import verovio  # noqa: PLC0415 - the reference

    engine: Any = verovio.toolkit()
    assert engine.loadData(data.decode())
    return tree(engine.getMEI().encode())


def placed(document: Element, staff: int = 1) -> Iterator[Row]:
    """Every note of a staff but graces, with its place in time and on the neck."""
    fingers = {
        found.get("startid", "").lstrip("#"): int("".join(found.itertext()))
        for found in document.iter(f"{MEI}fing")
        if "".join(found.itertext()).strip().isdigit()
    }
    per = int(next(s for s in document.iter(f"{MEI}staffDef") if s.get("ppq")).get("ppq", "0"))
    for bar, measure in enumerate(document.iter(f"{MEI}measure"), start=1):
        here = next(s for s in measure.iter(f"{MEI}staff") if s.get("n") == str(staff))
        for layer in here.iter(f"{MEI}layer"):
            at = Fraction(0)
            inner: set[Element] = set()
            for found in layer.iter():
                if found in inner or found.get("grace") or not found.get("dur.ppq"):
                    continue
                heads = list(found.iter(f"{MEI}note"))
                inner |= set(heads) - {found}
                length = Fraction(int(found.get("dur.ppq", "0")), per)
                for head in heads:
                    where = (int(head.get("tab.course", "0")), int(head.get("tab.fret", "0")))
                    finger = fingers.get(head.get("{http://www.w3.org/XML/1998/namespace}id", ""), 0)
                    name = f"{head.get('pname')}{head.get('oct')}"
                    yield bar, int(layer.get("n", "0")), at, name, length, *where, finger
                at += length


def ours(variation: Variation) -> Iterator[Row]:
    """The same from our own values."""
    bars = variation.passage.bars
    for event in variation.passage.events:
        for note in event.notes if not event.grace else ():
            place = note.placement
            assert place is not None
            name = f"{note.pitch.step.lower()}{note.pitch.octave}"
            # a digit stands where a finger is put down, once
            yield (
                event.bar + 1, event.voice, event.onset - bars[event.bar].onset, name, event.duration,
                place.string, place.fret, place.finger,
            )  # fmt: skip


@pytest.mark.parametrize("name", SOURCES)
def test_another_reader_finds_the_same_voices_lengths_and_places(name: str) -> None:
    """Voice, onset, length, pitch, string and fret of every note, and each digit it shows is ours."""
    variation = fretted(SOURCES[name])
    theirs, mine = sorted(placed(seen(to_musicxml(variation)))), sorted(ours(variation))
    assert [row[:7] for row in theirs] == [row[:7] for row in mine]
    assert all(other[7] in (0, row[7]) for other, row in zip(theirs, mine, strict=True))
    shown = sum(1 for row in theirs if row[7])
    assert shown >= sum(1 for row in mine if row[7]) / 2


@pytest.mark.parametrize("name", SOURCES)
def test_another_reader_finds_the_same_in_tablature(name: str) -> None:
    """Under a TAB clef it finds the same strings and frets at the same times, for as long; graces have no length."""
    variation = fretted(SOURCES[name])
    theirs = [row for row in placed(seen(to_musicxml(variation, tab=True))) if row[4]]
    assert sorted((*row[:3], *row[4:7]) for row in theirs) == sorted((*row[:3], *row[4:7]) for row in ours(variation))


def counted(data: bytes) -> list[tuple[Fraction, int]]:
    """(start in quarters, MIDI number) of every note that partitura finds, tied ones once, but graces."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its parser of words asks for a module that Python is about to drop
        load: Any = importlib.import_module("partitura").load_musicxml
        notes = load(io.BytesIO(data)).note_array()
    # a grace has no length
    found = [(note["onset_quarter"], note["pitch"]) for note in notes if note["duration_quarter"]]
    begin = min(onset for onset, _ in found)
    return sorted((Fraction(float(onset - begin)).limit_denominator(960), int(pitch)) for onset, pitch in found)


@pytest.mark.parametrize("tab", [False, True], ids=["plain", "tab"])
@pytest.mark.parametrize("name", SOURCES)
def test_a_counting_library_finds_every_note_once(name: str, tab: bool) -> None:
    """Starts and pitches are ours, note for note, whether notes or tablature are written."""
    variation = fretted(SOURCES[name])
    mine = struck(variation)
    begin = mine[0][0]
    assert counted(to_musicxml(variation, tab=tab)) == [(onset - begin, pitch) for onset, pitch in mine]


def test_no_file_of_an_export_holds_a_note_twice() -> None:
    """Each file of notes has its tablature in a file of its own beside it, and each of them counts once."""
    plan = Plan(tab=True, studies=(Study(pluck="a-m-i"), Study(rhythm="in threes")))
    files = written(LINE, plan, form="musicxml")
    assert list(files)[::2] == [name.replace("-tab", "") for name in list(files)[1::2]]
    length = len(struck(line_of(LINE, plan)))
    for name, data in files.items():
        times = 3 if name.startswith("00-all") else 1
        assert len(counted(data)) == times * length, name
        assert [found.text for found in tree(data).iter("sign")] == ["TAB" if "-tab" in name else "G"] * times


def test_another_reader_finds_slurs_and_the_instrument() -> None:
    """Slurs come out one for one, and the sound is the nylon-string guitar: 24 in General MIDI counted from 0."""
    made = vary(fretted(next(iter(SOURCES.values()))), Study(slurs="pull-offs"))
    assert isinstance(made, Variation)
    document = seen(to_musicxml(made))
    slurred = sum(1 for note in made.passage.notes if note.slurred_from)
    assert len(list(document.iter(f"{MEI}slur"))) == slurred > 0
    assert {found.get("midi.instrnum") for found in document.iter(f"{MEI}instrDef")} == {"24"}
