"""Printed fingerings as test material: rows of a JSON-lines file, the measure of agreement, and two baselines.

A row has `tuning` (MIDI of the strings from the lowest up), `texture`, `piece`, `composer`, optionally `start_quarter`,
and `notes` with onset and dur in quarters, midi, and what the edition prints (string, fret, finger) or null.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple

from engrave.fretting.broken import broken_chords
from engrave.fretting.building import BlockMaker
from engrave.fretting.candidates import stops_for
from engrave.fretting.engine import Relaxer
from engrave.fretting.lattice import Lattice, Problem
from engrave.fretting.shapes import Geometry, geometry_of
from engrave.fretting.tones import Tone, climbs_of, groups_of, settled
from engrave.instruments import tuned
from engrave.model import Given, Hand, Instrument, Passage, Pitch

Row = dict[str, Any]
_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")


class Choice(NamedTuple):
    """Where one note is played."""

    string: int
    fret: int
    finger: int


def load(path: Path) -> list[Row]:
    """The rows of a file."""
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines() if line.strip()]


def instrument_of(row: Row) -> Instrument:
    """The instrument a row is played on."""
    names = [f"{_NAMES[midi % 12]}{midi // 12 - 1}" for midi in reversed(row["tuning"])]
    return tuned(tuple(Pitch.parse(name) for name in names))


def _quarters(value: float) -> Fraction:
    return Fraction(value).limit_denominator(960)


def tones_of_row(row: Row, *, strings: bool) -> tuple[Tone, ...]:
    """The tones of a row; with `strings`, the printed strings are given."""
    made = [
        Tone(
            ids=(str(index),),
            midi=note["midi"],
            onset=_quarters(note["onset"]),
            end=_quarters(note["onset"]) + _quarters(note["dur"]),
            given=Given(string=printed_string(note) if strings else None),
        )
        for index, note in enumerate(row["notes"])
    ]
    return settled(made)


def printed_string(note: Row) -> int | None:
    """The string an edition prints, or that follows from a printed position or open-string sign."""
    return note.get("string") or note.get("string_inferred")


def lattice_of_row(row: Row, hand: Hand, maker: BlockMaker, *, strings: bool = False) -> tuple[Lattice, int]:
    """The lattice of a row, and how many things had to be relaxed (tones let go early, marks left out)."""
    instrument = instrument_of(row)
    tones = tones_of_row(row, strings=strings)
    bare = [tone for tone in tones if not stops_for(tone, instrument)]
    if bare:
        tones = tuple(t if t not in bare else Tone(ids=t.ids, midi=t.midi, onset=t.onset, end=t.end) for t in tones)
    start = _quarters(row.get("start_quarter") or 0)

    def on_beat(onset: Fraction) -> bool:
        return (onset + start).denominator == 1

    problem = Problem(
        tones=tones,
        groups=(groups := broken_chords(tones, groups_of(tones, on_beat=on_beat))),
        stops=tuple(stops_for(tone, instrument) for tone in tones),
        geometry=geometry(instrument, hand),
        climbs=climbs_of(tones, groups, instrument),
    )
    passage = Passage(bars=(), events=(), source=str(row.get("id", "")))
    relaxer = Relaxer(passage=passage, instrument=instrument, hand=hand, maker=maker, on_beat=on_beat)
    lattice, notices = relaxer.relaxed(problem)
    return lattice, len(notices) + len(bare)


_GEOMETRIES: dict[tuple[Instrument, str], Geometry] = {}


def geometry(instrument: Instrument, hand: Hand) -> Geometry:
    """The arrays of an instrument and hand, made once."""
    key = (instrument, hand.name)
    if key not in _GEOMETRIES:
        _GEOMETRIES[key] = geometry_of(instrument, hand)
    return _GEOMETRIES[key]


def agree(row: Row, choices: Sequence[Choice]) -> Counter[str]:
    """Counts of printed marks and of those that agree: all digits, fretted digits, strings printed, strings known."""
    counts: Counter[str] = Counter()
    for note, choice in zip(row["notes"], choices, strict=True):
        if note["finger"] is not None:
            counts["digits_n"] += 1
            counts["digits_ok"] += note["finger"] == choice.finger
        if note["finger"]:
            counts["fretted_n"] += 1
            counts["fretted_ok"] += note["finger"] == choice.finger
        if note.get("string") is not None:
            counts["strings_n"] += 1
            counts["strings_ok"] += note["string"] == choice.string
        known = printed_string(note)
        if known:
            counts["strings_known_n"] += 1
            counts["strings_known_ok"] += known == choice.string
    return counts


def lowest_fret(row: Row) -> list[Choice]:
    """Baseline: each note at its lowest fret, finger = fret, 4 at most."""
    places = (min(instrument_of(row).stops(note["midi"]), key=lambda place: place[1]) for note in row["notes"])
    return [Choice(string, fret, min(fret, 4)) for string, fret in places]


def finger_per_fret(row: Row) -> list[Choice]:
    """Baseline: one finger per fret, the shortest path over positions and strings; the onsets are not looked at."""
    instrument = instrument_of(row)
    best: dict[tuple[int, int, int, int], tuple[float, tuple[Choice, ...]]] = {}
    for note in row["notes"]:
        ways = _ways(instrument, note["midi"])
        if not best:
            best = {way: (0.12 * way[3], (Choice(*way[:3]),)) for way in ways}
            continue
        after = {}
        for way in ways:
            cost, path = min(
                (
                    (before + min(abs(old[3] - way[3]), 4) + 0.15 * abs(old[0] - way[0]), path)
                    for old, (before, path) in best.items()
                ),
                key=lambda found: found[0],
            )
            after[way] = (cost + 0.12 * way[3], (*path, Choice(*way[:3])))
        best = after
    return list(min(best.values(), key=lambda found: found[0])[1]) if best else []


def _ways(instrument: Instrument, midi: int) -> list[tuple[int, int, int, int]]:
    """String, fret, finger and position of each way to play a pitch with one finger per fret."""
    ways = []
    for string, fret in instrument.stops(midi):
        if fret == 0:
            ways += [(string, 0, 0, position) for position in range(1, 17)]
        else:
            ways += [(string, fret, k, fret - k + 1) for k in range(1, 5) if fret - k + 1 >= 1]
    return ways
