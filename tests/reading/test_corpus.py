"""Excerpts of music21's corpus, held against music21's own reading of the whole files.

Source: the corpus that travels with music21 (PyPI): chorales and quartet movements. Sounding pitch, onset and length of
every note must be music21's, for each part and cut.
"""

from __future__ import annotations

import functools
from pathlib import Path
from typing import Any

import music21
import pytest

from engrave.reading import read
from tests.reading.reference import ours, parsed, quarters, theirs

_CORPUS = Path(music21.__file__).parent / "corpus"
CHORALES = (
    *("bwv1.6", "bwv10.7", "bwv101.7", "bwv102.7", "bwv103.6", "bwv104.6", "bwv108.6", "bwv110.7", "bwv111.6"),
    *("bwv112.5", "bwv114.7", "bwv116.6", "bwv117.4", "bwv119.9", "bwv120.6", "bwv121.6", "bwv122.6", "bwv123.6"),
    *("bwv127.5", "bwv66.6"),
)
QUARTETS = {
    "mozart/k155/movement2.mxl": ("1-8", "9-16", "20-27", "37-44"),
    "haydn/opus1no1/movement2.mxl": ("1-8", "12-19", "21-28", "40-44"),
    "haydn/opus74no1/movement3.mxl": ("1-8", "17-24", "40-47"),
}


@functools.cache
def _whole(name: str) -> tuple[Any, ...]:
    """The parts of a file as music21 reads them, at sounding pitch."""
    return parsed(str(_CORPUS / name), storePickle=False)


def _between(part: Any, first: str, last: str) -> list[Any]:
    """The bars `first` to `last` of a part of music21."""
    measures = list(part.getElementsByClass("Measure"))
    labels = [f"{m.number}{m.numberSuffix or ''}" for m in measures]
    start = labels.index(first)
    return measures[start : labels.index(last, start) + 1]


@pytest.mark.parametrize("name", CHORALES)
def test_each_part_of_a_chorale_sounds_as_music21_reads_it(name: str) -> None:
    """Four whole parts a chorale: pitches, onsets, lengths and the lengths of bars."""
    path = f"bach/{name}.mxl"
    data = (_CORPUS / path).read_bytes()
    for number, part in enumerate(_whole(path), start=1):
        passage = read(data, path, part=str(number))
        measures = part.getElementsByClass("Measure")
        assert ours(passage) == theirs(measures)
        starts = [quarters(m.offset) for m in measures]
        assert [bar.onset for bar in passage.bars] == starts


@pytest.mark.parametrize(("path", "bars"), [(path, bars) for path, cuts in QUARTETS.items() for bars in cuts])
def test_a_cut_of_a_quartet_sounds_as_the_same_bars_of_the_whole(path: str, bars: str) -> None:
    """Each of four parts, cut to eight bars, holds the notes music21 has there; metre and key come along."""
    data = (_CORPUS / path).read_bytes()
    first, last = bars.split("-")
    for number, part in enumerate(_whole(path), start=1):
        if not (heard := theirs(_between(part, first, last))):
            continue
        passage = read(data, path, part=str(number), bars=bars)
        assert ours(passage) == heard
        assert (passage.bars[0].label, passage.bars[-1].label, passage.cut) == (first, last, bars)
        measure = next(m for m in part.getElementsByClass("Measure") if str(m.number) == last)
        metre = measure.getContextByClass("TimeSignature")
        assert str(passage.bars[-1].metre) == metre.ratioString
        assert passage.bars[-1].key.fifths == measure.getContextByClass("KeySignature").sharps


def test_there_are_a_hundred_excerpts() -> None:
    """The two tests above cover at least a hundred excerpts."""
    assert 4 * len(CHORALES) + 4 * sum(map(len, QUARTETS.values())) >= 100
